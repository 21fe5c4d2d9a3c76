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

TUNE = ("session", "--changes", "| Cm7 | F7 | Bbmaj7 |", "--from", "6", "--prompt", "transition", "--quiet")

TUNE_STEPS = (
    ("", "Before you start", "\r"),
    ("", "Enter starts", "\r"),
    ("", "Warm up", "\r"),
    ("transition-lesson", "A new change", "\r"),
    ("transition-prompt", "Play both, then Enter", "\x1b[C"),
    ("transition-answer", "Clean", "\x1b[D"),
    ("transition-repeat", "Play it right", "q"),
    ("", "Done.", "\r"),
)
"""The same for a change of chord in a tune; screens without a name are kept above."""

SPOKEN_KEYS = (*[""] * 8, "l", "1", "", "h", "", "", "f", "2", "p", "", "", "g", "c", "u", "t", "q", "")


def capture(home: Path, columns: int, rows: int) -> dict[str, str]:
    """Every named screen of both sessions in a terminal of that size; trailing blanks cut."""
    screens = {}
    for number, (command, steps) in enumerate(((NARROW, STEPS), (TUNE, TUNE_STEPS))):
        one = Terminal(home / f"{number}", *command, columns=columns, rows=rows)
        for name, mark, key in steps:
            one.wait_for(mark)
            one.press("", wait=0.1)
            if name:
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
