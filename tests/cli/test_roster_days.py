"""The days of a student's counts are the student's own, whoever reads the file."""

from __future__ import annotations

import time
from datetime import datetime, timedelta, timezone

from drills.exports.export_formats import export
from drills.exports.log_part import LogPart
from drills.roster.folder import read_folder
from drills.roster.roster_sheet import make_sheet
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from scheduler.statistics.counts import Count
from scheduler.statistics.first_tries import first_tries
from tests.roster.conftest import TODAY, card_at


def test_a_student_s_days_are_the_student_s_own(tmp_path, neckwork, monkeypatch):
    """Sheet, page, term and handout of a student whose day begins at 20:00 in another zone are the same for every
    teacher, wherever the teacher is and whenever the teacher's day begins."""
    zone = timezone(timedelta(hours=-9))
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        for number, (clock, grade) in enumerate(
            (day + part, grade)
            for day in (timedelta(days=n) for n in range(6))
            for part, grade in ((timedelta(hours=19), 1), (timedelta(hours=21), 3), (timedelta(hours=25), 1))
        ):
            at = datetime(2031, 5, 5, tzinfo=zone) + clock
            log.record(Review(card_at(0, "m7", "432"), Grade(grade), at, 4.0, id=f"{number:024x}"))
        choice = LogPart(day_starts_at_hour=20.0)
        (tmp_path / "lessons").mkdir()
        for kind in ("json", "csv"):
            with (tmp_path / "lessons" / f"Student 1.{kind}").open("w", encoding="utf-8", newline="") as out:
                export(log, out, kind, choice)
        told = list(first_tries(log.reviews(), 20.0))
    clean = sum(one.grade.clean for one, _ in told)
    assert [one.month for one in make_sheet(read_folder(tmp_path / "lessons"), TODAY).students] == [
        Count(clean, len(told))
    ]
    said = set()
    for hour, zone_name in (("4", "UTC"), ("0", "Asia/Tokyo"), ("23", "America/Los_Angeles")):
        monkeypatch.setenv("TZ", zone_name)
        time.tzset()
        neckwork("setup", "--day-starts-at", hour)
        pages = []
        for more in ((), ("--student", "Student 1"), ("--student", "Student 1", "--term"),
                     ("--student", "Student 1", "--handout", str(tmp_path / "gap.txt"))):  # fmt: skip
            ran = neckwork("roster", str(tmp_path / "lessons"), "--on", TODAY.isoformat(), *more)
            assert ran.code == 0, ran.err
            pages.append(ran.out)
        pages.append((tmp_path / "gap.txt").read_text(encoding="utf-8"))
        said.add("\n".join(pages))
    monkeypatch.undo()
    time.tzset()
    assert len(said) == 1 and f"{clean} of {len(told)}" in said.pop()
