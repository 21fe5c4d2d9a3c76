"""What is whole of a damaged log comes into a new one; nothing that was not written does."""

from __future__ import annotations

import errno
import os
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.atomic_write import atomic_database
from scheduler.errors import LogError
from scheduler.grade import Grade
from scheduler.log.copies import keep_copy
from scheduler.log.events import Later
from scheduler.log.review_log import ReviewLog
from scheduler.log.salvage import salvage
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
EVENTS = 300


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """A log closed in order, its bytes, its events by id, and its seal."""
    path = tmp_path_factory.mktemp("whole") / "log.sqlite3"
    with ReviewLog(path) as log:
        for n in range(EVENTS):
            log.record(Review(f"card-{n % 7}", Grade(n % 4 + 1), NOW + timedelta(minutes=n), 3.0, id=f"r{n}"))
        events = {event.id: event for event in log.events()}
    return path.read_bytes(), events, path.with_suffix(".seal").read_bytes()


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(where=st.integers(4_096, 40_000), length=st.integers(1, 6_000), byte=st.integers(0, 255))
def test_what_is_saved_was_written_and_what_is_lost_is_counted(whole, tmp_path_factory, where, length, byte):
    """A stretch of bytes overwritten anywhere past the first page: saved and lost add up, and every event saved is
    one that was written, unchanged."""
    content, events, seal = whole
    folder = tmp_path_factory.mktemp("hurt")
    path, new = folder / "log.sqlite3", folder / "new.sqlite3"
    hurt = content[:where] + bytes([byte]) * length + content[where + length :]
    path.write_bytes(hurt[: len(content)])
    path.with_suffix(".seal").write_bytes(seal)
    try:
        found = salvage(path, new)
    except LogError as error:
        assert "log.sqlite3" in str(error) and not new.exists()
        return
    with ReviewLog(new) as saved:
        kept = list(saved.events())
        assert saved.faults() == []
    assert len(kept) == found.saved
    assert [event for event in kept if events.get(event.id) != event] == []
    assert found.saved + found.lost == EVENTS
    assert path.read_bytes() == hurt[: len(content)]


def test_a_salvage_or_a_copy_that_ends_early_leaves_no_name_and_its_parts_are_cleared(whole, tmp_path, monkeypatch):
    """A half log under a good name would be taken for the whole one; what dead programs left goes, -wal and all."""
    content, events, _ = whole
    path, new = tmp_path / "log.sqlite3", tmp_path / "new.sqlite3"
    path.write_bytes(content)
    dead = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, text=True)
    copies = tmp_path / "copies"
    copies.mkdir()
    left = [
        tmp_path / f"new.sqlite3.{int(dead.stdout)}.part",
        copies / f"log-20260101T000000.sqlite3.{int(dead.stdout)}.part",
    ]
    for one in left:
        one.write_bytes(b"half")
        one.with_name(one.name + "-wal").write_bytes(b"half")

    def failing(_handle):
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as patched, ReviewLog(path) as log:
        patched.setattr(os, "fsync", failing)
        with pytest.raises(LogError, match=r"new\.sqlite3: cannot write .*Input/output error"):
            salvage(path, new)
        with pytest.raises(LogError, match=r"cannot copy .*Input/output error"):
            keep_copy(log, NOW)
    assert sorted(one.name for one in tmp_path.iterdir()) == ["copies", "log.seal", "log.sqlite3"]
    assert list(copies.iterdir()) == []
    assert salvage(path, new) == (len(events), 0)


def test_a_database_whose_last_pages_stay_beside_it_is_not_given_its_name(tmp_path):
    """SQLite says nothing when the checkpoint at closing fails, and leaves its write-ahead log."""
    path = tmp_path / "new.sqlite3"
    with pytest.raises(OSError, match=r"new\.sqlite3"), atomic_database(path) as part:
        part.write_bytes(b"SQLite format 3")
        part.with_name(part.name + "-wal").write_bytes(b"pages")
    assert list(tmp_path.iterdir()) == []


def test_a_whole_log_is_saved_whole(whole, tmp_path):
    """Every event, none lost; and a file that is there is never written over."""
    content, events, _ = whole
    path, new = tmp_path / "log.sqlite3", tmp_path / "new.sqlite3"
    path.write_bytes(content)
    assert salvage(path, new) == (EVENTS, 0)
    with ReviewLog(new) as saved:
        assert {event.id: event for event in saved.events()} == events
    with pytest.raises(LogError, match="exists already"):
        salvage(path, new)


def _change_a_grade(path):
    """As a flipped bit does: a row is not what was written, and its checksum stays."""
    with sqlite3.connect(path) as db:
        db.execute("DROP TRIGGER events_no_update")
        db.execute("DROP TRIGGER sums_of_events")
        db.execute("UPDATE events SET grade = 4 WHERE id = 'r5'")


def test_the_command_says_what_is_saved_and_what_to_do(neckwork, whole, tmp_path):
    """`neckwork log` names the fault and the way; `log salvage` leaves out the event that is not what was written."""
    home = tmp_path / "home"
    home.mkdir()
    path = home / "log.sqlite3"
    path.write_bytes(whole[0])
    with ReviewLog(path) as log:
        copy = keep_copy(log, NOW)
    _change_a_grade(path)
    ran = neckwork("log")
    assert ran.code == 1 and "neckwork log salvage" in ran.out and "'r5'" in ran.out and str(copy) in ran.out
    ran = neckwork("log", "salvage")
    new = home / "log-salvaged.sqlite3"
    assert ran.code == 0 and f"{new}: 299 events saved, 1 lost" in ran.out
    assert f"neckwork join --log {new} {copy}" in ran.out
    assert neckwork("join", "--yes", "--log", str(new), str(copy)).code == 0
    with ReviewLog(new) as saved:
        assert {event.id: event for event in saved.events()} == whole[1]


def test_events_of_a_newer_version_are_named(neckwork, tmp_path):
    """An invented kind of event is counted by `neckwork log`, and handed on by export and by salvage."""
    home = tmp_path / "home"
    with ReviewLog(home / "log.sqlite3") as log:
        log.append(Later("tap-along", '{"version": 7, "beats": [1, 2.5], "said": "é"}'), NOW)
    assert "1 events say what only a newer version knows" in neckwork("log").out
    assert '"beats": [1, 2.5]' in neckwork("export", "--format", "json").out
    assert neckwork("log", "salvage").code == 0
    with ReviewLog(home / "log-salvaged.sqlite3") as saved, ReviewLog(home / "log.sqlite3") as log:
        assert list(saved.events()) == list(log.events())
