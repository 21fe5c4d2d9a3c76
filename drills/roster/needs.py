"""Orders what a student needs, and the students by how much they need the teacher."""

from __future__ import annotations

import re
from collections.abc import Iterable

from drills.roster.student import Place, Student
from scheduler.statistics.counts import FEWEST_TRIES

__all__ = ["SLIP_WORDS", "by_need", "days_ago", "one_thing", "places_to_work_on"]

SLIP_WORDS = {
    "root": "finding the root",
    "shape": "remembering the shape",
    "fingering": "the fingering",
    "time": "keeping time",
}
"""A slip as a cause of trouble."""

_MANY = 40
_ALL_BUT_A_FEW = 0.975


def places_to_work_on(student: Student) -> list[Place]:
    """String sets and qualities to watch, then those that are surely not there yet; the lowest share first in each.

    The rules are those of every page: `scheduler.statistics.claims`.
    """
    return list(dict.fromkeys([*student.claims.watched, *student.claims.not_yet]))


def one_thing(student: Student) -> str:
    """The one thing to fix, as a short phrase with its counts."""
    if student.days_away is None:
        return "nothing played yet"
    if not student.days_of_7:
        return f"begin again: last played {days_ago(student)}"
    clean = student.grades.get("Clean", 0) + student.grades.get("In time", 0)
    if student.month.tries >= _MANY and clean >= _ALL_BUT_A_FEW * student.month.tries:
        # So many clean grades in a row are unlikely for someone who learns, so the teacher should hear some of it.
        return f"hear five cards: nearly all are graded Clean or In time, {student.month}"
    for strings, quality in places_to_work_on(student):
        text = f"{quality} on {strings}, clean {student.claims.count_of((strings, quality))}"
        named = student.slips.get((strings, quality))
        if named:
            slip = max(sorted(named), key=named.__getitem__)
            text += f"; mostly {SLIP_WORDS.get(slip, slip)}, {named[slip]} of {sum(named.values())} named"
        return text
    if student.avoided:
        strings, quality = student.avoided[0]
        return f"play {quality} on {strings} again"
    return "nothing stands out" if student.month.tries >= FEWEST_TRIES else "too few tries to say"


def days_ago(student: Student) -> str:
    """When anything was graded last: ``today``, ``yesterday``, ``9 days ago``, or ``never``."""
    if student.days_away is None:
        return "never"
    return ("today", "yesterday")[student.days_away] if student.days_away < 2 else f"{student.days_away} days ago"


def by_need(students: Iterable[Student]) -> list[Student]:
    """Students in the order in which they need the teacher, not of how much they did.

    First whoever asked a question or never played in the last seven days; then all by the bottom
    of the 95 % interval of their first tries in four weeks, lowest first. A question that was there
    last week is still listed, and moves nobody up: it never leaves a log.
    """

    def need(student: Student) -> tuple[bool, float, list[tuple[int, int, str]]]:
        waiting = not any(question.fresh for question in student.questions) and student.days_of_7 > 0
        interval = student.month.interval
        return waiting, interval[0] if interval else 0.0, _natural(student.name)

    return sorted(students, key=need)


def _natural(name: str) -> list[tuple[int, int, str]]:
    """Student 2 before Student 10."""
    return [
        (0, int(part), "") if part.isdecimal() and len(part) < 20 else (1, 0, part) for part in re.split(r"(\d+)", name)
    ]
