"""What a fixed session looks like in a real terminal at three sizes, and in spoken lines.

Run this file to draw the golden captures anew, then look at every one of them before
they are committed: ``python tests/terminal/captures.py``.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from conftest import Terminal  # noqa: E402

GOLDEN = HERE / "golden"
SIZES = ((40, 15), (80, 24), (132, 43))
NARROW = ("session", "--strings", "543,432", "--quality", "maj7,m7b5", "--quiet")

STEPS = (
    ("caution", "Before you start", "\r"),
    ("start", "Enter starts", "\r"),
    ("warm-up", "Warm up", "\r"),
    ("lesson", "A new shape", "\r"),
    ("second-lesson", "A new shape", "\r"),
    ("root-lesson", "New root", "\r"),
    ("second-root-lesson", "New root", "\r"),
    ("prompt", "Play it, then Enter", "\x1b[C"),
    ("answer", "Clean", "\x1b[D"),
    ("repeat", "Play it right", "q"),
    ("end", "Done.", "\r"),
)
"""Screens in the order they come: name, what marks it, and the key that leaves it."""

SPOKEN_KEYS = (*[""] * 8, "l", "1", "", "h", "", "", "f", "2", "p", "", "", "g", "c", "u", "t", "q", "")


def capture(home: Path, columns: int, rows: int) -> dict[str, str]:
    """Every screen of `STEPS` in a terminal of that size, by name; trailing blanks cut."""
    screens = {}
    one = Terminal(home, *NARROW, columns=columns, rows=rows)
    for name, mark, key in STEPS:
        one.wait_for(mark)
        one.press("", wait=0.1)
        screens[name] = one.screen() + "\n"
        one.press(key, wait=0.4)
    one.finish()
    return screens


def spoken(home: Path) -> str:
    """A whole short session in lines, the typed keys marked by ``>``."""
    env = {**os.environ, "NECKWORK_HOME": str(home)}
    done = subprocess.run(
        [sys.executable, "-m", "drills.cli", *NARROW, "--plain"], input="\n".join(SPOKEN_KEYS) + "\n",
        capture_output=True, text=True, env=env, timeout=60, check=True,
    )  # fmt: skip
    return done.stdout


def main() -> None:
    """Draws every golden file anew."""
    GOLDEN.mkdir(exist_ok=True)
    for columns, rows in SIZES:
        with tempfile.TemporaryDirectory() as home:
            for name, text in capture(Path(home), columns, rows).items():
                (GOLDEN / f"{name}-{columns}x{rows}.txt").write_text(text, encoding="utf-8")
    with tempfile.TemporaryDirectory() as home:
        (GOLDEN / "spoken.txt").write_text(spoken(Path(home)), encoding="utf-8")


if __name__ == "__main__":
    main()
