"""Estimates how much of what has been met would come clean on the days ahead, always with a range."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from drills.cards.slips import BLAME
from scheduler.card import CARD_KIND
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.memory.committee import Memory
from scheduler.memory.constants import Constants
from scheduler.memory.learner import Learner, days_of
from scheduler.memory.states import skill_state
from scheduler.planning.outlook import outlooks
from scheduler.review import Review

__all__ = ["DayAhead", "PlayedCards", "Remembered", "ahead_json", "ahead_lines", "days_ahead", "read_memory"]


@dataclass(frozen=True, slots=True)
class DayAhead:
    """One practice day to come, if nothing is played until then.

    expected: how many of the `cards` met would come clean at a first try. low, high: the 95 % range of that number,
    see `scheduler.planning.outlook`.
    """

    day: date
    expected: float
    low: int
    high: int
    cards: int


@dataclass(frozen=True, slots=True)
class Remembered:
    """A memory brought forward by a log. skills: of each card played, its own last."""

    memory: Memory
    skills: Mapping[str, tuple[str, ...]]

    def words(self, at: datetime) -> dict[str, str]:
        """unmet, forming, firm or fading by skill, those of single cards left out."""
        at_days = days_of(at)
        shared = {skill for skills in self.skills.values() for skill in skills[:-1]}
        return {skill: skill_state(self.memory, skill, at_days).word for skill in shared}


class PlayedCards:
    """The skills of every card played, as last asked, its own last.

    `scheduler.saved.learned_states` keeps it beside the log.
    """

    def __init__(self) -> None:
        self.skills: dict[str, tuple[str, ...]] = {}

    def record(self, review: Review) -> None:
        """Take in one review."""
        self.skills[review.card] = (*review.skills, f"{CARD_KIND}:{review.card}")

    def rests_on(self) -> None:
        """On the reviews alone."""

    def export(self) -> dict[str, Any]:
        """The state, as a JSON value."""
        return self.skills

    def restore(self, state: Any) -> None:
        """Take over what `export` gave."""
        self.skills = {card: tuple(skills) for card, skills in state.items()}

    def history_from(self, history: Callable[[], Iterable[Review]]) -> None:
        """Nothing is ever taken back here."""


def read_memory(
    reviews: Iterable[Review] | Callable[..., bool],
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
    constants: Constants | None = None,
) -> Remembered | None:
    """What the reviews, in the order of the log, teach; None when there are none.

    reviews: or a function that brings learners, given by name, to where a log stands, and answers whether it did.
    constants: None for the usual.
    """
    learner = Learner(None, BLAME, day_starts_at_hour, constants)
    played = PlayedCards()
    if callable(reviews):
        if not reviews(planner=learner, played=played):
            return None
    else:
        for review in reviews:
            learner.record(review)
            played.record(review)
    return Remembered(learner.memory, played.skills) if played.skills else None


def days_ahead(
    memory: Memory, skills: Mapping[str, tuple[str, ...]], days: Sequence[date], now: datetime
) -> list[DayAhead]:
    """The forecast for days after that of `now`, at the same hour. Asking changes nothing.

    skills: of each card to ask about, its own last.
    """
    moments = [days_of(now) + (day - now.date()).days for day in days]
    return [DayAhead(day, *one) for day, one in zip(days, outlooks(memory, skills.values(), moments), strict=True)]


def ahead_lines(found: Sequence[DayAhead], days: int) -> list[str]:
    """The forecast in lines, the range beside every number."""
    if not found:
        return [f"Nothing to say of the next {days} days: nothing met yet, or no practice day among them."]
    lines = [
        f"If nothing is played until then, so many of the {found[0].cards} cards met would come clean at a first try",
        "(predicted from what you reported; within the range 19 times in 20 if the memory's models hold):",
        "",
    ]
    return lines + [f"{one.day:%a %Y-%m-%d}  {one.expected:5.0f}   {one.low} to {one.high}" for one in found]


def ahead_json(found: Sequence[DayAhead]) -> list[dict[str, Any]]:
    """The forecast for programs."""
    return [
        {"day": one.day.isoformat(), "expected": round(one.expected, 2), "low": one.low, "high": one.high,
         "cards": one.cards} for one in found
    ]  # fmt: skip
