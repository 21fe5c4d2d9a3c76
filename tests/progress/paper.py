"""A page printed by headless Chromium, and looked at by poppler."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from tests.phone.chromium import Tab

__all__ = ["printed"]


def printed(page: str, size: str, folder: Path) -> tuple[list[tuple[float, float]], list[str]]:
    """Sizes in points and texts of the pages of a page printed on ``A4`` or ``letter``."""
    name = folder / f"{size}.html"
    # What a print dialogue would choose.
    name.write_text(page.replace("</style>", f"@page{{size:{size}}}</style>", 1), encoding="utf-8")
    paper = folder / f"{size}.pdf"
    with Tab(800, 600, mobile=False) as tab:
        tab.open(name)
        paper.write_bytes(tab.paper())
    info = subprocess.run(["pdfinfo", "-l", "99", paper], capture_output=True, text=True, check=True).stdout
    sizes = [(float(one), float(other)) for one, other in re.findall(r"size:\s+([\d.]+) x ([\d.]+) pts", info)]
    boxes = subprocess.run(["pdftotext", "-bbox", paper, "-"], capture_output=True, text=True, check=True).stdout
    return sizes, boxes.split("<page ")[1:]
