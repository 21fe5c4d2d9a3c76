"""What a fixed session looks like in a real terminal at three sizes, and in spoken lines.

Run this file to draw the golden captures anew, then look at every one of them before
they are committed: ``python tests/terminal/captures.py``.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from conftest import Terminal  # noqa: E402

from tests.program import NECKWORK  # noqa: E402

GOLDEN = HERE / "golden"
SIZES = ((40, 15), (80, 24), (132, 43))
NARROW = ("session", "--strings", "543,432", "--quality", "maj7,m7b5", "--quiet")

STEPS = (
    ("start", "Enter starts", "\r"),
    ("before", "Before you start", "\r"),
    ("lesson", "A new shape", "\r"),
    ("prompt", "Play it, then Enter", "\x1b[C"),
    ("answer", "Clean", "\x1b[D"),
    ("repeat", "Play it right", "\r"),
    ("", "Play it, then Enter", "\x1b[C"),
    ("", "Clean", "\x1b[C"),
    ("second-lesson", "A new shape", "q"),
    ("end", "Done.", "\r"),
)
"""Screens in the order they come: name, what marks it, and the key that leaves it."""

TUNE = ("session", "--changes", "| Cm7 | F7 | Bbmaj7 |", "--from", "6", "--prompt", "transition", "--quiet")

TUNE_STEPS = (
    ("", "Enter starts", "\r"),
    ("", "Before you start", "\r"),
    ("transition-lesson", "A new change", "\r"),
    ("transition-prompt", "Play both, to the nearest root", "\x1b[C"),
    ("transition-answer", "Clean", "\x1b[D"),
    ("transition-repeat", "Play it right", "q"),
    ("", "Done.", "\r"),
)
"""The same for a change of chord in a tune; screens without a name are kept above."""

ONE_CARD = ("session", "--strings", "543", "--root", "Bb", "--quality", "m7", "--quiet", "--minutes", "2")
PROMPTS = (
    ("diagram", "Which chord?", "Bbm7\r"),
    ("grid", "where are its notes?", "5/1 5/4\r"),
    ("same-place", "Arpeggio, mode", "\r"),
    ("position", "without moving", "\r"),
)
"""Kinds of prompt with a drawing, or with several shapes for an answer: name, what marks it, and how it is answered."""

TYPED_LINES = (
    "", "", "", "what", "Bb Db F Ab", "", "", "5/1 5/4 4/3 3/1 3/3", "", "C D E F", "", "", "1", "f", "quit", "",
)  # fmt: skip

SPOKEN_KEYS = (*[""] * 4, "l", "1", "", "h", "", "", "f", "2", "p", "", "", "", "g", "c", "u", "t", "q", "")


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


def prompts(home: Path, columns: int, rows: int) -> dict[str, str]:
    """Prompt and answer of each of `PROMPTS`, one chord on one string set."""
    screens = {}
    for kind, mark, answer in PROMPTS:
        # What is typed is graded by its time: a slow machine must not be taken for a slow player.
        one = Terminal(home / kind, *ONE_CARD, "--prompts", kind, columns=columns, rows=rows, fast=2.0)
        shown = one.wait_for("Enter")
        for _ in range(9):
            if mark.split()[-1] in shown and "then" in shown:
                break
            one.press("\r")
            shown = one.screen()
        one.press("", wait=0.1)
        screens[f"prompt-{kind}"] = one.screen() + "\n"
        one.press(answer, wait=0.6)
        screens[f"answer-{kind}"] = one.screen() + "\n"
        one.press("q", wait=0.3)
        one.press("\r", wait=0.3)
        one.finish()
    return screens


def spoken(home: Path, keys: Iterable[str] = SPOKEN_KEYS, args: Iterable[str] = NARROW) -> str:
    """A whole short session in lines, as it answers the typed ones."""
    env = {**os.environ, "NECKWORK_HOME": str(home)}
    done = subprocess.run(
        [*NECKWORK, *args, "--plain"], input="\n".join(keys) + "\n",
        capture_output=True, text=True, env=env, timeout=60, check=False,
    )  # fmt: skip
    if done.returncode not in (0, 130):  # 130: the typed lines have come to their end
        raise RuntimeError(f"a session in lines ended with {done.returncode}: {done.stderr}")
    return done.stdout


def spoken_typed(home: Path) -> str:
    """A session away from the guitar in lines."""
    return spoken(home, TYPED_LINES, (*ONE_CARD, "--prompts", "diagram,grid,note,spell"))


def main() -> None:
    """Draws every golden file anew."""
    GOLDEN.mkdir(exist_ok=True)
    for columns, rows in SIZES:
        with tempfile.TemporaryDirectory() as home:
            screens = capture(Path(home), columns, rows) | prompts(Path(home), columns, rows)
            for name, text in screens.items():
                (GOLDEN / f"{name}-{columns}x{rows}.txt").write_text(text, encoding="utf-8")
    with tempfile.TemporaryDirectory() as home:
        (GOLDEN / "spoken.txt").write_text(spoken(Path(home)), encoding="utf-8")
    with tempfile.TemporaryDirectory() as home:
        (GOLDEN / "spoken-typed.txt").write_text(spoken_typed(Path(home)), encoding="utf-8")


if __name__ == "__main__":
    main()
