"""The session as a person plays it, in a pseudo-terminal: keys in, screens out, nothing lost."""

from __future__ import annotations

import random
import signal
import sys
import time
from pathlib import Path

import pytest

from drills.session.key_bindings import GRADE_REST_S
from scheduler.log.review_log import ReviewLog
from tests.program import NECKWORK

sys.path.insert(0, str(Path(__file__).parent))
from conftest import FAST, Terminal

RIGHT, LEFT, DOWN, UP, PAGE_DOWN = "\x1b[C", "\x1b[D", "\x1b[B", "\x1b[A", "\x1b[6~"


def opened(terminal, *args, **options):
    """A session past its opening pages, on its first lesson or prompt."""
    one = terminal("session", *args, **options)
    one.wait_for("Enter starts")
    one.press("\r")
    if "Enter goes on" in one.screen():
        one.press("\r")
    return one


def to_prompt(one):
    for _ in range(8):
        shown = one.screen()
        if "Play it, then Enter" in shown:
            return shown
        one.press("\r")
    raise AssertionError(f"no prompt came up:\n{one.screen()}")


def grades_in(home) -> list[int]:
    with ReviewLog(home / "log.sqlite3") as log:
        return [int(review.grade) for review in log.reviews() if review.attempt == "first"]


def test_a_session_from_start_to_end(terminal):
    """Prompt large, answer on Enter, four grades by arrows, undo, quit with a summary."""
    one = opened(terminal, program=NECKWORK)
    assert "A new shape" in one.screen()
    to_prompt(one)
    assert "█" in one.screen()
    one.press(RIGHT)
    answer = one.screen()
    for word in ("position", "string", "fret", "note", "degree", "finger", "Looked", "Found it", "Clean", "In time"):
        assert word in answer
    one.press(RIGHT)
    to_prompt(one)
    one.press("\r")
    one.press(DOWN)
    to_prompt(one)
    one.press("\r")
    one.press(LEFT)
    assert "Play it right twice" in one.screen()
    one.press("1")
    assert "Noted: root" in one.screen()
    one.press("\r")
    to_prompt(one)
    one.press("u")
    assert "grade it again" in one.screen()
    one.press(UP)
    one.press("q")
    assert "3 cards played, first try clean 2 of 3" in one.screen()
    one.press("\r")
    assert one.finish() == 0
    assert grades_in(terminal.home) == [3, 2, 4]


def test_the_caution_is_shown_once(terminal):
    """The first time only, over the warm-up: Enter twice, and the first card is there."""
    one = terminal("session")
    one.wait_for("Enter starts")
    one.press("\r")
    assert "Warm up" in one.wait_for("Before you start")
    one.press("\r")
    one.wait_for("played twice")
    one.press("q")
    assert one.finish() == 0
    two = terminal("session")
    two.wait_for("Enter starts")
    two.press("\r")
    assert "Before you start" not in two.wait_for("Enter goes on")


def test_every_size_is_usable(terminal):
    """At 40x15, 80x24 and 200x60, and after a resize in the middle, prompt and answer fit and nothing is cut."""
    one = opened(terminal, columns=40, rows=15)
    for columns, rows in ((40, 15), (80, 24), (200, 60), (40, 15)):
        one.resize(columns, rows)
        one.press("x", wait=0.8, change=False)  # the new size is drawn before anything is read off the screen
        to_prompt(one)
        assert "strings" in one.screen()
        one.press("\r")
        answer = one.screen()
        assert all(len(line) <= columns for line in answer.splitlines())
        for text in ("Clean", "position", "finger", "note", "string", "degree"):
            assert text in answer, answer
        assert ("[1]" in answer) is (columns <= 80)  # in a larger window the root stands in heavy corners
        assert ("┏" in answer) is (columns > 80)
        one.press("c")


def test_no_colour_and_no_colour_needed(terminal):
    """With NO_COLOR no colour codes are written, and the root is still marked."""
    one = opened(terminal, environ={"NO_COLOR": "1"})
    to_prompt(one)
    one.press("\r")
    assert "[1]" in one.screen()


def test_a_dumb_terminal_gets_lines(terminal):
    """TERM=dumb plays the same session in spoken lines, broken between words at 40 columns; the end is said once."""
    one = terminal("session", environ={"TERM": "dumb"}, columns=40, rows=60)
    for _ in range(2):
        one.press("\r", wait=0.6)
    one.wait_for("Enter when played.")
    one.press("\r", wait=0.5)
    one.press("q\r", wait=0.5)
    one.press("\r", wait=0.5)
    said = " ".join(one.screen().split())
    assert one.finish() == 0
    for sentence in (
        "Sharp pain, numbness, tingling, weakness: stop, and see a doctor or a hand therapist.",
        "string 6 fret 8 C root, finger 2; string 5 fret 7 E third, finger 1; string 5 fret 10 G fifth, finger 4;",
        "Enter starts. h for keys. q leaves.",
    ):
        assert sentence in said
    assert said.count("1 new shape and 1 new root met. Asked next time.") == 1


@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGHUP, "\x03"])
def test_signals_leave_the_terminal_sane_and_lose_nothing(terminal, end):
    """SIGTERM and SIGHUP end the session with everything graded kept; Ctrl-C exits with 130."""
    one = opened(terminal, program=NECKWORK)
    to_prompt(one)
    one.press("\r")
    one.press("c")
    if isinstance(end, str):
        one.press(end)
        assert one.finish() == 130
    else:
        one.child.kill(end)
        assert one.finish() in (128 + end, -end)
    assert len(grades_in(terminal.home)) == 1


def test_suspend_and_resume(terminal):
    """Ctrl-Z stops the program, SIGCONT brings the same prompt back."""
    one = opened(terminal)
    prompt = next(line for line in to_prompt(one).splitlines() if line.startswith("Root: "))
    one.press("\x1a", wait=0.5, change=False)
    one.child.kill(signal.SIGCONT)
    one.press("x", wait=0.6, change=False)
    assert prompt in one.screen()
    one.press("\r")
    one.press("c")
    assert len(grades_in(terminal.home)) == 1


@pytest.mark.parametrize("seed", range(20261125, 20261130))
def test_killed_at_fifty_random_moments_no_grade_is_lost(tmp_path, seed):
    """kill -9 anywhere: every grade whose next screen was drawn is in the log, and the log opens clean.

    Five sessions at a time share one log, so that their writes meet as well; two rounds of them on each of five logs.
    """
    rng = random.Random(seed)
    seen = 0
    for _ in range(2):
        sessions = [
            Terminal(tmp_path, "session", "--strings", "543", "--quality", "maj7", "--minutes", "5", "--quiet")
            for _ in range(5)
        ]
        for one in sessions:
            one.wait_for("Enter")
        left = {one: rng.randrange(4, 14) for one in sessions}
        while left:
            answering = [one for one in left if "Looked" in one.screen()]
            for one in left:
                one.press("c" if one in answering else "\r", wait=0.0)
            time.sleep(2 * GRADE_REST_S / FAST)  # grading keys rest so long after a reveal
            seen += sum("Play it, then" in one.screen() for one in answering)
            for one in [one for one in left if left[one] == 1]:
                one.press(rng.choice(("", "\r", "c")), wait=0.0)
                time.sleep(rng.random() * 0.05)
                one.kill()
            left = {one: more - 1 for one, more in left.items() if more > 1}
        kept = len(grades_in(tmp_path))
        assert kept >= seen
        seen = kept
    assert seen > 5
