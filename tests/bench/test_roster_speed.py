"""How fast a folder of two hundred students becomes a sheet, ten broken files among them."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from random import Random

from drills.roster.folder import read_folder
from drills.roster.roster_files import sheet_text
from drills.roster.roster_sheet import make_sheet
from scheduler.grade import Grade
from scheduler.log.events import Event, as_us
from scheduler.log.interchange_json import write_json
from scheduler.review import Review

STUDENTS, BROKEN, REVIEWS = 200, 10, 250
START = datetime(2031, 1, 6, 18, tzinfo=UTC)


def write(path, seed: int) -> None:
    """One student's export of `REVIEWS` reviews in ten weeks."""
    rng, events = Random(seed), []
    for number in range(REVIEWS):
        at = START + timedelta(days=number * 70 // REVIEWS, seconds=30 * number)
        place = f"{rng.choice(('C', 'F', 'Bb'))}/{rng.choice(('m7', '7'))}/{rng.choice(('654', '432'))}"
        named = f"E2A2D3G3B3E4/arpeggio/{place}/name"
        one = Review(
            named, rng.choice(tuple(Grade)), at, 5.0, skills=("form:a", "root:C@6E2"), id=f"{seed:012x}{number:012x}"
        )
        events.append(Event(one.id, f"{seed:024x}", as_us(at), at, one))
    with path.open("w", encoding="utf-8") as out:
        write_json(events, out)


def test_two_hundred_students_ten_of_them_broken(tmp_path, capsys):
    """The ten are named, the others added up, and twice the students cost about twice the time."""
    times = {}
    for students in (STUDENTS // 2, STUDENTS):
        folder = tmp_path / str(students)
        folder.mkdir()
        for number in range(students):
            path = folder / f"Student {number + 1}.json"
            write(path, number)
            if number < BROKEN:
                path.write_bytes(path.read_bytes()[: 1000 + number])
        before = time.process_time()
        sheet = make_sheet(read_folder(folder), (START + timedelta(days=70)).date())
        text = sheet_text(sheet)
        times[students] = time.process_time() - before
        assert len(sheet.students) == students - BROKEN
        assert {one.file for one in sheet.passed} == {f"Student {number + 1}.json" for number in range(BROKEN)}
        assert all(f"Student {number + 1}.json" in text for number in range(BROKEN))
    with capsys.disabled():
        print(f"\n  roster of {STUDENTS} students with {REVIEWS} reviews each: {times[STUDENTS]:.2f} s CPU; goal 5 s")
    assert times[STUDENTS] < 5 * times[STUDENTS // 2]
