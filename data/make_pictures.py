"""Makes the pictures of data/pictures, from the year of Student 1, who is invented.

    python -m data.make_pictures [--folder data/pictures]

Each is what `neckwork progress --html` draws on that day. The same program draws the same bytes.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

from data.invented_students import FIRST_DAY, students
from data.make_demo_log import material_of, student_events
from drills.progress.ahead import days_ahead, read_memory
from drills.progress.pictures import ahead_picture, gaps_picture, map_picture, weeks_picture
from drills.progress.report_of_log import read_report
from scheduler.days.calendar import read_zone
from scheduler.log.events import Event
from scheduler.log.review_log import ReviewLog

__all__ = ["demo_pictures"]

EARLY_DAYS, LATER_DAYS = 8, 150
"""The map is drawn when the neck is half filled in, the rest when there is something to compare."""


def demo_pictures(events: Iterable[Event]) -> dict[str, str]:
    """The pictures by file name."""
    zone = read_zone("Europe/Berlin")
    early, later = (
        datetime.combine(FIRST_DAY + timedelta(days=days), datetime.min.time(), zone) + timedelta(hours=23)
        for days in (EARLY_DAYS, LATER_DAYS)
    )
    with ReviewLog(":memory:") as log:
        log.add(events)
        reviews = [review for review in log.reviews() if review.at <= later]
        half, whole = read_report(log, early, 4.0), read_report(log, later, 4.0)
    remembered = read_memory(reviews)
    days = [later.date() + timedelta(days=number) for number in range(1, 57)]
    return {
        "neck.svg": map_picture(half, half.qualities[0], 0),
        "days-away.svg": gaps_picture(whole),
        "time-to-reveal.svg": weeks_picture(whole.weeks, "name"),
        "weeks-ahead.svg": ahead_picture(days_ahead(remembered.memory, remembered.skills, days, later)),
    }


def main() -> None:
    """Writes the pictures and says where."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--folder", type=Path, default=Path(__file__).resolve().parent / "pictures")
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    student = students(days=LATER_DAYS + 1)[0]
    for name, text in demo_pictures(student_events(student, material_of(student))).items():
        (folder / name).write_text(text + "\n", encoding="utf-8")
        print(folder / name)


if __name__ == "__main__":
    main()
