"""All students on one sheet: who needs what, and what they all find hard."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from drills.errors import SettingsError
from drills.roster.folder import Passed, Read
from drills.roster.groups import StudentGroup
from drills.roster.needs import by_need
from drills.roster.student import Place, Student, student
from scheduler.statistics.counts import FEWEST_TRIES, Count

__all__ = ["RosterSheet", "Shared", "find_student", "make_sheet"]

_FEWEST_STUDENTS = 2


@dataclass(frozen=True, slots=True)
class Shared:
    """A string set and quality that students find hard: how many of those with five first tries or more
    played under half of them clean, and the tries of all those together."""

    place: Place
    failing: int
    tried: int
    count: Count

    @property
    def words(self) -> str:
        """As a sentence: ``All 14 who tried it play under half clean: m7b5 on 4-3-2, 41 of 160.``"""
        who = f"All {self.tried}" if self.failing == self.tried else f"{self.failing} of {self.tried}"
        return f"{who} who tried it play under half clean: {self.place[1]} on {self.place[0]}, {self.count}."


@dataclass(frozen=True, slots=True)
class RosterSheet:
    """The students in order of need, what is hard for all (or most) of them, the files passed over, and groups."""

    today: date
    students: tuple[Student, ...]
    shared: Shared | None
    passed: tuple[Passed, ...]
    groups: tuple[StudentGroup, ...] = ()


def make_sheet(read: Read, today: date, released: Iterable[Place] = ()) -> RosterSheet:
    """The sheet of a folder on a practice day. released: string sets and qualities of the deck all were given."""
    released = tuple(released)
    students = [student(name, log, today, released) for name, log in read.logs.items()]
    return RosterSheet(today, tuple(by_need(students)), _shared(students), read.passed)


def find_student(sheet: RosterSheet, name: str) -> Student:
    """The student of that name, capitals aside; raises SettingsError with the names there are."""
    wanted = name.strip().casefold()
    for one in sheet.students:
        if one.name.casefold() == wanted:
            return one
    names = ", ".join(one.name for one in sheet.students[:20]) or "no student at all"
    raise SettingsError(f"--student {name[:60]!r}: no such file in the folder; expected one of {names}")


def _shared(students: Iterable[Student]) -> Shared | None:
    tried: dict[Place, list[Count]] = {}
    for one in students:
        for place, count in one.places.items():
            if count.tries >= FEWEST_TRIES:
                tried.setdefault(place, []).append(count)
    found = []
    for place, counts in tried.items():
        failing = sum(2 * count.clean < count.tries for count in counts)
        if failing >= _FEWEST_STUDENTS and 2 * failing > len(counts):
            found.append(Shared(place, failing, len(counts), sum(counts, Count())))
    # What all fail comes before what most do, and what many fail before what two do.
    return max(found, key=lambda one: (one.failing == one.tried, one.failing, one.place), default=None)
