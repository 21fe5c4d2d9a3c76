"""What a folder may hold: good files in every format, and bad ones that are named and passed over."""

from __future__ import annotations

import io
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import SettingsError
from drills.roster.folder import read_folder
from drills.roster.roster_sheet import make_sheet
from scheduler.log.review_log import ReviewLog
from scheduler.statistics.counts import Count
from tests.log_exports import export_csv


def test_json_csv_and_a_log_say_the_same(send, played, tmp_path, today):
    """One history in three formats gives three students with the same numbers."""
    events = played("m7", "432", "lfcctc", 1)
    folder = send("json.json", events)
    with ReviewLog(folder / "log.sqlite3") as log:
        log.add(events)
        out = io.StringIO(newline="")
        export_csv(log, out)
    (folder / "csv.csv").write_text(out.getvalue(), encoding="utf-8", newline="")
    read = read_folder(folder)
    assert read.passed == ()
    students = make_sheet(read, today).students
    assert {one.name for one in students} == {"json", "csv", "log"}
    assert {(one.month, one.days_of_7, one.new_shapes) for one in students} == {(Count(4, 6), 1, 1)}


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
