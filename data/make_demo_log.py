"""Makes the demonstration logs: a year of Student 1, a term of Students 2 to 20, all invented.

    python -m data.make_demo_log FOLDER [--seed 1] [--students 20] [--days 365] [--jobs 2]

writes "FOLDER/Student 1.json" and so on, as `neckwork export` writes them, for `neckwork import` and
`neckwork roster FOLDER`. The same seed gives the same bytes. Nobody played this: each student is a few numbers drawn
by chance (`data.invented_students`). All else is the tool's own: the session asks, the planner chooses, and what was
predicted before each try is the tool's memory, which sees only the grades.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from random import Random

from data.invented_students import FIRST_DAY, Body, Student, Try, students
from drills.cards.card import Card
from drills.cards.deck import find_deck, read_deck
from drills.cards.material import Material, gather
from drills.neck.neck import Neck
from drills.session.drill import CAUTION_TICKET, Drill
from drills.session.session_state import Phase
from scheduler.days.calendar import PracticeCalendar
from scheduler.grade import Grade
from scheduler.log.events import Event
from scheduler.log.interchange_json import write_json
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.review import Review

__all__ = ["material_of", "student_events", "write_students"]

ZONE = "Europe/Berlin"
TEMPO_BPM = 60.0
GRADE_KEYS = {Grade.LOOKED: "l", Grade.FOUND: "f", Grade.CLEAN: "c", Grade.IN_TIME: "t"}
_DAY_SECONDS = 86_400.0


def material_of(student: Student) -> Material:
    """What a student is asked, on the usual neck."""
    return gather(read_deck(find_deck(student.deck, None)), Neck())


def student_events(student: Student, material: Material, seed: int = 1) -> list[Event]:
    """Everything a student's log would hold, in order. material: not to be shared, a student may turn to fingerings."""
    rng = Random(f"{seed} {student.name}")
    body = Body(student, rng)
    calendar = PracticeCalendar("not Sundays", absences=student.away, zone=ZONE)
    with ReviewLog(":memory:") as log:
        planner = Planner(material.specs(), seed, rules=material.rules())
        for day in calendar.days(FIRST_DAY, FIRST_DAY + timedelta(days=student.days - 1)):
            if rng.random() < student.attends:
                hours = rng.choice((13.5, 14.5, 16, 17.5)) + rng.uniform(0, 0.6)
                at = (calendar.starts(day) + timedelta(hours=hours)).replace(microsecond=0)
                _Sitting(student, body, material, planner, log, at, rng).play()
        return renamed(log.events(), rng)


class _Sitting:
    """One session, played through its keys on a clock of its own."""

    def __init__(
        self, student: Student, body: Body, material: Material, planner: Planner, log: ReviewLog, at: datetime,
        rng: Random,
    ):  # fmt: skip
        self.body, self.rng, self.now = body, rng, at
        standing = log.standing()
        last = log.latest()
        planner.set_rules(material.rules(rested=standing.rested))
        self.drill = Drill(
            material, planner, log, lambda: self.now, minutes=student.minutes, tempo_of=lambda _: TEMPO_BPM,
            caution=CAUTION_TICKET not in standing.tickets, last=last.at if last else None, tickets=standing.tickets,
        )  # fmt: skip
        self._slip = ""

    @property
    def at_days(self) -> float:
        """The present, days since 1970 UTC."""
        return self.now.timestamp() / _DAY_SECONDS

    def press(self, key: str, seconds: float) -> None:
        """Lets time pass and presses a key."""
        self.now += timedelta(milliseconds=round(1000 * seconds))
        self.drill.press(key)

    def play(self) -> None:
        """From the first page to the last."""
        rng = self.rng
        while not self.drill.state.over:
            card = self.drill.state.card
            match self.drill.state.phase:
                case Phase.START:
                    self.press("enter", rng.uniform(4, 9))
                case Phase.WARM_UP:
                    self.press("enter", 30.0)
                case Phase.LESSON:
                    self.body.see(card, self.at_days)
                    self.press("enter", rng.uniform(24, 40))
                case Phase.PROMPT:
                    self._prompt(card)
                case Phase.REPEAT:
                    if self._slip:
                        self.press(self._slip, 1.0)
                    self._slip = ""
                    self.press("enter", rng.uniform(12, 20))
                case Phase.MUSIC:
                    self.press("enter", rng.uniform(35, 60))
                case phase:
                    raise AssertionError(f"demo: nothing to do in phase {phase.value}")
        self.press("enter", 5.0)

    def _prompt(self, card: Card) -> None:
        rng = self.rng
        if self._slip:
            self.press(self._slip, 0.5)
            self._slip = ""
        if rng.random() < 0.0006:
            self.press("r", 2.0)
            return
        given: Try = self.body.play(card, self.at_days)
        self.press("enter", given.seconds)
        chance = rng.random()
        if chance < 0.0012:
            self.press("?", 2.0)
        elif chance < 0.0020:
            self.press("a", 3.0)
        self.press(GRADE_KEYS[given.grade], rng.uniform(7, 13))
        self._slip = given.slip


def renamed(events: Iterable[Event], rng: Random) -> list[Event]:
    """Events with ids from `rng` in place of chance's own, so that the same seed gives the same bytes."""
    names: dict[str, str] = {}

    def name(old: str | None, bits: int = 96) -> str | None:
        if old is not None and old not in names:
            names[old] = f"{rng.getrandbits(bits):0{bits // 4}x}"
        return names.get(old)

    found = []
    for event in events:
        body = event.body
        if isinstance(body, Review):
            body = replace(body, id=name(event.id), session=name(body.session))
        elif hasattr(body, "target"):
            body = replace(body, target=name(body.target))
        found.append(Event(name(event.id), name(event.log, 64), event.stamp_us, event.at, body))
    return found


def _write(student: Student, path: Path, seed: int) -> str:
    with path.open("w", encoding="utf-8") as out:
        count = write_json(student_events(student, material_of(student), seed), out)
    return f"{path}: {count} events"


def write_students(folder: Path, seed: int = 1, count: int = 20, days: int = 365, jobs: int = 1) -> list[Path]:
    """Writes the logs, `jobs` at a time; answers the files."""
    folder.mkdir(parents=True, exist_ok=True)
    everyone = students(seed, count, days)
    paths = [folder / f"{student.name}.json" for student in everyone]
    work = everyone, paths, [seed] * count
    if jobs == 1:
        for line in map(_write, *work):
            print(line)
    else:
        with ProcessPoolExecutor(jobs) as pool:
            for line in pool.map(_write, *work):
                print(line)
    return paths


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--students", type=int, default=20)
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    given = parser.parse_args()
    write_students(given.folder, given.seed, given.students, given.days, given.jobs)
