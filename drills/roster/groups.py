"""Students with one cause in common, for a class that works at one thing together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drills.progress.player_causes import CauseGroup
from drills.roster.student import Student
from scheduler.statistics.counts import Count, wilson

__all__ = ["StudentGroup", "cause_in_common"]

_FEWEST = 2

_USUAL_TRIES = 20
"""From so many tries of the rest of the class on it is said what is usual there (common practice: two lessons)."""


@dataclass(frozen=True, slots=True)
class StudentGroup:
    """Students with one cause. group: what they lack, words: it in words. count: their first tries where it is needed.
    usual: those of the rest of the class there, or of everybody at everything where the rest hardly tried it."""

    group: CauseGroup
    cause: str
    names: tuple[str, ...]
    count: Count
    usual: Count
    everything: bool = False

    @property
    def words(self) -> str:
        """As a line: ``spelling m7, 24 of 120 clean, the rest of the class 80 of 110: Student 1, Student 4``."""
        others = "the class at everything" if self.everything else "the rest of the class"
        return f"{self.cause}, {self.count} clean, {others} {self.usual}: {', '.join(self.names)}"


def cause_in_common(students: Iterable[Student]) -> list[StudentGroup]:
    """Groups of two or more who share a cause, the largest first, the members in the order given.

    A member's own 95 % interval where it is needed lies wholly below what is usual in the class, so that nobody is
    grouped by what all find hard.
    """
    students = list(students)
    sharing: dict[CauseGroup, list[Student]] = {}
    for student in students:
        for group in student.cause.groups[:1] if student.cause else ():
            sharing.setdefault(group, []).append(student)
    found = []
    for group, named in sharing.items():
        usual, everything = _usual(group, students, named)
        members = [one for one in named if _below(one.needed[group], usual)]
        if len(members) >= _FEWEST:
            words = members[0].cause.words if members[0].cause else ""
            count = sum((one.needed[group] for one in members), Count())
            found.append(StudentGroup(group, words, tuple(one.name for one in members), count, usual, everything))
    return sorted(found, key=lambda one: (-len(one.names), one.group))


def _usual(group: CauseGroup, students: Sequence[Student], named: Sequence[Student]) -> tuple[Count, bool]:
    names = {one.name for one in named}
    rest = sum((one.needed.get(group, Count()) for one in students if one.name not in names), Count())
    if rest.tries >= _USUAL_TRIES:
        return rest, False
    return sum((one.month for one in students), Count()), True


def _below(count: Count, usual: Count) -> bool:
    return usual.tries > 0 and wilson(count.clean, count.tries)[1] < usual.clean / usual.tries
