"""`progress`, `export`, `import` and `join` as typed."""

from __future__ import annotations

import csv
import io
import json
import re
import time

import icalendar
import pexpect
import pytest

from drills.exports.export_formats import CARD_COLUMNS
from drills.progress.statistics_tables import CSV_COLUMNS
from scheduler.log.interchange_csv import COLUMNS
from scheduler.log.review_log import ReviewLog
from tests.log_exports import export_json
from tests.program import NECKWORK
from tests.progress.pages import check_page
from tests.progress.players import START, played
from tests.progress.test_report import twenty

DAY = "2024-03-04"


@pytest.fixture
def with_log(tmp_path):
    """A function that gives the player a log of reviews."""

    def fill(reviews, name="home/log.sqlite3"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with ReviewLog(path) as log:
            for one in reviews:
                log.record(one)
        return path

    return fill


def test_twenty_grades_reconcile_from_end_to_end(neckwork, with_log, tmp_path):
    """drills/RULES.md, G25: screen, JSON and CSV say 12 of 20, the export has the 20 rows, and comes back."""
    with_log(twenty())
    assert "12 of 20" in neckwork("progress", "--on", DAY).out
    report = json.loads(neckwork("progress", "--on", DAY, "--json").out)
    assert (report["first_try_clean"]["clean"], report["first_try_clean"]["tries"]) == (12, 20)
    rows = list(csv.DictReader(io.StringIO(neckwork("progress", "--on", DAY, "--csv").out)))
    assert sum(int(row["tries"]) for row in rows if row["group"] == "place") == 20
    assert neckwork("export", "--format", "csv", "-o", str(tmp_path / "r.csv")).err.startswith("22 reviews written")
    rows = csv.DictReader(io.StringIO((tmp_path / "r.csv").read_bytes().decode()))
    graded = [row["grade"] for row in rows if row["grade"]]
    assert [graded.count(grade) for grade in "1234"] == [2, 6, 9, 3]
    other = str(tmp_path / "other.sqlite3")
    taken = neckwork("import", "--yes", str(tmp_path / "r.csv"), "--log", other).out
    assert taken.splitlines()[0].endswith("22 new, 0 known already")
    assert (
        neckwork("progress", "--on", DAY, "--log", other, "--json").out
        == neckwork("progress", "--on", DAY, "--json").out
    )


@pytest.mark.parametrize("zone", ["Pacific/Midway", "UTC", "Asia/Kathmandu", "Pacific/Kiritimati"])
def test_a_day_gone_by_ends_where_it_was_played(neckwork, with_log, monkeypatch, zone):
    """--on counts the tries of that practice day by the player's own clock, wherever the log is read."""
    with_log(twenty())
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        told = [neckwork("progress", "--on", day).out for day in ("2024-03-03", DAY, "2024-03-05")]
    finally:
        monkeypatch.undo()
        time.tzset()
    assert told[0] == "Nothing was graded up to 3 March 2024.\n"
    assert "12 of 20" in told[1]
    assert "12 of 20" in told[2]


def test_progress_writes_page_and_calendar(neckwork, with_log, tmp_path):
    """--html and --ics write their files, name them on standard error and print nothing else."""
    with_log(played(3))
    neckwork("setup", "--days", "weekdays")
    page, ics = tmp_path / "p.html", tmp_path / "p.ics"
    ran = neckwork("progress", "--on", "2024-04-10", "--html", str(page), "--ics", str(ics), "--at", "18:30",
                   "--away", "2024-04-15..2024-04-19")  # fmt: skip
    assert (ran.code, ran.out) == (0, "")
    check_page(page.read_text(encoding="utf-8"))
    (event,) = icalendar.Calendar.from_ical(ics.read_bytes()).walk("VEVENT")
    assert event["RRULE"]["BYDAY"] == ["MO", "TU", "WE", "TH", "FR"]
    assert len(event["EXDATE"]) == 5


def test_the_days_ahead_come_with_their_range(neckwork, with_log):
    """--ahead lists the practice days of so many days, each expectation with low and high."""
    with_log(played(3))
    neckwork("setup", "--days", "not Sundays")
    ran = neckwork("progress", "--on", "2024-04-10", "--ahead", "7")
    assert len([line for line in ran.out.splitlines() if " to " in line and "2024-04" in line]) == 6
    found = json.loads(neckwork("progress", "--on", "2024-04-10", "--ahead", "7", "--json").out)["ahead"]
    assert [one["day"] for one in found][:5] == [f"2024-04-{day}" for day in (11, 12, 13, 15, 16)]
    assert all(one["low"] <= one["expected"] <= one["high"] <= one["cards"] for one in found)


def test_asked_for_nonsense_is_one_line(neckwork, with_log):
    """Wrong usage ends with 2, something that is not there with 1, and no traceback."""
    for args, code in (
        (("progress", "--on", "yesterday"), 2),
        (("progress", "--json", "--csv"), 2),
        (("progress", "--at", "18:30"), 2),
        (("progress", "--ics", "x.ics", "--at", "noon"), 2),
        (("progress", "--away", "soon"), 2),
        (("progress", "--ahead", "5"), 0),
        (("export",), 1),
        (("import", "nowhere.json"), 1),
        (("join", "nowhere.sqlite3"), 1),
    ):
        ran = neckwork(*args)
        assert ran.code == code, (args, ran)
        assert "Traceback" not in ran.err
    with_log(played(3, 3))
    assert neckwork("progress", "--on", DAY, "--ahead", "5", "--away", "soon").code == 2
    assert neckwork("export", "--since", "soon").code == 2
    assert neckwork("export", "--quality", "junk7").code == 1
    assert neckwork("progress", "--html", "/nowhere/p.html").code == 1


def test_export_takes_a_part(neckwork, with_log):
    """Deck, sets, qualities and days narrow what is written."""
    with_log(played(3))
    whole = neckwork("export", "--format", "csv").out.count("\n")
    part = list(
        csv.DictReader(io.StringIO(neckwork("export", "--format", "csv", "--strings", "543", "--quality", "m7,7").out))
    )
    assert 0 < len(part) < whole
    assert {(row["set"], row["quality"]) for row in part} == {("543", "m7"), ("543", "7")}
    deck = list(csv.DictReader(io.StringIO(neckwork("export", "--format", "csv", "--deck", "set-432").out)))
    assert {row["set"] for row in deck} == {"432"}
    days = list(
        csv.DictReader(
            io.StringIO(neckwork("export", "--format", "csv", "--since", "2024-03-10", "--until", "2024-03-12").out)
        )
    )
    assert {row["time"][:10] for row in days} <= {"2024-03-10", "2024-03-11", "2024-03-12"}


def test_joining_is_the_same_in_any_order(neckwork, with_log, tmp_path):
    """Two logs joined into a third, in either order and twice, give one state, both sides' undo kept."""
    one, two = with_log(played(1, 4), "one.sqlite3"), with_log(played(2, 4), "two.sqlite3")
    with ReviewLog(one) as log:
        log.undo(next(log.reviews()).id, START)
    with ReviewLog(two) as log:
        log.undo(next(log.reviews()).id, START)
    states = []
    for order in ((one, two), (two, one, two)):
        path = tmp_path / f"joined{len(order)}.sqlite3"
        assert neckwork("join", "--yes", *map(str, order), "--log", str(path)).code == 0
        with ReviewLog(path) as log:
            out = io.StringIO()
            export_json(log, out)
            states.append((log.state(), out.getvalue()))
    assert states[0] == states[1]
    assert len(states[0][0].reviews) == len(played(1, 4)) + len(played(2, 4)) - 2


def test_a_bar_is_drawn_on_a_terminal_only(with_log, tmp_path):
    """Writing to a file shows a bar on a terminal; in a pipe nothing but the log comes out."""
    import os
    import subprocess

    with_log(played(3, 6))
    environ = {**os.environ, "NECKWORK_HOME": str(tmp_path / "home"), "TERM": "xterm"}
    command = [*NECKWORK, "export", "-o", str(tmp_path / "log.json")]
    child = pexpect.spawn(command[0], command[1:], env=environ, encoding="utf-8", timeout=30)
    child.expect(pexpect.EOF)
    assert "writing" in child.before
    piped = subprocess.run(command[:-2], env=environ, capture_output=True, text=True, check=True)
    assert piped.stderr == ""
    json.loads(piped.stdout)


@pytest.mark.parametrize(("command", "columns"), [("progress", CSV_COLUMNS), ("export", (*COLUMNS, *CARD_COLUMNS))])
def test_every_column_is_in_the_help(neckwork, command, columns):
    """Whoever opens a table finds what each column is called by asking the command that wrote it."""
    words = set(re.findall(r"\w+", neckwork(command, "--help").out))
    assert set(columns) <= words


def test_a_file_is_replaced_whole_and_never_the_log(neckwork, with_log, tmp_path, monkeypatch):
    """Writing over the log is refused; an export that fails half-way leaves the file that was there, and no scraps."""
    path = with_log(played(3, 4))
    before = path.read_bytes()
    for args in (("export", "-o"), ("progress", "--html"), ("progress", "--ics")):
        ran = neckwork(*args, str(path))
        assert (ran.code, ran.out) == (1, "") and "this is a log of reviews; write to another file" in ran.err
    assert path.read_bytes() == before
    old = tmp_path / "reviews.csv"
    old.write_text("last month's")

    def full(*_args, **_more):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("scheduler.log.interchange_csv.write_csv", full)
    ran = neckwork("export", "--format", "csv", "-o", str(old))
    assert ran.code == 1 and f"{old}: No space left on device" in ran.err
    assert old.read_text() == "last month's"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["home", "reviews.csv"]
