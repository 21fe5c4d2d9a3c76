"""`neckwork log`: mending, copies."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from scheduler.grade import Grade
from scheduler.log.copies import copies_of
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
