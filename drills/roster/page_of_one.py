"""One student on one page, as headings and lines."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from random import Random

from drills.progress.card_parts import card_parts
from drills.progress.claim_sentences import claim_lines, missing_line
from drills.progress.player_causes import SLIP_WORDS
from drills.progress.progress_sentences import FIRST_TRY_WORDS
from drills.roster.needs import days_ago, need_words, one_thing
from drills.roster.student import AVOIDED_AFTER_DAYS, JUDGED_DAYS, High, Place, Student

__all__ = ["Section", "student_sections"]

Section = tuple[str, list[str]]
"""A heading and the lines under it."""

_TO_HEAR = 5
_PLACES = 5


def student_sections(student: Student, today: date, *, to_student: bool = False) -> list[Section]:
    """What to know before a lesson; what there is nothing to say of is left out.

    Cards to hear are drawn by chance, one draw for a student and a day. to_student: whether it goes to the student,
    who needs no reason for a place on the roster and no list of what the teacher is going to hear.
    """
    minutes = round(student.minutes_of_7)
    lines = [
        f"Days played: {student.days_of_7} of 7 ({minutes} minute{'s' * (minutes != 1)}); "
        f"last played: {days_ago(student)}",
        f"New shapes met: {student.new_shapes}",
        f"Clean {FIRST_TRY_WORDS}: {student.week} this week, {student.month} in {JUDGED_DAYS} days",
    ]
    if student.seconds is not None:
        lines.append(f"Prompt to answer, a typical clean try: {student.seconds:.0f} s")
    fix = [one_thing(student)] + [f"Why here on the roster: {need_words(student)}"] * (not to_student)
    sections = [("The one thing to fix", fix), ("This week", lines)]
    if student.questions:
        asked = [f"{one.card}: {one.text}" if one.text else one.card for one in student.questions]
        sections.append(("Questions", asked))
    if student.month.tries:
        said = [*claim_lines(student.claims), missing_line(student.claims)]
        sections.append(("What the counts say", [line for line in said if line]))
    if student.slips:
        sections.append(
            (f"Slips named in {JUDGED_DAYS} days", [_slips(student, place) for place in _by_slips(student)])
        )
    if student.avoided:
        sections.append((f"Not played for {AVOIDED_AFTER_DAYS} days or more", _by_set(student.avoided)))
    if student.unmet:
        sections.append(("Released and not met", _by_set(student.unmet)))
    if student.rested:
        sections.append(("Set aside by the student", [f"{student.rested} card{'s' * (student.rested > 1)}"]))
    if student.grades:
        sections.append(("Grades", [", ".join(f"{word} {times}" for word, times in student.grades.items())]))
    if student.high and not to_student:
        drawn = Random(f"{student.name} {today.isoformat()}").sample(student.high, min(_TO_HEAR, len(student.high)))
        sections.append((f"To hear: {len(drawn)} that the student graded high", list(map(_to_hear, drawn))))
    return sections


def _to_hear(high: High) -> str:
    """A card, the student's own grade, and room for the teacher's next to it."""
    parts = card_parts(high.card)
    call = parts.call if parts else high.card
    return f"{call}: {high.grade} on {high.day.day} {high.day:%B}; heard: ________"


def _by_set(places: Iterable[Place]) -> list[str]:
    """Qualities under their string sets, a line a set: one student is to fit on one page."""
    sets: dict[str, list[str]] = {}
    for strings, quality in places:
        sets.setdefault(strings, []).append(quality)
    return [f"{strings}: {', '.join(qualities)}" for strings, qualities in sets.items()]


def _by_slips(student: Student) -> list[Place]:
    """Where slips were named, most often first."""
    return sorted(student.slips, key=lambda place: (-sum(student.slips[place].values()), place))[:_PLACES]


def _slips(student: Student, place: Place) -> str:
    strings, quality = place
    named = student.slips[place]
    return f"{quality} on {strings}: " + "; ".join(
        f"{SLIP_WORDS.get(slip, slip)} {times}" for slip, times in sorted(named.items())
    )
