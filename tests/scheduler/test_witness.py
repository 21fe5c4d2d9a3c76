"""What a machine heard of an attempt stands beside the player's own grade, and never in its place."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import ReviewError
from scheduler.grade import Grade
from scheduler.log.events import Event, Later, SetAside, Witness, as_us, check
from scheduler.log.fold import LogState, fold
from scheduler.log.interchange_json import event_from_json, event_to_json
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import from_row, to_row
from scheduler.review import Review
from scheduler.statistics.agreement import FEWEST_HEARD, Agreement, agreement_of

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)


def review(number: int, grade: Grade = Grade.CLEAN, attempt: str = "first") -> Review:
    """One attempt of many."""
    return Review("c", grade, NOW + timedelta(minutes=number), 3.0, attempt, id=f"r{number}")


def heard(target: str, proposed: Grade | None = Grade.CLEAN, how: str = "shown") -> Witness:
    """What was heard of an attempt."""
    return Witness(target, proposed, how, "comb 1", 0.9, "48r 51r 54r")


def test_it_is_no_part_of_what_the_log_says_of_the_player():
    """Grades, rests, locks and tickets are the same with it and without it."""
    played = Event("r1", "one", as_us(NOW), review(1).at, review(1))
    witness = Event("w1", "one", as_us(NOW) + 1, NOW, heard("r1"))
    assert fold([played, witness]) == fold([played]) == LogState(reviews=(review(1),))


def test_a_version_that_does_not_know_it_hands_it_on_whole():
    """What an older version keeps of it is the row that this one writes, and is read back as it was."""
    for proposed in (None, *Grade):
        event = Event("w1", "one", as_us(NOW), NOW, heard("r1", proposed))
        stated = {k: v for k, v in event_to_json(event).items() if k not in ("kind", "id", "log", "stamp", "at")}
        kept = replace(event, body=Later("heard", json.dumps(stated, ensure_ascii=False)))
        assert to_row(kept) == to_row(event)
        assert from_row(tuple(to_row(kept).values())) == event
        assert event_from_json(event_to_json(kept), "x") == event


@pytest.mark.parametrize("kept", ['{"target": 3}', "[]", "3", '{"target": "t", "how": "shown", "source": "s"}', "{"])
def test_what_cannot_be_read_is_kept_as_it_came(kept):
    """A log never fails for what an older version has kept of a forged file."""
    row = to_row(Event("w1", "one", as_us(NOW), NOW, Later("heard", kept)))
    assert from_row(tuple(row.values())).body == Later("heard", kept)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"how": "guessed"}, "how"), ({"sure": 1.01}, "sure"), ({"sure": -0.1}, "sure"), ({"target": ""}, "target"),
     ({"source": "a\nb"}, "source"), ({"detail": "x" * 10_001}, "detail")],
)  # fmt: skip
def test_a_field_out_of_range_is_refused_by_name(wrong, field):
    """The message names the field."""
    with pytest.raises(ReviewError, match=f"heard event 'w1', {field}: expected"):
        check(Event("w1", "one", as_us(NOW), NOW, replace(heard("r1"), **wrong)))


def test_the_log_tells_what_was_heard_of_reviews_in_effect(tmp_path):
    """The latest counts where there are several; a grade taken back takes what was heard of it along."""
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        for number in range(4):
            log.record(review(number))
            log.append(heard(f"r{number}", Grade.LOOKED), NOW)
        later = heard("r2", None)
        log.append(later, NOW + timedelta(hours=1))
        log.append(heard("nothing"), NOW)
        gone = log.append(heard("r3", Grade.FOUND), NOW + timedelta(hours=2))
        log.append(SetAside((gone.id,)), NOW + timedelta(hours=3))
        log.undo("r0", NOW)
        log.slip("r1", "root", NOW)
        found = log.witnessed()
        assert [(one.proposed, own.id, own.slip) for one, own in found] == [
            (Grade.LOOKED, "r1", "root"), (None, "r2", None), (Grade.LOOKED, "r3", None),
        ]  # fmt: skip
        assert [own.id for _, own in log.witnessed(until=NOW + timedelta(minutes=2))] == ["r1"]
        assert [one for one in log.standing().reviews] == []
        # Two contents under one id: the answer comes from the fold, and is the same.
        log.add([Event("r1", log.id, as_us(NOW) + 9_000_000_000, review(1).at, review(1, Grade.LOOKED))])
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        assert [own.id for _, own in log.witnessed()] == ["r1", "r2", "r3"]


@settings(max_examples=100)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(list(Grade)), st.sampled_from([None, *Grade]), st.sampled_from(("shown", "accepted")),
            st.sampled_from(("first", "repeat")),
        ),
        max_size=60,
    )
)  # fmt: skip
def test_own_grade_against_heard_counts_what_the_player_answered(rows):
    """Silence, no proposal and repeats are left out; Clean and In time count as one; under twenty no range."""
    pairs = [
        (heard(f"r{number}", proposed, how), review(number, own, attempt))
        for number, (own, proposed, how, attempt) in enumerate(rows)
    ]
    found = agreement_of(pairs)
    told = [
        (min(own, 3), min(proposed, 3)) for own, proposed, how, attempt in rows
        if proposed is not None and how == "shown" and attempt == "first"
    ]  # fmt: skip
    same, higher = sum(a == b for a, b in told), sum(a > b for a, b in told)
    assert found == Agreement(same, higher, len(told) - same - higher)
    assert (found.interval is None) is (len(told) < FEWEST_HEARD)


def test_the_range_is_of_the_share_that_agrees():
    """Wilson 1927: 15 of 20 is compatible with .53 to .89."""
    low, high = Agreement(15, 4, 1).interval
    assert (round(low, 2), round(high, 2)) == (0.53, 0.89)
