"""The form of a session (drills/RULES.md, B6, common practice): plan, warm-up, cards, musical minute, another ten."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sittings import Clock, Listener

from drills.configuration.diagram_style import DiagramStyle
from drills.session.ending import end_lines
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_sentences import plan_line
from scheduler.days.calendar import PracticeCalendar

NARROW = {"strings": "654,543", "quality": "maj7,7"}


def played_out(one):
    """Plays until nothing more is asked; through the musical minute too."""
    while one.play() is not None:
        pass
    if one.state.phase.value == "music":
        one.press("enter", seconds=50)


def test_the_plan_can_be_refused_with_one_key(sitting):
    """Only one set, only what has been met, or everything again; the plan in a line says so."""
    one = sitting(**NARROW)
    whole = plan_line(one.drill)
    one.press("v")
    assert "Nothing there to play yet" in one.state.note
    one.press("2")
    assert "only 5-4-3" in plan_line(one.drill)
    one.start()
    assert str(one.state.card.strings) == "5-4-3"
    two = sitting(**NARROW)
    two.press("2", "2")
    assert plan_line(two.drill) == whole


def test_only_reviews_asks_nothing_new(sitting):
    """With v every card asked has been met before and no lesson is given."""
    one = sitting(**NARROW)
    one.start()
    for _ in range(6):
        one.play()
    met = {review.card for review in one.log.reviews()}
    one.clock.tick(86_400)
    two = sitting(clock=one.clock, **NARROW)
    two.press("v")
    two.start()
    asked = set()
    while (card := two.play()) is not None:
        asked.add(card.id)
    assert asked
    assert asked <= met
    assert two.state.lessons == ()


@pytest.mark.parametrize(("minutes", "warm_up", "music"), [(10, 30, 60), (5, 15, 30), (3, 9, 18), (2, 0, 0)])
def test_the_form_scales_with_the_minutes(sitting, minutes, warm_up, music):
    """Half a minute and a minute of ten; three minutes is a real session, two are only cards."""
    state = sitting(minutes=minutes, **NARROW).state
    assert (state.warm_up_s, state.music_s) == (warm_up, music)


def test_a_short_session_brings_less_that_is_new(sitting):
    """Two forms are for ten minutes; three minutes bring one, twenty no more than ten; roots stay at four."""
    limits = {minutes: sitting(minutes=minutes).drill.planner.rules.new_per_session for minutes in (3, 10, 20)}
    assert limits == {3: {"form": 1, "root": 4}, 10: {"form": 2, "root": 4}, 20: {"form": 2, "root": 4}}


def test_the_warm_up_is_high_on_the_neck(sitting):
    """One easy shape that is known already, from fret 7 up, drawn and said."""
    first = sitting(**NARROW)
    first.press("enter")
    assert first.state.phase.value == "warm-up"
    assert first.drill.warm_up() is None
    first.start()
    for _ in range(6):
        first.play()
    one = sitting(**NARROW)
    one.press("enter")
    assert one.drill.warm_up().lowest_fret >= 7
    assert any("fret" in line for line in spoken(one.drill))


def test_the_musical_minute_is_today_s_weakest_card(sitting):
    """Over its drone or in a two-five-one; it ends by itself with the ten minutes."""
    listener = Listener()
    one = sitting(listener=listener, **NARROW)
    one.start()
    weak = one.play("f")
    while one.state.phase.value != "music":
        one.play()
    one.press("s")
    assert listener.asked[-1][:2] == ("drone", weak.chord.name)
    one.press("k")
    assert listener.asked[-1][0] == "changes"
    assert weak.chord.name in listener.asked[-1]
    one.clock.tick(60)
    assert one.state.note == "changes"
    assert one.drill.tick()
    assert one.state.phase.value == "end"
    assert one.state.note == ""
    assert one.state.elapsed_s(one.drill.now_s()) >= 600


def test_another_ten_is_offered_once_a_day(sitting):
    """Taken once, it is not offered again that day; the next day it is; leaving early it is not."""
    one = sitting(minutes=3, **NARROW)
    one.start()
    played_out(one)
    assert one.state.offer
    assert "another ten" in " ".join(spoken(one.drill))
    one.press("m")
    assert one.state.phase.value in ("prompt", "lesson")
    played_out(one)
    assert one.state.phase.value == "end"
    assert not one.state.offer
    assert not sitting(minutes=3, clock=one.clock, **NARROW).state.offer
    one.clock.tick(86_400)
    two = sitting(minutes=3, clock=one.clock, **NARROW)
    assert two.state.offer
    two.start()
    two.play()
    two.press("q")
    assert not two.state.offer


def test_a_lesson_is_heard_and_a_new_card_silences_it(sitting):
    """The form is shown, heard, played; the sound ends when the next card comes."""
    listener = Listener()
    one = sitting(listener=listener, **NARROW)
    one.start()
    assert listener.asked[-1] == ("hear", one.state.card.chord.name)
    one.press("s", "k")
    assert listener.asked[-2:] == [("hear", one.state.card.chord.name), ("click", 60.0)]
    one.press("enter", seconds=20)
    assert ("stop",) in listener.asked[3:]


def test_silence_is_said_once_and_passed_over(sitting):
    """What goes wrong with the sound becomes a line on the screen; nothing else changes."""
    listener = Listener()
    one = sitting(listener=listener, **NARROW)
    one.start()
    listener.news = "No sound: no player."
    before = one.state
    assert one.drill.tick()
    assert one.state.note == "No sound: no player."
    assert one.state.card is before.card
    assert not one.drill.tick()


@pytest.mark.parametrize(
    ("rule", "at", "said"),
    [
        ("every day", "2026-03-06 18:00", "Next: tomorrow."),
        ("weekdays", "2026-03-06 18:00", "Next: Monday."),  # a Friday
        ("not Sundays", "2026-03-07 18:00", "Next: Monday."),
        ("every day", "2026-03-07 00:30", "Next: later today."),  # counts for the evening before
        ("RRULE:FREQ=WEEKLY;INTERVAL=4;BYDAY=MO", "2026-03-02 18:00", "Next: Monday 23 March."),
        ("RRULE:FREQ=DAILY;UNTIL=20260301T000000", "2026-03-02 18:00", "Next: when you like."),
    ],
)
def test_the_end_names_the_next_practice_day(sitting, rule, at, said):
    """By the player's own rule; weekdays of 2026 as any printed calendar has them."""
    one = sitting(clock=Clock(datetime.fromisoformat(at).replace(tzinfo=UTC)), **NARROW)
    calendar = PracticeCalendar(rule)
    one.drill.next_day = lambda now: calendar.next_day(calendar.day_of(now))
    one.start()
    one.play()
    one.press("q")
    assert said in " ".join(end_lines(one.drill))


def test_resting_and_flagging_are_answered(sitting):
    """r and ? say what they did, on a prompt, a lesson or an answer; the next card is another."""
    one = sitting(**NARROW)
    one.start()
    for _ in range(6):
        one.press("?")
        assert one.state.note == "Marked for your teacher."
        one.press("enter", seconds=20)
    one.start()
    rested = one.state.card
    one.press("r")
    assert one.state.note == f"{rested.prompt} rests; neckwork wake brings it back."
    assert one.state.card is not rested
    assert one.state.note in [line.text for line in screen(one.drill, DiagramStyle(), 80, 24)]
    assert one.state.note in spoken(one.drill)


def test_a_clock_set_back_never_locks_the_keys(sitting):
    """An hour back between reveal and grade, the grade is still taken."""
    one = sitting(**NARROW)
    one.start()
    one.through_lessons()
    one.press("enter")
    one.clock.tick(-3600)
    one.press("c")
    assert len(one.firsts()) == 1


def test_twenty_top_grades_in_a_row_call_for_other_ears(sitting):
    """Not longer gaps but a spot check is suggested (rule B7, common practice)."""
    one = sitting(**NARROW)
    one.start()
    while one.play("t", look=4.0, spent=5.0) is not None:
        pass
    assert len(one.state.given) >= 20
    assert any("hear a few" in line for line in spoken_end(one))


def spoken_end(one):
    if one.state.phase.value == "music":
        one.press("enter")
    return spoken(one.drill)


@pytest.mark.parametrize("minutes", [10, 2])
def test_two_presses_lead_to_the_first_card(sitting, minutes):
    """The first evening: plan, then cautions and warm-up on one page; reading it long takes nothing of the minutes."""
    one = sitting(minutes=minutes, caution=True, **NARROW)
    assert one.state.phase.value == "start"
    one.press("enter")
    said = " ".join(spoken(one.drill))
    assert "see a doctor or a hand therapist" in said
    assert ("Warm up." in said) == (minutes >= 3)
    one.press("enter", seconds=300)
    assert one.state.card is not None
    assert one.state.elapsed_s(one.drill.now_s()) == one.state.warm_up_s
    assert "seen:caution" in one.log.standing().tickets


def test_on_later_evenings_the_warm_up_counts_as_it_is_played(sitting):
    """Without cautions its time is the session's."""
    one = sitting(**NARROW)
    one.press("enter")
    assert "Before you start" not in " ".join(spoken(one.drill))
    one.press("enter", seconds=50)
    assert one.state.elapsed_s(one.drill.now_s()) == 50
