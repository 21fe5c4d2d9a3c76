"""A card that was left alone costs neither the ten minutes nor the pace."""

from __future__ import annotations

import pytest
from sittings import Listener

from drills.configuration.diagram_style import DiagramStyle
from drills.session.machine import AWAY_S
from drills.session.screens import screen
from drills.session.terminal import run_lines
from scheduler.memory.pace import Pace


def at_a_prompt(sitting, **options):
    one = sitting(**options)
    one.start()
    one.through_lessons()
    return one


def left(one, seconds):
    """Time passes as in the terminal, which looks at it twice a second."""
    for _ in range(round(seconds * 2)):
        one.clock.tick(0.5)
        one.drill.tick()


def test_the_clock_stops_by_itself_after_two_minutes_without_a_key(sitting):
    """It goes back to the last key and the card's usual time, says so, and any key goes on from there."""
    one = at_a_prompt(sitting)
    played_s = one.state.elapsed_s(one.drill.now_s())
    left(one, AWAY_S - 1)
    assert one.state.paused_s is None
    left(one, 3600)
    card = one.drill.planner.card(one.state.card.id)
    usual_s = one.drill.planner.pace.seconds(card.seconds, one.drill.planner.recall(card.id, one.clock()))
    assert 5 < usual_s < 60
    assert one.state.elapsed_s(one.drill.now_s()) - played_s == pytest.approx(usual_s, rel=0.05)
    assert "the clock stopped by itself" in " ".join(line.text for line in screen(one.drill, DiagramStyle(), 78, 23))
    one.press("x")
    one.press("enter", seconds=2)
    one.press("c", seconds=2)
    (review,) = one.firsts()
    assert review.seconds == pytest.approx(usual_s + 2, rel=0.1)
    assert review.spent < AWAY_S


def test_a_key_a_sound_and_a_lesson_are_no_time_away(sitting):
    """Any key begins the two minutes anew, so does what is heard; a lesson takes as long as it takes."""
    listener = Listener()
    one = sitting(listener=listener)
    one.start()
    assert one.state.phase.value == "lesson"
    left(one, 2 * AWAY_S)
    assert one.state.paused_s is None
    one.through_lessons()
    left(one, AWAY_S - 1)
    one.press("x")
    left(one, AWAY_S - 2)
    assert one.state.paused_s is None
    listener.sounding = True
    left(one, AWAY_S)
    assert one.state.paused_s is None
    listener.sounding = False
    left(one, AWAY_S - 1)
    assert one.state.paused_s is None
    left(one, 2)
    assert one.state.gone


def test_the_ten_minutes_are_ten_minutes_of_practice(sitting):
    """An hour away in the middle of a session takes none of its cards."""
    one = at_a_prompt(sitting)
    one.play("c")
    one.through_lessons()
    left(one, 3600)
    one.press("x")
    count = len(one.state.given)
    while one.play("c") is not None:
        pass
    assert len(one.state.given) - count > 10


def test_in_lines_what_was_typed_on_coming_back_counts(sitting):
    """A line is waited for, so that nothing can be shown meanwhile: it is said, and the line does what it means."""
    one = at_a_prompt(sitting)
    said = []

    def read():
        if one.state.phase.value == "answer":
            raise EOFError
        one.clock.tick(1000)
        return ""

    run_lines(one.drill, read, said.append)
    assert sum("the clock stopped by itself" in line for line in said) == 1
    assert one.state.phase.value == "answer"
    assert one.state.revealed_s - one.state.asked_s < AWAY_S


@pytest.mark.parametrize("clean", [True, False])
def test_a_time_beyond_three_minutes_teaches_no_pace(clean):
    """Whoever was that long at one card was not at it; three minutes are still believed."""
    pace = Pace().after(clean, 20.0, 18.0)
    assert pace.after(clean, 180.5, 18.0) == pace
    assert pace.after(clean, 180.0, 18.0) != pace
