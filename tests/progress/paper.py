"""A page printed by headless Chromium, and looked at by poppler."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from tests.progress.browser import CHROMIUM

__all__ = ["printed"]


def printed(page: str, size: str, folder: Path) -> tuple[list[tuple[float, float]], list[str]]:
    """Sizes in points and texts of the pages of a page printed on ``A4`` or ``letter``."""
    name = folder / f"{size}.html"
    # What a print dialogue would choose.
    name.write_text(page.replace("</style>", f"@page{{size:{size}}}</style>", 1), encoding="utf-8")
    paper = folder / f"{size}.pdf"
    subprocess.run(
        [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", "--disable-dev-shm-usage",
         f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={paper}", name.as_uri()],
        capture_output=True, timeout=120, check=True,
    )  # fmt: skip
    info = subprocess.run(["pdfinfo", "-l", "99", paper], capture_output=True, text=True, check=True).stdout
    sizes = [(float(one), float(other)) for one, other in re.findall(r"size:\s+([\d.]+) x ([\d.]+) pts", info)]
    boxes = subprocess.run(["pdftotext", "-bbox", paper, "-"], capture_output=True, text=True, check=True).stdout
    return sizes, boxes.split("<page ")[1:]
