"""A page looked at by headless Chromium: what it fetches, what it complains of, how wide it is, how accessible."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from html import escape
from pathlib import Path

__all__ = ["CHROMIUM", "Looked", "look"]

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
"""The browser, or None where there is none."""

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


def _shown(path: Path) -> tuple[object, list[str]]:
    """What a page finds out about itself, and what the browser complained of."""
    from tests.phone.chromium import Tab

    with Tab(800, 600, mobile=False) as tab:
        # Without motion a page is looked at as it stands, and not half faded in.
        tab.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": "reduce"}])
        tab.open(path)
        tab.until("document.documentElement.dataset.found")
        return json.loads(str(tab.run("document.documentElement.dataset.found"))), tab.complaints


def look(page: str, folder: Path, widths: tuple[int, ...] = (360, 1280)) -> Looked:
    """Shows a page and answers what was seen."""
    import axe_core_python

    axe = (Path(axe_core_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
    probed = folder / "probed.html"
    # The script stands only in the copy that is examined.
    probed.write_text(page.replace("</body>", f"{_PROBE % axe}</body>"), encoding="utf-8")
    found, console = _shown(probed)
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
    reaches, more = _shown(framed)
    overflow = dict(zip(widths, reaches, strict=True))
    return Looked(found["violations"], found["passes"], found["fetched"], overflow, console + more)
