"""A session over a tune in a real terminal: transitions asked, shown and kept, and the end that names the tune."""

from __future__ import annotations

import re

import pytest

from scheduler.log.review_log import ReviewLog


def reviews_in(home):
    with ReviewLog(home / "log.sqlite3") as log:
        return list(log.reviews())


def play_to(one, wanted, most=60):
    """Plays on, everything clean, until a text stands on the screen."""
    for _ in range(most):
        shown = one.screen()
        if wanted in shown:
            return shown
        one.press("c" if "Looked" in shown else "\r")
    raise AssertionError(f"{wanted!r} did not come up:\n{one.screen()}")


@pytest.mark.parametrize(
    ("changes", "title", "where"),
    [
        ("blues-in-f", "Twelve-bar blues in F", r"bars? \d+"),
        ("thirty-two-bars-in-eb", "Thirty-two bars in Eb", r"bars? [\d, ]+ \([ABC]\)"),
    ],
)
def test_a_session_over_a_tune(terminal, changes, title, where):
    """Its title, a day it is for, lessons, a transition with its bars and both shapes; every grade in the log."""
    one = terminal("session", "--changes", changes, "--from", "5", "--by", "9999-12-31", columns=80, rows=24)
    first = one.wait_for(title, 40)
    assert "little is known yet" in first and "By " in first
    asked = play_to(one, "nearest root")
    assert re.search(where, asked) and "no gap: " in asked and "█" in asked
    one.press("\r")
    shown = one.screen()
    assert shown.count("position") == 2 and shown.count("[1]") == 2 and "In time" in shown
    one.press("c")
    one.press("q")
    end = one.wait_for("first try clean")
    assert "Done." in end
    one.press("\r")
    assert one.finish() == 0
    played = [review for review in reviews_in(terminal.home) if review.attempt == "first"]
    assert any("/transition-" in review.card and review.skills[-1].startswith("joint:") for review in played)


def test_a_tune_in_lines_for_a_screen_reader(terminal):
    """The transition is spoken: both chords, where it comes, both shapes."""
    one = terminal("session", "--changes", "| C7 | F7 |", "--from", "6", "--plain", rows=60)
    one.wait_for("Enter starts", 40)
    for _ in range(40):
        shown = one.screen()
        if "C seven to F seven" in shown or "F seven to C seven" in shown:
            break
        one.press("c\r" if shown.rstrip().endswith("t In time.") else "\r")
    assert "no gap: " in shown
    assert "bars 1 to 2" in shown or "bars 2 to 1" in shown
    one.press("\r")
    assert "Then" in one.screen()
    one.press("q\r")
    one.press("\r")
    assert one.finish() == 0
