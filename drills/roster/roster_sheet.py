"""All students on one sheet: who needs what, and what they all find hard."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import comb

from drills.errors import SettingsError
from drills.roster.folder import Passed, Read
from drills.roster.groups import StudentGroup
from drills.roster.needs import by_need
from drills.roster.student import Place, Student, student
from scheduler.statistics.counts import FEWEST_TRIES, Count

__all__ = ["RosterSheet", "Shared", "find_student", "hard_for_all", "make_sheet"]


@dataclass(frozen=True, slots=True)
class Shared:
    """A string set and quality that surely is harder for the class than the rest of what it plays.

    below: how many of those who tried it, and other places, often enough played it clean less often than the rest;
    tried: how many there are. count: the tries of all those together.
    """

    place: Place
    below: int
    tried: int
    count: Count

    @property
    def words(self) -> str:
        """As a sentence: ``Hard for the class: m7b5 on 4-3-2, 41 of 160 clean; 13 of the 14 who tried it ...``"""
        who = f"all {self.tried}" if self.below == self.tried else f"{self.below} of the {self.tried}"
        return (
            f"Hard for the class: {self.place[1]} on {self.place[0]}, {self.count} clean; {who} who tried it play it "
            "clean less often than the rest of what they play."
        )


@dataclass(frozen=True, slots=True)
class RosterSheet:
    """The students in order of need, what is hard for all (or most) of them, the files passed over, and groups.

    silent: those of the deck's group who sent nothing. elsewhere: how many students of the folder are not of that
    group, and not on the sheet.
    """

    today: date
    students: tuple[Student, ...]
    shared: Shared | None
    passed: tuple[Passed, ...]
    groups: tuple[StudentGroup, ...] = ()
    silent: tuple[str, ...] = ()
    elsewhere: int = 0


def make_sheet(
    read: Read, today: date, released: Mapping[str, Sequence[Place]] | None = None, answered: Collection[str] = ()
) -> RosterSheet:
    """The sheet of a folder on a practice day.

    released: string sets and qualities of the deck that each was given, by the student's name. answered: ids of
    questions that are answered.
    """
    given = released or {}
    students = [student(name, log, today, given.get(name, ()), answered) for name, log in read.logs.items()]
    return RosterSheet(today, tuple(by_need(students)), hard_for_all(one.places for one in students), read.passed)


def find_student(sheet: RosterSheet, name: str) -> Student:
    """The student of that name, capitals aside; raises SettingsError with the names there are."""
    wanted = name.strip().casefold()
    for one in sheet.students:
        if one.name.casefold() == wanted:
            return one
    names = ", ".join(one.name for one in sheet.students[:20]) or "no student at all"
    raise SettingsError(f"--student {name[:60]!r}: no such file in the folder; expected one of {names}")


_ERROR = 0.05
"""The chance that a place is called hard for a class to which all places are alike."""


def hard_for_all(students: Iterable[Mapping[Place, Count]]) -> Shared | None:
    """The place that is surely harder for the class, by the sign test of J. Arbuthnot (1710) over the students.

    Each compares the place with the rest of what they play themselves, from five tries on either side, so that nobody
    counts for more who plays more; the error is shared among the places that could be named (Bonferroni).
    students: of each the first tries by place.
    """
    compared: dict[Place, list[tuple[Count, Count]]] = {}
    for places in students:
        whole = sum(places.values(), Count())
        for place, count in places.items():
            rest = Count(whole.clean - count.clean, whole.tries - count.tries)
            if min(count.tries, rest.tries) >= FEWEST_TRIES:
                compared.setdefault(place, []).append((count, rest))
    found = []
    for place, pairs in compared.items():
        signs = [count.clean * rest.tries - rest.clean * count.tries for count, rest in pairs]
        below, above = sum(sign < 0 for sign in signs), sum(sign > 0 for sign in signs)
        chance = sum(comb(below + above, n) for n in range(below, below + above + 1)) / 2 ** (below + above)
        if chance <= _ERROR / len(compared):
            found.append((chance, place, Shared(place, below, len(pairs), sum((count for count, _ in pairs), Count()))))
    return min(found, key=lambda one: one[:2], default=(0.0, ("", ""), None))[2]
