"""`neckwork log`, and what every command does about a log that is lost."""

from __future__ import annotations

import io
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


@pytest.fixture
def sent(tmp_path):
    """A file from another machine: one review, and the undo of one called r0."""
    with ReviewLog(tmp_path / "sent.sqlite3") as log:
        log.record(Review("c", Grade.CLEAN, NOW, 3.0, id="r1"))
        log.undo("r0", NOW)
    return str(tmp_path / "sent.sqlite3")


@pytest.fixture
def own(tmp_path):
    """The player's log with one review."""
    path = tmp_path / "home" / "log.sqlite3"
    with ReviewLog(path) as log:
        log.record(Review("c", Grade.CLEAN, NOW, 3.0, id="r0"))
    return path


def reviews(path):
    """The ids of the reviews in effect."""
    with ReviewLog(path, writable=False) as log:
        return [one.id for one in log.reviews()]


@pytest.mark.parametrize("name", ["import", "join"])
def test_without_a_terminal_nothing_is_taken_in_unless_yes_is_said(neckwork, own, sent, name):
    """Exit 2, what would change said, the file byte for byte what it was; with --yes it is done, after a copy."""
    before = own.read_bytes()
    ran = neckwork(name, sent)
    assert ran.code == 2
    assert "takes back 1 of what is in your log" in ran.out
    assert "--yes" in ran.err
    assert own.read_bytes() == before
    assert copies_of(own) == []
    assert neckwork(name, "--yes", sent).code == 0
    assert reviews(own) == ["r1"]
    [copy] = copies_of(own)
    assert reviews(copy) == ["r0"]
    again = neckwork(name, sent)
    assert (again.code, again.out) == (0, f"{sent}: 0 new, 2 known already\n")


def test_no_log_is_made_for_a_question(neckwork, sent, tmp_path):
    """A first import that nobody confirms leaves no file behind."""
    assert neckwork("import", sent).code == 2
    assert not (tmp_path / "home" / "log.sqlite3").exists()


@pytest.mark.parametrize(("answer", "left"), [("n\n", ["r0"]), ("\n", ["r0"]), ("y\n", ["r1"])])
def test_on_a_terminal_it_asks(neckwork, own, sent, monkeypatch, answer, left):
    """Only a clear yes takes a file in."""
    terminal = io.StringIO(answer)
    terminal.isatty = lambda: True
    monkeypatch.setattr("sys.stdin", terminal)
    ran = neckwork("import", sent)
    assert ran.code == 0
    assert "is it yours" in ran.out
    assert reviews(own) == left


def test_an_import_is_taken_back_by_one_event_and_counts_again_when_asked(neckwork, own, sent):
    """What was graded in between stays; the list says which import was taken back."""
    neckwork("import", "--yes", sent)
    with ReviewLog(own) as log:
        log.record(Review("c", Grade.CLEAN, NOW, 3.0, id="r2"))
        written = log.fingerprint().last_seq
    assert "2 events" in neckwork("log", "back", "--list").out
    assert neckwork("log", "back").code == 0
    assert reviews(own) == ["r0", "r2"]
    with ReviewLog(own) as log:
        assert log.fingerprint().last_seq == written + 1
    assert "taken back" in neckwork("log", "back", "--list").out
    assert neckwork("log", "back").code == 1
    assert neckwork("log", "back", "1", "--again").code == 0
    assert reviews(own) == ["r1", "r2"]


def test_the_log_is_checked(neckwork, own):
    """A whole log says so, with what counts and its copies; one flipped byte in a review is told with exit code 1."""
    with ReviewLog(own) as log:
        log.rest("c", NOW)
        log.flag("c", "why?", NOW)
        log.rest("d", NOW)
        log.wake("c", NOW)
        copy = keep_copy(log, NOW)
    ran = neckwork("log")
    assert ran.code == 0
    assert "5 events" in ran.out
    assert "whole; 1 reviews count" in ran.out
    assert "beside them stand 0 lessons, 1 cards at rest, 0 kept fingerings, 1 questions" in ran.out
    assert str(copy) in ran.out
    damaged = own.read_bytes().replace(b"first", b"worst")
    assert damaged != own.read_bytes()
    own.write_bytes(damaged)
    ran = neckwork("log")
    assert ran.code == 1
    assert "damaged" in ran.out


def test_a_log_with_a_page_of_zeros_is_damaged(neckwork, own):
    """SQLite's own check, or its refusal to open the file, is told."""
    content = bytearray(own.read_bytes())
    content[4096 : 3 * 4096] = bytes(2 * 4096)
    own.write_bytes(content)
    ran = neckwork("log")
    assert ran.code == 1
    assert "fault inside" not in ran.err
