"""A stamp far ahead of the clock: kept out, and mended where it has come in.

A hybrid logical clock never goes back (Kulkarni and others 2014), so one stamp far ahead pulls all later ones after it.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import LogError, ReviewError
from scheduler.grade import Grade
from scheduler.log.copies import KEPT, copies_of, keep_copy
from scheduler.log.events import AHEAD_LIMIT, LATEST_STAMP_US, STAMP_STEP_US, Event, as_us
from scheduler.log.interchange import import_file
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from tests.log_exports import export_json

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
END = datetime(9000, 1, 1, tzinfo=UTC)


def review(number, at=NOW):
    """A review that is told from others by its id."""
    return Review("c", Grade.CLEAN, at + timedelta(minutes=number), 3.0, id=f"r{number}")


def stamped(one, stamp_us):
    """A review as an event with a stamp of its own."""
    return Event(one.id, "other", stamp_us, one.at, one)


def test_nothing_is_stamped_past_the_end_of_the_range(tmp_path):
    """The grade after the last stamp there is: refused with the way out, and the log stays readable."""
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        log.add([stamped(review(0), LATEST_STAMP_US)])
        with pytest.raises(LogError, match="neckwork log mend"):
            log.record(review(1))
        assert [one.id for one in log.reviews()] == ["r0"]
        assert log.mend_stamps(NOW) == 1
        log.record(review(1))
        assert [one.id for one in log.reviews()] == ["r0", "r1"]


@pytest.mark.parametrize("ahead", [timedelta(hours=48, microseconds=1), timedelta(days=3000)])
def test_a_file_with_a_stamp_far_ahead_is_refused_whole(tmp_path, ahead):
    """The first such event is named and nothing is taken in, from JSON and from a log alike."""
    with ReviewLog(tmp_path / "far.sqlite3") as far:
        far.record(review(0))
        far.add([stamped(review(number), as_us(NOW + ahead) + number) for number in (1, 2)])
        with open(tmp_path / "far.json", "w", encoding="utf-8") as out:
            export_json(far, out)
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        for name in ("far.json", "far.sqlite3"):
            with pytest.raises(ReviewError, match="review 'r1', stamp"):
                import_file(log, tmp_path / name, now=NOW)
        assert log.fingerprint().last_seq == 0
        assert import_file(log, tmp_path / "far.json", now=NOW + ahead).new == 3


def test_two_days_ahead_are_taken(tmp_path):
    """Exactly the limit is within it."""
    with ReviewLog(tmp_path / "far.sqlite3") as far:
        far.add([stamped(review(0), as_us(NOW + AHEAD_LIMIT))])
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        assert import_file(log, tmp_path / "far.sqlite3", now=NOW).new == 1


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(-5, 5), st.booleans()), min_size=1, max_size=8))
def test_mending_keeps_every_review_and_their_order(chosen):
    """Stamps come back to at most the limit plus a step each; ids, clocks and order are what they were."""
    limit = NOW + AHEAD_LIMIT
    events = [
        stamped(review(number, NOW + timedelta(days=days)), as_us(NOW) + number + (as_us(END) - as_us(NOW)) * far // 2)
        for number, (days, far) in enumerate(chosen)
    ]
    with ReviewLog(":memory:") as log:
        log.add(events)
        before, name = list(log.reviews()), log.id
        moved = log.mend_stamps(NOW)
        assert moved == sum(far for _, far in chosen)
        assert list(log.reviews()) == before
        assert (log.id == name) == (moved == 0)
        stamps = [event.stamp_us for event in log.events()]
        assert max(stamps) <= as_us(limit) + STAMP_STEP_US * len(events)
        assert log.mend_stamps(NOW + len(events) * timedelta(microseconds=STAMP_STEP_US)) == 0
        with pytest.raises(LogError):
            _change(log)


def _change(log):
    from scheduler.log.schema import explained

    with explained(log.path, "write"):
        log._db.execute("UPDATE events SET stamp_us = 0")


def test_few_copies_are_kept_and_the_newest_always(tmp_path):
    """The oldest go first; two within one second have names of their own."""
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        made = [keep_copy(log, NOW + timedelta(seconds=number // 2)) for number in range(KEPT + 3)]
    kept = copies_of(tmp_path / "log.sqlite3")
    assert len(kept) == KEPT
    assert made[-1] in kept
    assert made[0] not in kept
    assert [one for one in (tmp_path / "copies").iterdir() if one.suffix == ".part"] == []
    assert (made[-1].stat().st_mode & 0o777) == 0o600
