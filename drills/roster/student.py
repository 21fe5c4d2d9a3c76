"""One student, added up from what their log says; every number is self-reported."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from statistics import median

from drills.progress.card_parts import card_parts, place_of
from drills.progress.claim_groups import PlayerClaims
from drills.progress.player_causes import CauseGroup, PlayerCause, cause_groups, cause_of
from drills.roster.folder import StudentLog
from drills.roster.student_claims import student_claims
from scheduler.days.ask_of_day import Ask
from scheduler.days.practice_day import practice_day_number
from scheduler.log.events import Flag
from scheduler.review import SECONDS_CAP, Review
from scheduler.statistics.counts import Count
from scheduler.statistics.recent_tries import FirstTry

__all__ = ["AVOIDED_AFTER_DAYS", "JUDGED_DAYS", "High", "Place", "Student", "TeacherQuestion", "student"]

WEEK_DAYS = 7
JUDGED_DAYS = 28
"""Rates are judged over four weeks: a week of one student is rarely five tries of anything."""

AVOIDED_AFTER_DAYS = 14
"""Met, and not played for so many practice days by a student who did play in them: avoided."""

Place = tuple[str, str]
"""A string set as shown, and a quality."""


@dataclass(frozen=True, slots=True)
class TeacherQuestion:
    """A card the student put a question to, in words, and the question, which may be empty.

    fresh: whether it was asked in the last seven practice days. id: of the question in the log.
    """

    card: str
    text: str
    fresh: bool
    id: str = ""


@dataclass(frozen=True, slots=True)
class High:
    """A card whose last first try was Clean or In time: its id, that grade as the student gave it, its practice day."""

    card: str
    grade: str
    day: date


@dataclass(frozen=True, slots=True)
class Student:
    """What a teacher wants to know of one student before a lesson.

    days_of_7, minutes_of_7: days on which anything was graded, and minutes at the cards.
    days_away: practice days since anything was graded, or None when nothing ever was.
    new_shapes: form skills first met in the last seven days. week, month: first tries of
    the last 7 and 28 days. places: those of 28 days by (strings, quality). slips: those
    named in 28 days, by place. grades: how often each was given in 28 days, by its word.
    avoided: places met and then left, longest first. unmet: places `released` that were never
    met. rested: how many cards are set aside. seconds: median from prompt to reveal when clean in 28 days, asked by the
    chord's name, or None. high: cards last graded Clean or In time in 28 days.
    claims: what may be claimed. cause: what explains the misses of the days that claims are judged by, or None.
    needed: first tries of those days by what they needed.
    """

    name: str
    days_of_7: int
    minutes_of_7: float
    days_away: int | None
    new_shapes: int
    week: Count
    month: Count
    places: dict[Place, Count]
    slips: dict[Place, dict[str, int]]
    grades: dict[str, int]
    avoided: tuple[Place, ...]
    unmet: tuple[Place, ...]
    rested: int
    seconds: float | None
    questions: tuple[TeacherQuestion, ...]
    high: tuple[High, ...]
    claims: PlayerClaims
    cause: PlayerCause | None
    needed: dict[CauseGroup, Count]

    @property
    def slip_totals(self) -> dict[str, int]:
        """The slips named in 28 days, over all places, most often named first."""
        totals: Counter[str] = Counter()
        for named in self.slips.values():
            totals.update(named)
        return dict(totals.most_common())


def student(
    name: str,
    log: StudentLog,
    today: date,
    released: Iterable[Place] = (),
    answered: Collection[str] = (),
) -> Student:
    """Adds up one student's log on a practice day; what a wrong clock put after it is not counted.

    released: string sets and qualities of the deck the teacher gave, if known. answered: ids of questions the teacher
    has answered, which are no longer listed.
    """
    last, state = today.toordinal(), log.state
    days: set[int] = set()
    minutes = 0.0
    shapes: dict[str, int] = {}
    last_at: dict[Place, int] = {}
    month: list[Review] = []
    tried_on: dict[str, int] = {}
    week = [0, 0]
    told = [(review, day, ask) for review, day, ask in log.asks() if day <= last]
    for review, day, ask in told:
        days.add(day)
        for skill in review.skills:
            if skill.startswith("form:"):
                shapes[skill] = min(day, shapes.get(skill, day))
        if (place := place_of(review.card)) is not None:
            last_at[place] = max(day, last_at.get(place, day))
        if day > last - WEEK_DAYS:
            minutes += min(review.spent if review.spent is not None else review.seconds, 2 * SECONDS_CAP) / 60
            week[0] += ask is Ask.FIRST_TRY and review.grade.clean
            week[1] += ask is Ask.FIRST_TRY
        if day > last - JUDGED_DAYS and ask is Ask.FIRST_TRY:
            month.append(review)
            tried_on[review.card] = day
    claims = student_claims(told, today)
    judged_tries = [review for review, day, ask in told if ask is Ask.FIRST_TRY and day >= claims.since.toordinal()]
    away = [place for place, day in last_at.items() if last - day >= AVOIDED_AFTER_DAYS]
    playing = any(day > last - AVOIDED_AFTER_DAYS for day in days)
    return Student(
        name=name,
        days_of_7=sum(day > last - WEEK_DAYS for day in days),
        minutes_of_7=minutes,
        days_away=last - max(days) if days else None,
        new_shapes=sum(day > last - WEEK_DAYS for day in shapes.values()),
        week=Count(*week),
        month=Count(sum(review.grade.clean for review in month), len(month)),
        places=_counts(month),
        slips=_slips(month),
        grades=_grades(month),
        # A student who did not play at all has avoided no place in particular.
        avoided=tuple(sorted(away, key=lambda place: (last_at[place], place))) if playing else (),
        unmet=tuple(place for place in dict.fromkeys(released) if place not in last_at),
        rested=len(state.rested),
        seconds=_seconds(month),
        questions=tuple(
            TeacherQuestion(
                _call(flag.card),
                flag.text,
                practice_day_number(event.at) > last - WEEK_DAYS,
                event.id,
            )
            for event in state.flags
            if isinstance(flag := event.body, Flag) and event.id not in answered
        ),
        high=_high(month, tried_on),
        claims=claims,
        cause=cause_of([FirstTry(one.card, one.skills, one.grade.clean, one.slip) for one in judged_tries], claims),
        needed=_needed(judged_tries),
    )


def _call(card: str) -> str:
    parts = card_parts(card)
    return parts.call if parts else card


def _counts(reviews: Iterable[Review]) -> dict[Place, Count]:
    counts: dict[Place, Count] = {}
    for review in reviews:
        if (place := place_of(review.card)) is not None:
            counts[place] = counts.get(place, Count()) + Count(int(review.grade.clean), 1)
    return dict(sorted(counts.items(), reverse=True))


def _needed(reviews: Iterable[Review]) -> dict[CauseGroup, Count]:
    counts: dict[CauseGroup, Count] = {}
    for review in reviews:
        for group in cause_groups(review.skills):
            counts[group] = counts.get(group, Count()) + Count(int(review.grade.clean), 1)
    return counts


def _slips(reviews: Iterable[Review]) -> dict[Place, dict[str, int]]:
    slips: dict[Place, dict[str, int]] = {}
    for review in reviews:
        if review.slip and (place := place_of(review.card)) is not None:
            named = slips.setdefault(place, {})
            named[review.slip] = named.get(review.slip, 0) + 1
    return slips


def _grades(reviews: Iterable[Review]) -> dict[str, int]:
    times = Counter(review.grade for review in reviews)
    return {grade.label: times[grade] for grade in sorted(times)}


def _seconds(reviews: Iterable[Review]) -> float | None:
    times = [
        min(review.seconds, SECONDS_CAP)
        for review in reviews
        if review.grade.clean and (parts := card_parts(review.card)) is not None and parts.kind == "name"
    ]
    return median(times) if times else None


def _high(reviews: Iterable[Review], tried_on: Mapping[str, int]) -> tuple[High, ...]:
    latest = {review.card: review for review in reviews}
    return tuple(
        High(card, review.grade.label, date.fromordinal(tried_on[card]))
        for card, review in sorted(latest.items())
        if review.grade.clean
    )
