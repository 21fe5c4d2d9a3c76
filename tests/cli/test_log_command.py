"""`neckwork log`, and what every command does about a log that is lost."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from scheduler.grade import Grade
from scheduler.log.copies import copies_of, keep_copy
from scheduler.log.events import LATEST_STAMP_US, Event
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def test_the_command_mends_a_log_and_keeps_a_copy(neckwork, tmp_path):
    """After it, the export of the log is taken by another machine; the log as it was lies beside it."""
    home = tmp_path / "home"
    with ReviewLog(home / "log.sqlite3") as log:
        log.add([Event("r0", "other", LATEST_STAMP_US, NOW, Review("c", Grade.CLEAN, NOW, 3.0, id="r0"))])
    ran = neckwork("log", "mend")
    assert (ran.code, ran.out[:8]) == (0, "1 stamps")
    [copy] = copies_of(home / "log.sqlite3")
    assert str(copy) in ran.out
    with ReviewLog(copy, writable=False) as kept:
        assert [event.stamp_us for event in kept.events()] == [LATEST_STAMP_US]
    assert neckwork("export", "-o", str(tmp_path / "out.json")).code == 0
    assert json.loads((tmp_path / "out.json").read_text())["events"][0]["stamp"].startswith("2026-03-02")
    assert "nothing to mend" in neckwork("log", "mend").out
    assert len(copies_of(home / "log.sqlite3")) == 1


COMMANDS_ON_A_LOG = (
    ("export",),
    ("export", "--format", "csv"),
    ("progress",),
    ("wake",),
    ("session", "--plain"),
    ("shape", "Cm7"),
    ("log", "mend"),
    ("import", "other.json"),
)


@pytest.mark.parametrize("args", COMMANDS_ON_A_LOG, ids=" ".join)
@pytest.mark.parametrize("gone", [False, True], ids=["empty", "gone"])
def test_nothing_begins_anew_over_a_lost_log(neckwork, tmp_path, gone, args):
    """Zero bytes, or no file, beside what the log taught: exit 1, what is missing and the newest copy named."""
    path = tmp_path / "home" / "log.sqlite3"
    with ReviewLog(path) as log:
        log.record(Review("c", Grade.CLEAN, NOW, 3.0))
        copy = keep_copy(log, NOW)
    (tmp_path / "home" / "log.memory").write_bytes(b"kept")
    path.write_bytes(b"")
    if gone:
        path.unlink()
    ran = neckwork(*args)
    assert (ran.code, ran.out) == (1, "")
    assert ("is not there" if gone else "is empty") in ran.err
    assert "log.memory" in ran.err
    assert str(copy) in ran.err
    assert path.exists() != gone
    assert gone or path.read_bytes() == b""
    copy.replace(path)
    assert neckwork("export").code == 0


def test_an_empty_file_that_nothing_came_from_becomes_a_log(neckwork, tmp_path):
    """As made by hand before the first session."""
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "log.sqlite3").touch()
    assert neckwork("export").code == 0
