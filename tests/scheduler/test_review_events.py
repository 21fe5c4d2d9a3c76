"""The fold of events into a state."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import ReviewError, SchedulerError
from scheduler.grade import Grade
from scheduler.log.events import Event, Flag, Lock, Meet, Rest, Slip, Ticket, Undo, Wake, as_us, check, from_us
from scheduler.log.fold import LogState, fold
from scheduler.review import Review
from tests.strategies import histories, moments, reviews

AT = datetime(2024, 3, 4, 18, 0, tzinfo=UTC)


def event(number: int, body, minutes: float = 0.0) -> Event:
    """An event of one log, `minutes` after six in the evening."""
    at = AT + timedelta(minutes=minutes)
    if isinstance(body, Review):
        body = replace(body, id=f"e{number}", at=at)
    return Event(f"e{number}", "log", as_us(at), at, body)


def review(grade: Grade = Grade.CLEAN, card: str = "a") -> Review:
    """A review whose id and time `event` sets."""
    return Review(card, grade, AT, 3.0)


@given(histories(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_makes_no_difference(history, rng):
    """Folding events in any order, some of them twice, gives one state."""
    shuffled = history + history[::2]
    rng.shuffle(shuffled)
    assert fold(shuffled) == fold(history)


def test_an_undo_counts_whatever_its_time():
    """An undo stamped before its review, as from a machine with a slow clock, still takes it back."""
    kept, taken = event(1, review()), event(2, review(), minutes=5)
    early = event(3, Undo("e2"), minutes=-30)
    assert fold([kept, taken, early]).reviews == (kept.body,)


def test_the_last_slip_counts():
    """Of several slips on a review the last counts, and None takes the name back."""
    one = event(1, replace(review(Grade.LOOKED), slip="time"))
    root, shape = event(2, Slip("e1", "root"), minutes=1), event(3, Slip("e1", "shape"), minutes=2)
    cleared = event(4, Slip("e1", None), minutes=3)
    assert [r.slip for r in fold([one]).reviews] == ["time"]
    assert [r.slip for r in fold([shape, root, one]).reviews] == ["shape"]
    assert [r.slip for r in fold([one, root, shape, cleared]).reviews] == [None]
    assert fold([root]) == LogState()


def test_of_two_events_with_one_stamp_the_one_with_the_later_id_counts():
    """Slips, locks and tickets of one stamp are taken by id, in whatever order they arrive."""
    one = event(1, review(Grade.LOOKED))
    events = [
        one,
        event(2, Slip("e1", "root"), 1), event(3, Slip("e1", "shape"), 1),
        event(4, Lock("form", "1 4 3"), 1), event(5, Lock("form", "2 1 4"), 1),
        event(6, Ticket("tune", "2"), 1), event(7, Ticket("tune", "3"), 1),
    ]  # fmt: skip
    for arrived in (events, events[::-1]):
        state = fold(arrived)
        assert [r.slip for r in state.reviews] == ["shape"]
        assert (state.locks, state.tickets) == ({"form": "2 1 4"}, {"tune": "3"})


def test_what_stands_is_the_last_word():
    """Resting, locks and tickets follow the last event about them; flags and lessons stay until undone."""
    events = [
        event(1, Rest("a")), event(2, Rest("b"), 1), event(3, Wake("a"), 2),
        event(4, Lock("form", "1 4 3"), 3), event(5, Lock("form", "2 1 4"), 4),
        event(6, Lock("other", "1"), 5), event(7, Lock("other", None), 6),
        event(8, Ticket("tune", "2"), 7), event(9, Ticket("tune", "3"), 8),
        event(10, Flag("a", "which finger?"), 9), event(11, Flag("b"), 10), event(12, Undo("e11"), 11),
        event(13, Meet("c", ("form:x",)), 12), event(14, Meet("d"), 13), event(15, Undo("e14"), 14),
        event(16, review(card="f"), 15), event(17, Undo("e4"), 16),
    ]  # fmt: skip
    state = fold(events)
    assert state.rested == {"b"}
    assert state.locks == {"form": "2 1 4"}
    assert state.tickets == {"tune": "3"}
    assert [flag.body.text for flag in state.flags] == ["which finger?"]
    assert [meet.body.skills for meet in state.meets] == [("form:x",)]


def test_a_clock_set_back_moves_no_review():
    """Reviews follow the stamps while each keeps what its clock showed."""
    first = event(1, review())
    late = event(2, review(), minutes=-60)
    stamped = replace(late, stamp_us=first.stamp_us + 1_000)
    assert [r.id for r in fold([stamped, first]).reviews] == ["e1", "e2"]
    assert fold([stamped, first]).reviews[1].at == AT - timedelta(hours=1)


@given(moments())
def test_microseconds_there_and_back(at):
    """Whole microseconds since 1970 hold any time exactly."""
    assert from_us(as_us(at)) == at


@given(reviews())
def test_a_sound_review_passes(one):
    """An event around any review within the limits is fit for a log."""
    whole = Event(one.id, "log", as_us(one.at), one.at, one)
    assert check(whole) is whole


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"id": "x\n"}, r"review event 'x\\n', id: expected printable text of 1 to 1000 characters, got 'x\\n'"),
        ({"id": "other"}, "id: expected the review's own id 'e1', got 'other'"),
        ({"log": ""}, "log: expected printable text"),
        ({"stamp_us": 10**18}, "stamp: expected a time between the years 1900 and 9000"),
        ({"at": AT.replace(tzinfo=None)}, "at: expected a date and time with a UTC offset"),
        ({"at": AT + timedelta(days=1)}, "at: expected the review's own time"),
        ({"body": Flag("a", "\ud800")}, "text: expected text of at most 10000 characters"),
        ({"body": Flag("a", "x" * 10_001)}, "text: expected text of at most 10000 characters"),
        ({"body": Lock("", "1")}, "subject: expected printable text"),
        ({"body": Lock("a", "\0")}, "value: expected text"),
        ({"body": Slip("e1", "\n")}, "slip: expected printable text of 1 to 1000 characters, got"),
        ({"body": Meet("a", ("ok", ""))}, "skills: expected printable text"),
        ({"body": Meet("a", ["ok"])}, "skills: expected at most 1000 in a tuple"),
        ({"body": Undo("\x1b[31m")}, "target: expected printable text"),
    ],
)
def test_what_is_not_fit_for_a_log_is_refused(change, said):
    """A refusal names the event, the field, what was expected and what came."""
    with pytest.raises(ReviewError, match=said):
        check(replace(event(1, review()), **change))


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("card", "", "card: expected a card id, got ''"),
        ("grade", 3, "grade: expected a Grade, got 3"),
        ("at", AT.replace(tzinfo=None), "at: expected a date and time with a UTC offset"),
        ("at", "today", "at: expected a date and time with a UTC offset, got 'today'"),
        ("attempt", "second", "attempt: expected 'first' or 'repeat', got 'second'"),
        ("slip", "", "slip: expected printable text of 1 to 1000 characters, or None, got ''"),
        ("slip", 3, "slip: expected printable text of 1 to 1000 characters, or None, got 3"),
        ("predicted", 1.5, "predicted: expected a chance between 0 and 1, got 1.5"),
        ("seconds", float("nan"), "seconds: expected a number of 0 or more, got nan"),
        ("seconds", None, "seconds: expected a number of 0 or more, got None"),
        ("spent", -1.0, "spent: expected a number of 0 or more, got -1.0"),
        ("tempo_bpm", "fast", "tempo_bpm: expected a number of 0 or more, got 'fast'"),
        ("id", "", "id: expected a unique id, got ''"),
    ],
)
def test_a_review_that_cannot_be_right_is_refused(field, value, said):
    """A review names its first wrong field, as a ReviewError that is also a ValueError."""
    with pytest.raises(ReviewError, match=said) as caught:
        replace(review(), **{field: value})
    assert isinstance(caught.value, ValueError)
    assert isinstance(caught.value, SchedulerError)
