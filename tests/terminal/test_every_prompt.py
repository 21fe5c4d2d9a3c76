"""Every kind of prompt as a person meets it, in a pseudo-terminal: asked, answered, judged or graded, written down.

One chord on one string set leaves one card of each kind, so the right answer is known beforehand: Bbm7 on 5-4-3 is
Bb(5/1) Db(5/4) F(4/3) Ab(3/1) Bb(3/3), computed from the open strings E2 A2 D3 G3 B3 E4.
"""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import pytest

from drills.cards.kinds import KINDS, kind_of
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog

sys.path.insert(0, str(Path(__file__).parent))
from conftest import Terminal

ONE_CARD = ("--strings", "543", "--root", "Bb", "--quality", "m7")
SHAPE = "5/1 5/4 4/3 3/1 3/3"
TYPED = {
    "diagram": ("Which chord?", "Bbm7"),
    "unmarked": ("no root is marked", "Db6"),  # the same four notes: drills/RULES.md, B1
    "note": ("which fret?", "1"),
    "places": ("frets 0 to 12", "5/1 4/8 3/3"),
    "tone": ("which fret?", "6"),  # one of b3 and b7; the other is at fret 1
    "grid": ("where are its notes?", SHAPE),
    "spell": ("from the root up?", "Bb Db F Ab"),
    "ear": ("which quality?", "m7"),
    "fix": ("one note is a fret off", None),  # read off the screen
}
PLAYED = {
    "name": "strings",  # their numbers are drawn in large letters, once
    "degree": "strings",
    "transition": "no gap:",
    "fret": "root at string 5 fret 1",
    "sets": "on every string set",
    "near": "near fret",
    "position": "without moving the hand",
    "same-place": "its grip",
    "ear-play": "play what you hear",
    "inner": "sing or imagine the arpeggio up and down",
}


@pytest.fixture
def sounding(tmp_path, monkeypatch):
    """A machine with a player of WAV files: a command that takes a file and a moment."""
    folder = tmp_path / "bin"
    folder.mkdir()
    player = folder / "aplay"
    player.write_text("#!/bin/sh\nsleep 0.2\n", encoding="utf-8")
    player.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")
    return folder


def opened(home, kind, *args, columns=80, rows=24):
    """A session with one kind of prompt, past its lessons, and the prompt's screen."""
    one = Terminal(home, "session", "--prompts", kind, "--minutes", "2", *ONE_CARD, *args, columns=columns, rows=rows)
    mark = TYPED[kind][0] if kind in TYPED else PLAYED[kind]
    shown = one.wait_for("Enter")
    for _ in range(9):
        words = " ".join(shown.split())
        if "then Enter" in words and mark.split()[-1] in words:
            return one, shown
        one.press("\r")
        shown = one.screen()
    raise AssertionError(f"no prompt came up:\n{shown}")


def firsts(home):
    with ReviewLog(home / "log.sqlite3") as log:
        return [review for review in log.reviews() if review.attempt == "first"]


def marks(screen):
    """(string, fret) of every mark on a drawn neck."""
    lines = screen.splitlines()
    top = next(number for number, line in enumerate(lines) if re.fullmatch(r"\s+(\d+\s*)+", line))
    heads = [(match.start() + len(match[0]) / 2, int(match[0])) for match in re.finditer(r"\d+", lines[top])]
    found = []
    for line in lines[top + 1 : top + 7]:
        string = int(line[:2])
        for match in re.finditer(r"[oR]", line[3:]):
            at = match.start() + 3.5
            found.append((string, min(heads, key=lambda head: abs(head[0] - at))[1]))
    return found


@pytest.mark.parametrize("kind", TYPED)
def test_a_typed_kind_from_prompt_to_log(tmp_path, sounding, kind):
    """The answer is typed, judged, taken with Enter and logged under the kind's own id; nothing is cut."""
    one, shown = opened(tmp_path, kind)
    answer = TYPED[kind][1]
    if kind == "tone" and "b7" in one.screen().replace(" ", ""):
        answer = None
    if kind == "fix":
        true = {tuple(map(int, place.split("/"))) for place in SHAPE.split()}
        wrong = [place for place in marks(shown) if place not in true]
        assert len(wrong) == 1, shown
        answer = f"{wrong[0][0]}/{wrong[0][1]}"
    one.press(answer or "1", wait=0.2)
    assert (answer or "1") in one.screen()
    one.press("\r", wait=0.5)
    judged = one.screen()
    if kind == "tone" and "Right" not in judged:  # the other of the two chord tones
        assert "Not fret" in judged and "fret 1" in judged
    else:
        assert judged.startswith("Right"), judged
    one.press("\r", wait=0.4)
    one.press("\x1b", wait=0.4)
    one.kill()
    review = firsts(tmp_path)[0]
    assert kind_of(review.card.rsplit("/", 1)[1]).name == kind
    assert review.tempo_bpm is None
    assert review.grade >= Grade.CLEAN or kind == "tone"


@pytest.mark.parametrize("kind", PLAYED)
def test_a_played_kind_from_prompt_to_log(tmp_path, sounding, kind):
    """It is asked, revealed, graded by the player and logged under the kind's own id."""
    one, _ = opened(tmp_path, kind)
    one.press("\r", wait=0.5)
    answer = one.screen()
    assert "Clean" in answer and "In time" in answer
    one.press("c", wait=0.4)
    one.kill()
    assert [kind_of(review.card.rsplit("/", 1)[1]).name for review in firsts(tmp_path)][:1] == [kind]


def test_no_kind_is_forgotten():
    """Each of the kinds is driven above."""
    assert set(TYPED) | set(PLAYED) == set(KINDS)
    assert all(KINDS[kind].typed for kind in TYPED) and not any(KINDS[kind].typed for kind in PLAYED)


@pytest.mark.parametrize(("columns", "rows"), [(40, 15), (132, 43)])
def test_a_drawing_and_a_line_to_type_on_fit_any_window(tmp_path, columns, rows):
    """At 40x15 and 132x43 the grid, the line and what to do are on one screen."""
    for kind in ("diagram", "grid", "inner", "same-place"):
        one, shown = opened(tmp_path / kind, kind, "--quiet", columns=columns, rows=rows)
        lines = shown.splitlines()
        assert len(lines) <= rows and all(len(line) <= columns for line in lines)
        assert sum(bool(re.match(r" [1-6] ", line)) for line in lines) == 6, shown
        assert "then" in shown and "Enter" in shown
        assert any(line.startswith("> ") for line in lines) is KINDS[kind].typed
        one.kill()


def test_a_typed_answer_that_cannot_be_read_is_asked_again(tmp_path):
    """The reason stands under the same prompt and nothing is logged."""
    one, _ = opened(tmp_path, "note")
    one.press("high\r", wait=0.5)
    again = one.screen()
    assert "Type a fret, such as 4" in again and "which fret?" in again
    one.press("1\r", wait=0.5)
    assert one.screen().startswith("Right")
    one.kill()
    assert firsts(tmp_path) == []


def test_two_pedals_play_typed_prompts(tmp_path):
    """Page Down reveals and is Clean, Page Up is Looked: nothing is typed."""
    one, _ = opened(tmp_path, "diagram")
    one.press("\x1b[6~", wait=0.6)
    assert "Looked" in one.screen()
    one.press("\x1b[6~", wait=0.4)
    one.kill()
    assert [review.grade for review in firsts(tmp_path)] == [Grade.CLEAN]
