"""A log too long to be checked whole at a start is checked part by part, a part a day."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from scheduler.errors import LogError
from scheduler.grade import Grade
from scheduler.log import checksums, review_log
from scheduler.log.checksums import damage_in_part
from scheduler.log.events import Event, as_us
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


@pytest.fixture
def hurt(tmp_path, monkeypatch):
    """A log of 95 events in parts of ten, the 42nd not as it was written."""
    monkeypatch.setattr(checksums, "PART", 10)
    path = tmp_path / "log.sqlite3"
    with ReviewLog(path) as log:
        made = [NOW + timedelta(minutes=n) for n in range(95)]
        log.add(
            Event(f"r{n}", log.id, as_us(at), at, Review("c", Grade.CLEAN, at, 3.0, id=f"r{n}"))
            for n, at in enumerate(made, 1)
        )
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TRIGGER events_no_update")
        db.execute("DROP TRIGGER sums_of_events")
        db.execute("UPDATE events SET grade = 4 WHERE id = 'r42'")
    return path


def test_each_part_is_checked_once_in_as_many_days_as_there_are_parts(hurt):
    """Ten parts, the last of five events: the damaged one alone says so, whatever day the round begins."""
    with closing(sqlite3.connect(hurt)) as db:
        for begin in (0, 7, 739_000):
            said = [damage_in_part(db, begin + day) for day in range(10)]
            assert [bool(one) for one in said].count(True) == 1
            [found] = [one for one in said if one]
            assert found == ["event 'r42', number 42: it is not what was written, by its checksum"]
            assert said.index(found) == (4 - begin) % 10


@pytest.mark.parametrize("number", [1, 10, 11, 50, 90, 91, 95])
def test_the_first_and_the_last_event_of_a_part_are_in_it(hurt, number):
    """Every event belongs to one part, those at its ends too."""
    with closing(sqlite3.connect(hurt, isolation_level=None)) as db:
        db.execute("UPDATE events SET grade = 3 WHERE id = 'r42'")
        db.execute(f"UPDATE events SET grade = 4 WHERE id = 'r{number}'")
        parts = [part for part in range(10) if damage_in_part(db, part)]
    assert parts == [(number - 1) // 10]


def test_a_part_that_has_gone_is_missed(hurt):
    """An event that is no longer there is named by its number."""
    with closing(sqlite3.connect(hurt)) as db:
        db.execute("DROP TRIGGER events_no_delete")
        db.execute("DELETE FROM events WHERE id = 'r93'")
        assert damage_in_part(db, 9) == ["the event numbered 93 is missing"]
        db.execute("DROP TABLE sums")
        assert damage_in_part(db, 9) == []


def test_a_long_log_is_refused_on_the_day_its_damage_is_met(hurt, monkeypatch):
    """As a short one is at once, and with the same way out."""
    monkeypatch.setattr("scheduler.log.review_log.MOST_BYTES", 0)
    monkeypatch.setattr("scheduler.log.seal.MOST_BYTES", 0)
    refused = []
    for number in range(10):
        day = type("Day", (), {"today": staticmethod(lambda n=number: type("D", (), {"toordinal": lambda self: n})())})
        monkeypatch.setattr(review_log, "date", day)
        try:
            ReviewLog(hurt, writable=False).close()
        except LogError as error:
            assert "number 42" in str(error) and "run neckwork log" in str(error)
            refused.append(number)
    assert refused == [4]
