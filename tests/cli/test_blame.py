"""When two files meet, the message names the one that is at fault."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta

import pytest

from scheduler.errors import LogError, ReviewError
from scheduler.grade import Grade
from scheduler.log import review_log
from scheduler.log.events import Event, as_us
from scheduler.log.interchange import foresee_file, import_file
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


@pytest.fixture
def other(tmp_path):
    """Another machine's log of 2,000 reviews."""
    path = tmp_path / "other.sqlite3"
    with ReviewLog(path) as log:
        moments = [NOW + timedelta(seconds=n) for n in range(2_000)]
        log.add(
            Event(f"r{n}", log.id, as_us(at), at, Review("c" * 500, Grade.CLEAN, at, 3.0, id=f"r{n}"))
            for n, at in enumerate(moments)
        )
    return path


@pytest.mark.parametrize("taking_in", [import_file, foresee_file])
def test_the_own_disk_full_is_not_the_other_file_s_fault(tmp_path, other, monkeypatch, taking_in):
    """A full disk under the player's log is said of that log, whose events are as before, and names the remedy."""
    opened = review_log.open_database

    def full(path, *rest):
        db = opened(path, *rest)
        if str(path).endswith("mine.sqlite3"):
            db.execute("PRAGMA max_page_count = 60")  # SQLite's own way to say that there is no more room
            db.execute("PRAGMA cache_size = 10")
        return db

    monkeypatch.setattr(review_log, "open_database", full)
    with ReviewLog(tmp_path / "mine.sqlite3") as log:
        log.record(Review("mine", Grade.CLEAN, NOW, 3.0, id="m"))
        with pytest.raises(LogError, match=r"mine\.sqlite3.*disk is full") as caught:
            taking_in(log, other, now=NOW + timedelta(days=1))
        assert "other.sqlite3" not in str(caught.value)
        assert [event.id for event in log.events()] == ["m"]


@pytest.mark.parametrize("taking_in", [import_file, foresee_file])
def test_the_other_file_damaged_is_not_the_own_log_s_fault(tmp_path, other, taking_in):
    """A damaged log that is to be taken in is named, and the player's log is not."""
    with sqlite3.connect(other) as db:
        db.execute("DROP TRIGGER events_no_update")
        db.execute("DROP TRIGGER sums_of_events")
        db.execute("UPDATE events SET grade = 1 WHERE id = 'r7'")
    with ReviewLog(tmp_path / "mine.sqlite3") as log:
        with pytest.raises(LogError, match=r"other\.sqlite3.*damaged") as caught:
            taking_in(log, other, now=NOW + timedelta(days=1))
        assert "mine.sqlite3" not in str(caught.value)
        assert list(log.events()) == []


def test_a_wrong_line_of_the_other_file_is_named_with_that_file(tmp_path):
    """A document cut short names itself and its line."""
    path = tmp_path / "half.json"
    path.write_text('{"format": "review-log", "version": 1, "events": [\n{"kind": "rev', encoding="utf-8")
    with ReviewLog(tmp_path / "mine.sqlite3") as log, pytest.raises(ReviewError, match=r"half\.json, line 2") as caught:
        import_file(log, path)
    assert "mine.sqlite3" not in str(caught.value)
