"""A log that cannot be written in the middle of a sitting: every grade is kept in hand, shown, and tried again."""

from __future__ import annotations

import sqlite3

import pytest

from drills.cli.rescue import rescue
from drills.errors import SettingsError
from scheduler.errors import LogError
from scheduler.log.interchange import import_file
from scheduler.log.review_log import ReviewLog


@pytest.fixture
def locked(sitting, tmp_path):
    """A sitting whose log another program holds after the second card, and the hold on it."""
    one = sitting()
    one.start()
    one.play()
    one.play()
    one.log.wait_at_most(0.05)
    other = sqlite3.connect(one.log.path, isolation_level=None, timeout=0)
    other.execute("BEGIN IMMEDIATE")
    yield one, other
    other.close()


def graded(log):
    """The ids of the reviews of a log."""
    return [one.id for one in log.reviews()]


def test_what_a_locked_log_does_not_take_is_kept_and_written_when_it_can_be(locked):
    """Three cards under the lock: the note counts them, the planner goes on; then all are there, in order."""
    one, other = locked
    before = graded(one.log)
    for _ in range(3):
        one.play()
    assert graded(one.log) == before
    assert "not written yet" in one.state.note
    assert "another program holds the log" in one.state.note
    waiting = [body.id for body, _ in one.drill.writer.waiting]
    assert len(waiting) >= 3
    other.execute("ROLLBACK")
    one.press("?")
    assert one.drill.writer.waiting == ()
    assert graded(one.log) == [*before, *waiting]


def test_a_review_whose_commit_came_through_is_not_written_twice(sitting, monkeypatch):
    """A failing sync may come after the bytes are there: the second try looks first."""
    one = sitting()
    one.start()
    append, failures = one.log.append, [1]

    def written_but_failing(body, at):
        event = append(body, at)
        if failures:
            failures.pop()
            raise LogError("log: cannot write (disk I/O error)")
        return event

    monkeypatch.setattr(one.log, "append", written_but_failing)
    one.play()
    one.play()
    assert one.drill.writer.waiting == ()
    assert len(graded(one.log)) == len(set(graded(one.log))) > 1


def test_what_is_never_written_goes_into_a_file_to_import(locked, tmp_path):
    """Nothing is dropped when the sitting ends under the lock: the file brings it all into the log."""
    one, other = locked
    one.play()
    one.play()
    waiting = [body.id for body, _ in one.drill.writer.waiting]
    path = rescue(one.drill.writer.waiting, tmp_path / "log.sqlite3")
    other.execute("ROLLBACK")
    with ReviewLog(one.log.path) as log:
        import_file(log, path, now=one.clock())
        assert set(waiting) <= set(graded(log))


def test_where_no_place_takes_a_file_the_events_are_said_as_one(locked, tmp_path, monkeypatch):
    """The refusal ends with the document on one line, which an import takes as it stands."""
    one, other = locked
    one.play()
    one.play()
    waiting = one.drill.writer.waiting
    nowhere = tmp_path / "gone"
    monkeypatch.setattr("tempfile.tempdir", str(nowhere))
    with pytest.raises(SettingsError, match=r"no place to write to; .* neckwork import takes it in") as told:
        rescue(waiting, nowhere / "log.sqlite3")
    (document,) = str(told.value).splitlines()[1:]
    copied = tmp_path / "copied.json"
    copied.write_text(document, encoding="utf-8")
    other.execute("ROLLBACK")
    with ReviewLog(one.log.path) as log:
        import_file(log, copied, now=one.clock())
        assert {body.id for body, _ in waiting} <= set(graded(log))
