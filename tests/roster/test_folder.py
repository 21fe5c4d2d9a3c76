"""What a folder may hold: good files in every format, and bad ones that are named and passed over."""

from __future__ import annotations

import io
import tempfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import SettingsError
from drills.roster.folder import read_folder
from drills.roster.roster_sheet import make_sheet
from scheduler.log.events import Event, Undo, as_us
from scheduler.log.interchange import read_events
from scheduler.log.interchange_json import write_json
from scheduler.log.review_log import ReviewLog
from scheduler.statistics.counts import Count
from tests.log_exports import export_csv


def test_json_csv_and_a_log_say_the_same(send, played, tmp_path, today):
    """One history in three formats gives the same numbers, in whichever format it comes."""
    events = played("m7", "432", "lfcctc", 1)
    one = send("a.json", events) / "a.json"
    out = io.StringIO(newline="")
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        log.add(read_events(one.read_bytes(), "a", log.id))
        export_csv(log, out)
    found = []
    for name, content in (
        ("json", one.read_bytes()),
        ("csv", out.getvalue().encode()),
        ("log", (tmp_path / "log.sqlite3").read_bytes()),
    ):
        (tmp_path / name).mkdir()
        (tmp_path / name / "a.file").write_bytes(content)
        read = read_folder(tmp_path / name)
        assert read.passed == ()
        found += make_sheet(read, today).students
    assert [(one.month, one.days_of_7, one.new_shapes) for one in found] == [(Count(4, 6), 1, 1)] * 3


def test_copies_of_one_log_count_once_and_the_newer_wins(send, played, tmp_path, today):
    """By the log's id, or by the reviews where a table names no log; older files are named, the short name stays."""
    early, late = played("m7", "432", "lc", 3), played("m7", "432", "cc", 1)
    folder = send("Student 3.json", early)
    with ReviewLog(tmp_path / "whole.sqlite3") as log:
        log.add(read_events((folder / "Student 3.json").read_bytes(), "3", log.id))
        log.add([replace(one, log="5" * 24) for one in late])
        with (folder / "Student 3 (1).csv").open("w", encoding="utf-8", newline="") as out:
            export_csv(log, out)
    send("Student 5.json", played("7", "654", "c", 1))
    read = read_folder(folder)
    assert {name: len(log.state.reviews) for name, log in read.logs.items()} == {"Student 3": 4, "Student 5": 1}
    assert [(one.file, one.reason) for one in read.passed] == [
        ("Student 3.json", "holds the same log as Student 3 (1).csv, which is newer and counts alone")
    ]
    own = (folder / "Student 3.json").read_text(encoding="utf-8")
    (folder / "Student 3 copy.json").write_text(own, encoding="utf-8")
    (folder / "Student 3 (1).csv").unlink()
    read = read_folder(folder)
    assert {name: len(log.state.reviews) for name, log in read.logs.items()} == {"Student 3": 2, "Student 5": 1}
    assert len(read.passed) == 1 and "the same log as" in read.passed[0].reason


def test_a_log_joined_with_another_machine_s_is_still_the_student_s(send, played, tmp_path):
    """The old machine's file and the joined one of the new machine, where most was written, are one student's."""
    old, new = played("m7", "432", "lcc", 9), played("m7", "432", "cccccc", 1)
    folder = send("Student 1 old.json", old)
    with (folder / "Student 1.json").open("w", encoding="utf-8") as out:
        write_json([*(replace(one, log="1" * 24) for one in old), *(replace(one, log="2" * 24) for one in new)], out)
    send("Student 2.json", played("m7", "432", "lcc", 9))
    read = read_folder(folder)
    assert {name: len(log.state.reviews) for name, log in read.logs.items()} == {"Student 1": 9, "Student 2": 3}
    assert [one.file for one in read.passed] == ["Student 1 old.json"]


def test_nothing_that_happened_after_the_day_is_read(send, played, said, today):
    """Reviews, questions, cards set aside and what was taken back later are as if they had not been."""
    first = played("m7", "432", "lcc", 5)
    undone = Event("u" * 24, "a" * 24, as_us(first[0].at) + 2 * 86_400_000_000, first[0].at + timedelta(days=2),
                   Undo(first[0].id))  # fmt: skip
    folder = send(
        "a.json", first, played("7", "654", "llll", 1), said("why?", days_ago=1), said(None, "7", "654", 1, 1), [undone]
    )
    then = today - timedelta(days=4)
    (one,) = make_sheet(read_folder(folder, then), then).students
    assert (one.month, one.questions, one.rested) == (Count(2, 3), (), 0)
    (one,) = make_sheet(read_folder(folder, today), today).students
    assert (one.month.tries, len(one.questions), one.rested) == (6, 1, 1)


def test_two_files_of_one_name_are_one_student(send, played, today):
    """What both files hold counts once."""
    both, later = played("m7", "432", "lc", 3), played("m7", "432", "cc", 1)
    folder = send("Student 3.json", both)
    send("Student 3.log", both, later)
    students = make_sheet(read_folder(folder), today).students
    assert [(one.name, one.month) for one in students] == [("Student 3", Count(3, 4))]


def test_bad_foreign_and_half_written_files_are_named_and_the_rest_goes_on(send, played, today):
    """Every bad file is named with a reason in one line that repeats no folder; hidden files are no one's."""
    folder = send("good.json", played("m7", "432", "lc", 1))
    whole = (folder / "good.json").read_text(encoding="utf-8")
    bad = {
        "half.json": whole[: len(whole) // 2].encode(),
        "letter.txt": "Dear teacher, I practised.".encode("utf-16"),
        "empty.json": b"",
        "photo.jpg": bytes(range(256)),
        "other.json": b'{"format": "shopping", "items": []}',
        "other.csv": b"date,amount\r\n2031-05-01,3\r\n",
        "deep.json": b'{"a":' * 5000,
        "log.sqlite3": b"SQLite format 3\0" + b"\xff" * 4096,
    }
    for name, content in bad.items():
        (folder / name).write_bytes(content)
    (folder / ".hidden").write_bytes(b"x")
    (folder / "old").mkdir()
    read = read_folder(folder)
    assert list(read.logs) == ["good"]
    assert {one.file for one in read.passed} == set(bad)
    for one in read.passed:
        assert one.reason and "\n" not in one.reason and str(folder) not in one.reason, one


def test_a_folder_that_is_not_there_is_one_clear_error(tmp_path):
    """The error names the folder and what to give."""
    with pytest.raises(SettingsError, match=r"nowhere: cannot be read .*exported files"):
        read_folder(tmp_path / "nowhere")


@settings(max_examples=150)
@given(content=st.binary(max_size=60) | st.text(max_size=60).map(str.encode), cut=st.integers(0, 400))
def test_any_file_is_read_or_named(content, cut):
    """Whatever lies in the folder is a student's or is passed over with one printable line, and the next is read."""
    whole = b'{"format": "review-log", "version": 1, "events": [\n]}\n'
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "a.json").write_bytes(whole[:cut] + content)
        (Path(folder) / "b.json").write_bytes(whole)
        read = read_folder(folder)
    assert "b" in read.logs
    assert ("a" in read.logs) != ("a.json" in {one.file for one in read.passed})
    assert all(one.reason.isprintable() and one.reason for one in read.passed)


def test_what_a_phone_saves_day_by_day_is_one_student_s(send, played, today):
    """Each page has a log of its own; name and date tell whose it is, and what a browser adds to a second download."""
    send("Student 1.json", played("m7", "432", "cc", 3))
    send("Student 1-2031-05-12.json", played("m7", "432", "cl", 2))
    send("Student 1-2031-05-13 (1).json", played("m7", "432", "ccc", 1))
    send("2031-05-13.json", played("7", "432", "c", 1))
    send("Student 10-2031-05-13.json", played("7", "432", "c", 1))
    read = read_folder(send("Student 2.json", played("m7", "432", "c", 1)), today)
    assert set(read.logs) == {"Student 1", "Student 2", "Student 10", "2031-05-13"}
    assert len(read.logs["Student 1"].state.reviews) == 7 and not read.passed
