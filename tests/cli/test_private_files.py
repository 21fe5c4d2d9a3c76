"""Files of the player's own: for nobody else to read, whole on the disk, and no litter of killed programs."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from scheduler.atomic_write import atomic_write, write_whole
from scheduler.grade import Grade
from scheduler.log.copies import keep_copy
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
OPEN_TO_ALL = 0o022


@pytest.fixture(autouse=True)
def usual_mask():
    """The usual mask of new files, under which everyone may read."""
    before = os.umask(OPEN_TO_ALL)
    yield
    os.umask(before)


def rights(path):
    """The permission bits of a file."""
    return stat.S_IMODE(path.stat().st_mode)


def test_the_home_is_for_the_player_alone(neckwork, tmp_path):
    """Folder 0700 and every file in it 0600, with those that SQLite lays beside the log while it is open."""
    home = tmp_path / "home"
    assert neckwork("setup", "--minutes", "10").code == 0
    with ReviewLog(home / "log.sqlite3") as log:
        log.record(Review("c", Grade.CLEAN, NOW, 3.0))
        keep_copy(log, NOW)
        assert neckwork("decks", "new", "mine", "--quality", "m7").code == 0
        found = sorted(home.rglob("*"))
        assert {"log.sqlite3", "log.sqlite3-wal", "log.sqlite3-shm", "settings.toml"} <= {one.name for one in found}
        wrong = {str(one): oct(rights(one)) for one in found if rights(one) != (0o700 if one.is_dir() else 0o600)}
        assert wrong == {}
    assert rights(home) == 0o700


def test_a_file_that_is_there_keeps_its_rights(tmp_path):
    """Writing over a file makes it neither more nor less open; a new one that is not private has the usual rights."""
    path = tmp_path / "out.txt"
    write_whole(path, "one")
    assert rights(path) == 0o644
    path.chmod(0o640)
    write_whole(path, "two", private=True)
    assert (rights(path), path.read_text()) == (0o640, "two")


def test_the_parts_of_dead_programs_are_cleared_and_no_others(tmp_path):
    """A part belongs to a process by its number: where that is no more, the next write clears it."""
    done = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, text=True)
    dead = tmp_path / f"out.txt.{int(done.stdout)}.part"
    alive = tmp_path / f"out.txt.{os.getppid()}.part"
    other = tmp_path / f"other.txt.{int(done.stdout)}.part"
    for one in (dead, alive, other):
        one.write_text("half")
    write_whole(tmp_path / "out.txt", "whole")
    assert sorted(one.name for one in tmp_path.iterdir()) == sorted(["out.txt", alive.name, other.name])


def test_file_and_folder_are_synced_before_a_file_counts_as_written(tmp_path, monkeypatch):
    """The file before it takes its name, the folder after."""
    done = []
    sync, replace = os.fsync, os.replace

    def noted_sync(handle):
        done.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        sync(handle)

    def noted_replace(*names):
        done.append("name")
        replace(*names)

    monkeypatch.setattr(os, "fsync", noted_sync)
    monkeypatch.setattr(os, "replace", noted_replace)
    write_whole(tmp_path / "out.txt", "whole")
    assert done == ["file", "name", "folder"]


def test_a_failing_sync_leaves_what_was_there(tmp_path, monkeypatch):
    """Named as the file was asked for; the old one is whole and nothing else lies about."""
    path = tmp_path / "out.txt"
    path.write_text("old")

    def failing(_handle):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(OSError, match=r"out\.txt'$"), atomic_write(path) as out:
        out.write("new")
    assert path.read_text() == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["out.txt"]


@pytest.mark.parametrize(
    "args", [("cards", "~x; y"), ("export", "-o", "~x; y"), ("export", "--log", "~nobody-here/log"), ("tune", "~x; y")]
)
def test_the_home_of_nobody_is_no_fault_inside_the_tool(neckwork, args):
    """A name that begins like a home folder: what it was taken for is said, and what to write instead."""
    ran = neckwork(*args)
    assert ran.code in (1, 2)
    assert "fault inside" not in ran.err
