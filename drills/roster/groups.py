"""Students with the same gap, for a class that works at one thing together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drills.roster.needs import places_to_work_on
from drills.roster.student import Place, Student
from scheduler.statistics.counts import Count

__all__ = ["StudentGroup", "gap_groups"]

_FEWEST = 2
_FIRST = 3
"""Only so many of a student's places count as gaps: a beginner has a dozen, and would be in every group."""


@dataclass(frozen=True, slots=True)
class StudentGroup:
    """Students for whom one string set and quality is to be worked on, and the first tries of all of them there."""

    place: Place
    names: tuple[str, ...]
    count: Count

    @property
    def words(self) -> str:
        """As a line: ``m7b5 on 4-3-2, 12 of 40: Student 1, Student 4``."""
        return f"{self.place[1]} on {self.place[0]}, {self.count}: {', '.join(self.names)}"


def gap_groups(students: Iterable[Student]) -> list[StudentGroup]:
    """Groups of two or more, the largest first, each student in one at most, in the order given.

    A gap is one of the first three by `places_to_work_on`. Whoever shares the most common gap
    makes the first group; the next is made of who is left.
    """
    left = {student.name: (student, set(places_to_work_on(student)[:_FIRST])) for student in students}
    groups: list[StudentGroup] = []
    while True:
        sharing: dict[Place, list[Student]] = {}
        for student, places in left.values():
            for place in places:
                sharing.setdefault(place, []).append(student)
        shared = max(sharing, key=lambda at: (len(sharing[at]), at), default=None)
        if shared is None or len(sharing[shared]) < _FEWEST:
            return groups
        members = sharing[shared]
        count = sum((student.places[shared] for student in members), Count())
        groups.append(StudentGroup(shared, tuple(student.name for student in members), count))
        for student in members:
            del left[student.name]
