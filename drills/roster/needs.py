"""Orders what a student needs, and the students by how much they need the teacher."""

from __future__ import annotations

import re
from collections.abc import Iterable

from drills.progress.player_causes import SLIP_WORDS
from drills.roster.student import Place, Student
from scheduler.statistics.counts import FEWEST_TRIES

__all__ = ["ORDER_WORDS", "by_need", "days_ago", "need_words", "one_thing", "places_to_work_on"]

ORDER_WORDS = "Who asked or did not play comes first, then who has one cause to work on, then the rest by clean tries."
"""The order of `by_need` in a sentence."""

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
    if student.cause is not None:
        return student.cause.line
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
    """Students in the order in which they need the teacher, not of how much they did; `need_words` gives the reasons.

    First whoever asked a question or never played in the last seven days; then who has a cause to work on, then all
    others, each by the bottom of the 95 % interval of their first tries in four weeks, lowest first. A question that
    was there last week is still listed, and moves nobody up.
    """

    def need(student: Student) -> tuple[int, float, list[tuple[int, int, str]]]:
        interval = student.month.interval
        return _rank(student), interval[0] if interval else 0.0, _natural(student.name)

    return sorted(students, key=need)


def _rank(student: Student) -> int:
    if any(question.fresh for question in student.questions) or not student.days_of_7:
        return 0
    return 1 if student.cause is not None else 2


def need_words(student: Student) -> str:
    """Why a student stands where `by_need` puts them, in a few words."""
    fresh = sum(question.fresh for question in student.questions)
    if fresh:
        return "asked a question this week" if fresh == 1 else f"asked {fresh} questions this week"
    if student.days_away is None:
        return "nothing played yet"
    if not student.days_of_7:
        return f"last played {days_ago(student)}"
    if student.cause is not None:
        return "one cause explains the misses"
    interval = student.month.interval
    if interval is None:
        return f"too few first tries to say, {student.month}"
    low, high = (round(100 * end) for end in interval)
    return f"{student.month} clean, so {low} to {high} in 100"


def _natural(name: str) -> list[tuple[int, int, str]]:
    """Student 2 before Student 10."""
    return [
        (0, int(part), "") if part.isdecimal() and len(part) < 20 else (1, 0, part) for part in re.split(r"(\d+)", name)
    ]
