"""A practice day gone by ends where it was played: between its last try and the next day's first."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduler import Grade, Review
from scheduler.days.practice_day import practice_day
from scheduler.log.review_log import ReviewLog
from scheduler.statistics.end_of_day import end_of_day

OFFSETS = (-12.0, -8.0, 0.0, 5.75, 9.0, 14.0)
"""Local time minus UTC in hours: the ends of the world, and some places between."""


def at(text: str, offset_hours: float) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=timezone(timedelta(hours=offset_hours)))


def log_of(*moments: datetime) -> ReviewLog:
    log = ReviewLog(":memory:")
    for number, moment in enumerate(moments):
        log.record(Review("a", Grade.CLEAN, moment, 4.0, skills=("k:a",), id=f"r{number}"))
    return log


def seen(log: ReviewLog, until: datetime) -> int:
    return len(list(log.digest_rows(until=until)))


@pytest.fixture(params=["Noon-14", "UTC", "Noon12"])
def zone(request, monkeypatch):
    """The machine that reads stands anywhere."""
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@settings(max_examples=60)
@given(
    steps=st.lists(st.tuples(st.floats(0.2, 30.0), st.sampled_from(OFFSETS)), min_size=1, max_size=8),
    pick=st.integers(0, 7),
    hour=st.sampled_from([0.0, 4.0, 20.5]),
)
def test_every_try_of_the_day_or_before_is_seen_and_none_of_a_later_day(steps, pick, hour):
    """A traveller's tries, each with its own clock: wherever a moment can part the days, this one does."""
    moment, tries = datetime(2031, 5, 5, 12, tzinfo=UTC), []
    for hours, offset in steps:
        moment += timedelta(hours=hours)
        tries.append(moment.astimezone(timezone(timedelta(hours=offset))))
    days = [practice_day(one, hour) for one in tries]
    day = days[pick % len(days)]
    before = [one for one, its in zip(tries, days, strict=True) if its <= day]
    after = [one for one, its in zip(tries, days, strict=True) if its > day]
    assume(not after or max(before) < min(after))
    with log_of(*tries) as log:
        ends = end_of_day(log, day, hour)
        assert seen(log, ends) == len(before)
        assert practice_day(ends, hour) == day


def test_who_flew_east_began_the_next_day_before_this_one_was_over(zone):
    """Monday in Los Angeles at ten in the morning, Tuesday in Tokyo at eleven: sixteen hours, and two days."""
    with log_of(at("2031-05-05 10:00", -7), at("2031-05-06 11:00", 9)) as log:
        assert seen(log, end_of_day(log, date(2031, 5, 5))) == 1
        assert seen(log, end_of_day(log, date(2031, 5, 6))) == 2
        assert end_of_day(log, date(2031, 5, 6)) == at("2031-05-07 03:59:59.999999", 9)


def test_a_day_ends_by_the_clock_of_its_last_try(zone):
    """In the player's own time, whoever reads; the first later try tells where there is none, and without any the
    machine does."""
    ends = "2031-05-06 03:59:59.999999"
    with log_of(at("2031-05-05 05:00", 14)) as log:
        assert end_of_day(log, date(2031, 5, 5)) == at(ends, 14)
    with log_of(at("2031-05-06 05:00", 5.75)) as log:
        assert end_of_day(log, date(2031, 5, 5)) == at(ends, 5.75)
    here = datetime.fromisoformat(ends).astimezone()
    assert end_of_day(None, date(2031, 5, 5)) == here
    with log_of(at("2031-04-05 05:00", 14)) as log:
        assert end_of_day(log, date(2031, 5, 5)) == here
