"""Makes the demonstration logs: a year of Student 1, a term of Students 2 to 20, all invented.

    python -m data.make_demo_log FOLDER [--seed 1] [--students 20] [--days 365]

writes "FOLDER/Student 1.json" and so on, as `neckwork export` writes them, for `neckwork import` and
`neckwork roster FOLDER`. The same seed gives the same bytes. Nobody played this: each student is a
few numbers drawn by chance (how fast they forget, what they find hard, how often they sit down), and
the cards are chosen by a quick stand-in for the planner. What was predicted before each try is the tool's own memory.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random

from drills.cards.card import Card
from drills.cards.deck import find_deck, read_deck
from drills.cards.material import Material, gather
from drills.cards.skills import root_place
from drills.neck.neck import Neck
from drills.shapes.shape import fingers_text
from scheduler.calendar import PracticeCalendar, absence
from scheduler.events import Event, Flag, Lock, Rest, as_us
from scheduler.grade import Grade
from scheduler.interchange_json import write_json
from scheduler.planner import Planner
from scheduler.review import Review

__all__ = ["FIRST_DAY", "Student", "student_events", "students", "write_students"]

FIRST_DAY = date(2001, 1, 1)
"""A Monday. The year is fictional."""

ZONE = "Europe/Berlin"
TERM_DAYS = 70


@dataclass
class Student:
    """An invented player.

    deck: what the teacher gave. half_life_days: of a skill first met. growth: factor of a half-life at each clean
    try. attends: share of practice days played. hard: skills or parts of them that come slowly, with the factor on
    their half-life. minutes: length of a session. flatters: share of tries graded a step too high.
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
                hard={"@4high": 0.1, "m7b5": 0.5}, away=away, days=days,
            )  # fmt: skip
        found.append(student)
    return found


class _Body:
    """What a student can really do: a half-life and a last time for each skill."""

    def __init__(self, student: Student, rng: Random):
        self.student, self.rng = student, rng
        self.half: dict[str, float] = {}
        self.last: dict[str, float] = {}

    def _first_half(self, skill: str, card: Card) -> float:
        factor = 1.0
        place = root_place(skill)
        for hard, share in self.student.hard.items():
            if place and hard.startswith("@") and f"@{place[1]}" == hard[:2]:
                high = (card.chord.root.pitch_class - (2, 9, 4)[6 - place[1]]) % 12 > 7 if place[1] >= 4 else False
                factor *= share if not hard.endswith("high") or high else 1.0
            elif hard == card.chord.quality.name and skill.startswith("form:"):
                factor *= share
        return self.student.half_life_days * factor * math.exp(self.rng.gauss(0, 0.2))

    def recall(self, skill: str, at_days: float) -> float:
        if skill not in self.half:
            return 0.25
        return 2.0 ** -((at_days - self.last[skill]) / self.half[skill])

    def play(self, card: Card, at_days: float) -> tuple[Grade, str | None, float]:
        """Grade, slip and seconds of one cold try, and what it leaves behind."""
        rng = self.rng
        recalls = {skill: self.recall(skill, at_days) for skill in card.skills}
        failed = [skill for skill, recall in recalls.items() if rng.random() > 0.25 + 0.73 * recall]
        for skill in card.skills:
            half = self.half.get(skill) or self._first_half(skill, card)
            spaced = 1.0 - recalls[skill]
            grown = 1.0 + (self.student.growth - 1.0) * (0.15 + spaced if skill not in failed else 0.1)
            # What comes slowly also stays a little less long.
            self.half[skill] = min(half * grown, 60.0 * self._first_half(skill, card) / self.student.half_life_days)
            self.last[skill] = at_days
        seconds = math.exp(rng.gauss(1.7 + 0.5 * len(failed) - 0.5 * min(recalls.values()), 0.35))
        if not failed:
            grade = Grade.IN_TIME if rng.random() < min(recalls.values()) - 0.35 else Grade.CLEAN
        else:
            grade = Grade.FOUND if len(failed) == 1 and rng.random() < 0.6 else Grade.LOOKED
        slip = None
        if failed and rng.random() < 0.5:
            slip = {"root": "root", "form": "shape", "spell": "root"}[failed[0].partition(":")[0]]
            slip = "fingering" if slip == "shape" and rng.random() < 0.2 else slip
        if grade < Grade.IN_TIME and rng.random() < self.student.flatters:
            grade = Grade(grade + 1)
            slip = None if grade.clean else slip
        return grade, slip, min(60.0, max(1.2, seconds))


def student_events(student: Student, material: Material, seed: int = 1) -> list[Event]:
    """Everything a student's log would hold, in order."""
    rng = Random(f"{seed} {student.name}")
    body = _Body(student, rng)
    planner = Planner(material.specs(), seed=seed, rules=material.rules())
    calendar = PracticeCalendar("not Sundays", absences=student.away, zone=ZONE)
    log = f"{rng.getrandbits(64):016x}"
    events: list[Event] = []

    def add(what, at: datetime) -> None:
        identity = what.id if isinstance(what, Review) else f"{rng.getrandbits(96):024x}"
        events.append(Event(identity, log, max(as_us(at), events[-1].stamp_us + 1000 if events else 0), at, what))

    last_day = FIRST_DAY + timedelta(days=student.days - 1)
    for day in calendar.days(FIRST_DAY, last_day):
        if rng.random() > student.attends:
            continue
        at = calendar.starts(day) + timedelta(hours=rng.choice((13.5, 14.5, 16, 17.5)), minutes=rng.uniform(0, 40))
        at = at.replace(microsecond=0)
        _sit(student, planner, body, material, at, rng, add)
    if events:
        _once(events, material, rng, add)
    return events


def _sit(student: Student, planner: Planner, body: _Body, material: Material, at: datetime, rng: Random, add) -> None:
    session = f"{rng.getrandbits(96):024x}"
    end = at + timedelta(minutes=student.minutes)
    new = {"form": 2, "root": 4}
    lately: list[str] = []
    shown: set[str] = set()
    while at < end:
        card = _chosen(planner, material, at, rng, new, lately)
        lately = [*lately[-7:], card.id]
        predicted = planner.recall(card.id, at)
        at_days = at.timestamp() / 86400.0
        if any(skill.startswith("form:") and skill not in shown for skill in planner.new_skills(card.id)):
            shown |= set(card.skills)
            for skill in card.skills:
                body.half.setdefault(skill, body._first_half(skill, card))
                body.last[skill] = at_days
            seen = Review(
                card.id, Grade.FOUND, at, 0.0, "repeat", card.skills, 30.0, session, f"{rng.getrandbits(96):024x}"
            )
            add(seen, at)
            planner.record(seen)
            at += timedelta(seconds=30)
            continue
        grade, slip, seconds = body.play(card, at_days)
        spent = seconds + (9.0 if grade.clean else 22.0) + rng.uniform(1, 6)
        at += timedelta(seconds=round(spent))
        review = Review(
            card.id, grade, at, round(seconds, 2), "first", card.skills, round(spent, 1), session,
            f"{rng.getrandbits(96):024x}", slip, 60.0 if grade is Grade.IN_TIME else None, round(predicted, 4),
        )  # fmt: skip
        add(review, at)
        planner.record(review)


def _chosen(
    planner: Planner, material: Material, at: datetime, rng: Random, new: dict[str, int], lately: list[str]
) -> Card:
    """A quick stand-in for the planner's choice: a little that is new, and else the least sure of a dozen met."""
    met, fresh = [], None
    for card in material.cards.values():
        unmet = planner.new_skills(card.id)
        counts = {kind: sum(skill.startswith(kind) for skill in unmet) for kind in new}
        if not counts["form"] and not counts["root"]:
            met.append(card)
        elif fresh is None and all(counts[kind] <= new[kind] for kind in new):
            fresh = card, counts
    open_cards = [card for card in met if card.id not in lately]
    if fresh is not None and (len(open_cards) < 6 or rng.random() < 0.12):
        for kind, count in fresh[1].items():
            new[kind] -= count
        return fresh[0]
    some = rng.sample(open_cards, min(12, len(open_cards))) or met or [rng.choice(list(material.cards.values()))]
    return min(some, key=lambda card: planner.recall(card.id, at))


def _once(events: list[Event], material: Material, rng: Random, add) -> None:
    """What happens now and then: a question, a rested card, a fingering of one's own."""
    at = events[-1].at + timedelta(seconds=30)
    card = rng.choice([event.body.card for event in events[-40:]])
    if rng.random() < 0.3:
        add(Flag(card, "Which finger on the way down?"), at)
    if rng.random() < 0.2:
        add(Rest(rng.choice(sorted(material.cards))), at + timedelta(seconds=1))
    others = [shape for shape in material.alternates(material.cards[card]) if shape.variant == "fingering"]
    if others and rng.random() < 0.5:
        add(Lock(others[0].signature, fingers_text(others[0].fingers)), at + timedelta(seconds=2))


def write_students(folder: Path, seed: int = 1, count: int = 20, days: int = 365) -> list[Path]:
    """Writes the logs; answers the files."""
    folder.mkdir(parents=True, exist_ok=True)
    materials: dict[str, Material] = {}
    written = []
    for student in students(seed, count, days):
        if student.deck not in materials:
            materials[student.deck] = gather(read_deck(find_deck(student.deck, None)), Neck())
        path = folder / f"{student.name}.json"
        with path.open("w", encoding="utf-8") as out:
            count_written = write_json(student_events(student, materials[student.deck], seed), out)
        print(f"{path}: {count_written} events")
        written.append(path)
    return written


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--students", type=int, default=20)
    parser.add_argument("--days", type=int, default=365)
    given = parser.parse_args()
    write_students(given.folder, given.seed, given.students, given.days)
