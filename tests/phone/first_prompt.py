"""How soon a phone page shows its first prompt on a slow processor, measured in headless Chromium.

    python -m tests.phone.first_prompt PAGE.html [TIMES]

opens a page so many times with the processor slowed 1, 4 and 6 times (DevTools protocol,
Emulation.setCPUThrottlingRate), and prints the median of two spans in milliseconds: from the start of loading until
the page can be tapped, and from the tap on Start until the first prompt or lesson has been painted.
"""

from __future__ import annotations

import statistics
import sys
from pathlib import Path

from tests.phone.chromium import Tab

_PAINTED = """new Promise(done => {
  const began = performance.now();
  [...document.querySelectorAll('button')].find(one => one.innerText.trim().startsWith('Start')).click();
  requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - began)));
})"""
"""Taps Start, and answers after the frame that shows what follows."""

_LOADED = "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"


def spans(page: Path, slower: int) -> tuple[float, float]:
    """Milliseconds until the page can be tapped, and from the tap until what follows is painted."""
    with Tab() as tab:
        tab.call("Emulation.setCPUThrottlingRate", rate=slower)
        tab.open(page)
        return float(str(tab.run(_LOADED))), float(str(tab.run(_PAINTED)))


def main(page: str, times: int = 5) -> None:
    """Prints the figures."""
    for slower in (1, 4, 6):
        measured = [spans(Path(page), slower) for _ in range(times)]
        loaded, painted = (statistics.median(values) for values in zip(*measured, strict=True))
        print(f"slowed {slower} times: {loaded:.0f} ms to load, {painted:.0f} ms to the first prompt", flush=True)


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:]))
