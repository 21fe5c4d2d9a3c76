"""Students who do not exist: a few numbers each, drawn by chance, and what such a player would do at a card."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from random import Random

from drills.cards.card import Card
from drills.progress.skill_names import HIGH_ABOVE_FRET, root_spot
from scheduler.days.calendar import absence
from scheduler.grade import Grade

__all__ = ["FIRST_DAY", "Body", "Student", "Try", "students"]

FIRST_DAY = date(2001, 1, 1)
"""A Monday. The year is fictional."""

TERM_DAYS = 70

_SLIP_OF = {"root": "1", "form": "2", "spell": "1", "degree": "1"}
"""Keys that say what failed, by the kind of skill: see `drills.session.key_bindings.SLIP_KEYS`."""


@dataclass(frozen=True)
class Student:
    """An invented player.

    deck: what the teacher gave. half_life_days: of a skill first met. growth: factor of a half-life at each clean
    try. attends: share of practice days played. hard: what comes slowly, with the factor on its half-life: a quality,
    or ``@4`` and ``@4high`` for roots on a string, or on its upper half. minutes: length of a session. flatters: share
    of tries graded a step too high. away: days without practice. days: how long the log goes on.
    """

    number: int
    deck: str = "first"
    half_life_days: float = 2.0
    growth: float = 1.7
    attends: float = 0.8
    hard: dict[str, float] = field(default_factory=dict)
    minutes: float = 10.0
    flatters: float = 0.0
    away: frozenset[date] = frozenset()
    days: int = TERM_DAYS

    @property
    def name(self) -> str:
        """``Student 7``: what the file is called, and so what a roster calls the student."""
        return f"Student {self.number}"


def students(seed: int = 1, count: int = 20, days: int = 365) -> list[Student]:
    """The first `count` students. days: how long Student 1 plays; the others at most a term."""
    rng = Random(f"students {seed}")
    found = []
    for number in range(1, count + 1):
        hard = {f"@{rng.choice((4, 4, 5, 6))}": rng.uniform(0.2, 0.5)}
        hard[rng.choice(("m7b5", "m7b5", "maj7", "m7"))] = rng.uniform(0.2, 0.6)
        student = Student(
            number,
            rng.choice(("first", "first", "set-432", "minor", "set-654")),
            math.exp(rng.gauss(0.6, 0.6)),
            rng.uniform(1.25, 1.9),
            rng.betavariate(2.2, 1.4),
            hard,
            rng.choice((8.0, 10.0, 10.0)),
            rng.choice((0.0, 0.0, 0.1, 0.3)),
            days=min(days, TERM_DAYS - (rng.choice((12, 30)) if rng.random() < 0.15 else 0)),
        )
        if number == 1:
            away = absence(FIRST_DAY + timedelta(days=203), FIRST_DAY + timedelta(days=218))
            student = replace(
                student, deck="first", half_life_days=2.5, growth=1.8, attends=0.8, minutes=10.0, flatters=0.05,
                hard={"@4high": 0.15, "m7b5": 0.5}, away=away, days=days,
            )  # fmt: skip
        found.append(student)
    return found


@dataclass(frozen=True)
class Try:
    """One cold try: the grade given, the key of the slip named or ``""``, seconds to reveal."""

    grade: Grade
    slip: str
    seconds: float


class Body:
    """What a student can really do: a half-life and a last time for each skill. Not the tool's own memory."""

    def __init__(self, student: Student, rng: Random):
        self.student, self.rng = student, rng
        self.half: dict[str, float] = {}
        self.last: dict[str, float] = {}
        self.tries: dict[str, int] = {}

    def _ease(self, skill: str, card: Card) -> float:
        """How easily a skill stays, 1 for what is not hard."""
        ease = 1.0
        spot = root_spot(skill)
        for hard, share in self.student.hard.items():
            if spot is not None:
                high = spot.fret > HIGH_ABOVE_FRET
                if hard == f"@{spot.string}" or (high and hard == f"@{spot.string}high"):
                    ease *= share
            elif hard == card.chord.quality.name and skill.startswith("form:"):
                ease *= share
        return ease

    def _first_half(self, skill: str, card: Card) -> float:
        return self.student.half_life_days * self._ease(skill, card) * math.exp(self.rng.gauss(0, 0.2))

    def recall(self, skill: str, at_days: float) -> float:
        """Chance of getting a skill right, 0 to 1."""
        if skill not in self.half:
            return 0.25
        return 2.0 ** -((at_days - self.last[skill]) / self.half[skill])

    def see(self, card: Card, at_days: float) -> None:
        """A lesson: the card's skills are there, for a while."""
        for skill in card.skills:
            self.half.setdefault(skill, self._first_half(skill, card))
            self.last[skill] = at_days

    def play(self, card: Card, at_days: float) -> Try:
        """One cold try, and what it leaves behind."""
        rng = self.rng
        recalls = {skill: self.recall(skill, at_days) for skill in card.skills}
        failed = [skill for skill, recall in recalls.items() if rng.random() > 0.25 + 0.73 * recall]
        for skill in card.skills:
            half = self.half.get(skill) or self._first_half(skill, card)
            learned = 0.1 if skill in failed else 0.15 + 1.0 - recalls[skill]
            # What comes slowly also stays less long.
            longest = 60.0 * self._ease(skill, card)
            self.half[skill] = min(half * (1.0 + (self.student.growth - 1.0) * learned), longest)
            self.last[skill] = at_days
            self.tries[skill] = self.tries.get(skill, 0) + 1
        # Time falls with practice as a power (Newell and Rosenbloom 1981).
        practised = math.log(min(self.tries[skill] for skill in card.skills))
        seconds = math.exp(rng.gauss(2.0 + 0.5 * len(failed) - 0.5 * min(recalls.values()) - 0.13 * practised, 0.35))
        if not failed:
            grade = Grade.IN_TIME if rng.random() < min(recalls.values()) - 0.35 else Grade.CLEAN
        else:
            grade = Grade.FOUND if len(failed) == 1 and rng.random() < 0.6 else Grade.LOOKED
        slip = _SLIP_OF.get(failed[0].partition(":")[0], "") if failed and rng.random() < 0.5 else ""
        if slip == "2" and rng.random() < 0.2:
            slip = "3"
        if grade < Grade.IN_TIME and rng.random() < self.student.flatters:
            grade = Grade(grade + 1)
        return Try(grade, "" if grade.clean else slip, min(60.0, max(1.2, seconds)))
