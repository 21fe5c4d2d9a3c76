"""A page looked at by headless Chromium: what it fetches, what it complains of, how wide it is, how accessible."""

from __future__ import annotations

import json
import shutil
import subprocess
from dataclasses import dataclass
from html import escape
from pathlib import Path

from lxml import html

__all__ = ["CHROMIUM", "Looked", "look"]

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
"""The browser, or None where there is none."""

# Without motion a page is looked at as it stands, and not half faded in.
_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-extensions",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--enable-logging=stderr",
    "--virtual-time-budget=20000", "--dump-dom", "--force-prefers-reduced-motion",
)  # fmt: skip
_PROBE = """
<script>%s</script>
<script>
axe.run(document).then(function (found) {
  document.documentElement.setAttribute("data-found", JSON.stringify({
    violations: found.violations.map(function (one) {
      return [one.impact, one.id, one.nodes.length, one.nodes[0].html.slice(0, 120)];
    }),
    passes: found.passes.length,
    fetched: performance.getEntriesByType("resource").map(function (one) { return one.name; }),
    width: [document.documentElement.scrollWidth, document.documentElement.clientWidth],
  }));
});
</script>"""


@dataclass(frozen=True, slots=True)
class Looked:
    """violations: rules of axe-core broken: impact, rule, how often, where. passes: rules that hold. fetched: addresses
    asked for. overflow: by width of the window, how far the page reaches past it, in CSS pixels. console: what the
    browser complained of."""

    violations: list
    passes: int
    fetched: list
    overflow: dict[int, int]
    console: list[str]


def _dom(path: Path) -> tuple[html.HtmlElement, list[str]]:
    done = subprocess.run(
        [CHROMIUM, *_FLAGS, f"--user-data-dir={path.parent / 'profile'}", path.as_uri()],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    return html.document_fromstring(done.stdout), [line for line in done.stderr.splitlines() if ":CONSOLE" in line]


def look(page: str, folder: Path, widths: tuple[int, ...] = (360, 1280)) -> Looked:
    """Shows a page and answers what was seen."""
    import axe_core_python

    axe = (Path(axe_core_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
    probed = folder / "probed.html"
    # The script stands only in the copy that is examined.
    probed.write_text(page.replace("</body>", f"{_PROBE % axe}</body>"), encoding="utf-8")
    root, console = _dom(probed)
    found = json.loads(root.get("data-found"))
    frames = "".join(
        f'<iframe title="w{width}" width="{width}" height="800" style="border:0" srcdoc="{escape(page)}"></iframe>'
        for width in widths
    )
    measure = (
        "<script>onload = function () { document.documentElement.setAttribute('data-found', JSON.stringify("
        "Array.from(document.querySelectorAll('iframe')).map(function (one) { var root = "
        "one.contentDocument.documentElement; return root.scrollWidth - root.clientWidth; }))); };</script>"
    )
    framed = folder / "framed.html"
    framed.write_text(f"<!DOCTYPE html><html><body>{frames}{measure}</body></html>", encoding="utf-8")
    other, more = _dom(framed)
    overflow = dict(zip(widths, json.loads(other.get("data-found")), strict=True))
    return Looked(found["violations"], found["passes"], found["fetched"], overflow, console + more)
