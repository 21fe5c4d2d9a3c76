"""A file that a command writes is there whole, or as it was before: also when the disk is full at the last byte."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime

import pytest

from scheduler.grade import Grade
from scheduler.log.interchange_json import write_json
from scheduler.log.review_log import ReviewLog
from scheduler.memory.refit import Refit, write_refit
from scheduler.review import Review

BLUES = "| F7 | Bb7 | F7 | Cm7 F7 |"


@pytest.fixture
def full(monkeypatch):
    """A disk that is full when a finished file is to take its place."""

    def no_room(_unfinished, _path):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", no_room)


@pytest.fixture
def lessons(tmp_path):
    """A teacher's folder with one student's file."""
    (tmp_path / "lessons").mkdir()
    with ReviewLog(":memory:") as log, (tmp_path / "lessons" / "Student 1.json").open("w", encoding="utf-8") as out:
        log.record(Review("E2A2D3G3B3E4/arpeggio/C/m7/543/name", Grade.CLEAN, datetime(2026, 3, 2, tzinfo=UTC), 3.0))
        write_json(log.events(), out)
    return str(tmp_path / "lessons")


@pytest.mark.parametrize(
    "args",
    [
        ("shape", "Dm7", "--strings", "543", "--svg", "page.svg"),
        ("shape", "Dm7", "--strings", "543", "--pdf", "page.pdf"),
        ("shape", "Dm7", "--strings", "543", "--musicxml", "page.xml"),
        ("shape", "Dm7", "--strings", "543", "--midi", "page.mid"),
        *(("handout", "sets", "--quality", "m7", "-o", f"page.{ending}") for ending in ("pdf", "svg", "txt", "zip")),
        ("handout", "boxes", "-o", "page.pdf"),
        ("handout", "boxes", "-o", "page.svg"),
        *(("roster", "LESSONS", "--format", kind, "-o", f"page.{kind}") for kind in ("md", "html", "pdf")),
        ("etude", BLUES, "--musicxml", "page.xml"),
        ("etude", BLUES, "--pdf", "page.pdf"),
        ("progress", "--html", "page.html"),
    ],
)
def test_a_full_disk_leaves_what_was_there(neckwork, tmp_path, lessons, full, args):
    """Each format that a command writes: the old file stays, no scraps lie about, and one line names the file."""
    old = tmp_path / args[-1]
    old.write_text("last month's")
    ran = neckwork(*(lessons if one == "LESSONS" else one for one in args[:-1]), str(old))
    assert ran.code == 1
    assert str(old) in ran.err and "No space left on device" in ran.err
    assert old.read_text() == "last month's"
    assert [one.name for one in tmp_path.iterdir() if "part" in one.name] == []


@pytest.mark.parametrize("kind", ["csv", "json", "md", "html"])
def test_a_log_that_cannot_be_read_is_named_and_not_the_file_it_was_to_fill(neckwork, tmp_path, kind):
    """A row that another program has put in the log: the message has the log's name, and the old file stays."""
    log, old = tmp_path / "home" / "log.sqlite3", tmp_path / f"old.{kind}"
    log.parent.mkdir()
    ReviewLog(log).close()
    with closing(sqlite3.connect(log)) as other, other:
        other.execute(
            "INSERT INTO events (id, log, stamp_us, clock_us, offset_s, kind, card, grade, skills, seconds, attempt) "
            "VALUES ('x', 'y', 1, 1, 0, 'review', 'c', 9, '[]', 1.0, 'first')"
        )
    old.write_text("last month's")
    ran = neckwork("export", "--format", kind, "-o", str(old))
    assert ran.code == 1
    assert f"log {log}" in ran.err and "cannot read" in ran.err and "None" not in ran.err
    assert old.read_text() == "last month's"


def test_a_fit_is_kept_whole(tmp_path, full):
    """The constants that were kept stay when better ones cannot be written."""
    path = tmp_path / "constants.json"
    path.write_text("the old ones")
    with pytest.raises(OSError, match="No space left"):
        write_refit(path, Refit({"growth": 1.1}, 10, 5, 0.5, 0.4))
    assert [one.name for one in tmp_path.iterdir()] == ["constants.json"]
    assert path.read_text() == "the old ones"


def test_a_home_is_understood(neckwork, tmp_path, monkeypatch):
    """A tilde in a file's name is the player's own folder, for empty paper as for all else."""
    monkeypatch.setenv("HOME", str(tmp_path))
    for args in (
        ("handout", "boxes", "-o"), ("handout", "sets", "--quality", "m7", "-o"), ("shape", "Dm7", "--pdf"),
        ("progress", "--html"),
    ):  # fmt: skip
        assert neckwork(*args, "~/page.pdf").code == 0
        assert (tmp_path / "page.pdf").read_bytes()[:4] in (b"%PDF", b"<!DO")
        (tmp_path / "page.pdf").unlink()
