"""What a folder may hold: good files in every format, and bad ones that are named and passed over."""

from __future__ import annotations

import io

import pytest

from drills.errors import SettingsError
from drills.roster.folder import read_folder
from drills.roster.sheet import make_sheet
from scheduler.counts import Count
from scheduler.interchange import export_csv
from scheduler.log import ReviewLog


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


def test_reading_tells_how_far_it_is(send, played):
    """Every file is told of, the last as all of them."""
    send("a.json", played("m7", "432", "c", 1))
    folder = send("b.json", played("m7", "432", "c", 1))
    told = []
    read_folder(folder, lambda done, whole: told.append((done, whole)))
    assert told == [(1, 2), (2, 2)]
