"""One graded attempt, as it is logged and learned from."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar, Literal

from scheduler.errors import ReviewError
from scheduler.grade import Grade

__all__ = ["SECONDS_CAP", "Review", "new_id"]

SECONDS_CAP = 60.0
"""Longest time to reveal that is believed, in seconds: beyond it the player left the room."""

_SLIP_LIMIT = 1_000
"""Most characters of a slip, as of any other name in a log."""


def new_id() -> str:
    """A fresh id, unique over all machines (96 random bits, hexadecimal)."""
    return os.urandom(12).hex()


@dataclass(frozen=True, slots=True)
class Review:
    """How one card went.

    card: the card's id.
    grade: the four-step report.
    at: when it was graded; must carry a UTC offset.
    seconds: prompt to reveal, in seconds, 0 or more (callers cap it at 60).
    attempt: ``first`` for the cold attempt that the memory learns from,
        ``repeat`` for compulsory repeats, which are stored and never counted.
    skills: the skills the card had when it was asked, so that the review
        still teaches after decks or settings change.
    spent: prompt to next prompt, in seconds, or None when unknown.
    session: id of the sitting, or None.
    id: unique over all logs.
    slip: what failed, in one word of the subject practised, or None;
        `TeachingRules.blame` says which kind of skill a slip blames. Printable
        text of 1 to 1,000 characters.
    tempo_bpm: the pace it was done at, in beats a minute, or None.
    predicted: recall as predicted just before the attempt, 0 to 1, or None.

    Raises ReviewError when a field is out of range or `at` has no offset.
    """

    kind: ClassVar[str] = "review"
    card: str
    grade: Grade
    at: datetime
    seconds: float
    attempt: Literal["first", "repeat"] = "first"
    skills: tuple[str, ...] = ()
    spent: float | None = None
    session: str | None = None
    id: str = field(default_factory=new_id)
    slip: str | None = None
    tempo_bpm: float | None = None
    predicted: float | None = None

    def __post_init__(self) -> None:
        # A log of many years is read back through here, so the usual case
        # takes the short way and only a refusal looks for what was wrong.
        try:
            fine = (
                self.card
                and self.id
                and type(self.grade) is Grade
                and self.at.utcoffset() is not None
                and 0.0 <= self.seconds < math.inf
                and (self.attempt == "first" or self.attempt == "repeat")
                and (self.spent is None or 0.0 <= self.spent < math.inf)
                and (self.slip is None or (self.slip.isprintable() and 0 < len(self.slip) <= _SLIP_LIMIT))
                and (self.predicted is None or 0.0 <= self.predicted <= 1.0)
                and (self.tempo_bpm is None or 0.0 <= self.tempo_bpm < math.inf)
            )
        except (AttributeError, TypeError):
            fine = False
        if not fine:
            _refuse(self)


def _refuse(review: Review) -> None:
    """Raise ReviewError naming the first field of `review` that cannot be right."""

    def refuse(name: str, expected: str) -> None:
        came = getattr(review, name)
        raise ReviewError(f"review of {review.card!r}, {name}: expected {expected}, got {came!r}")

    def number(value: object) -> bool:
        return isinstance(value, (int, float)) and math.isfinite(value)

    if not isinstance(review.card, str) or not review.card:
        refuse("card", "a card id")
    if not isinstance(review.grade, Grade):
        refuse("grade", "a Grade")
    if not isinstance(review.at, datetime) or review.at.utcoffset() is None:
        refuse("at", "a date and time with a UTC offset")
    if review.attempt not in ("first", "repeat"):
        refuse("attempt", "'first' or 'repeat'")
    if review.slip is not None and not (
        isinstance(review.slip, str) and review.slip.isprintable() and 0 < len(review.slip) <= _SLIP_LIMIT
    ):
        refuse("slip", f"printable text of 1 to {_SLIP_LIMIT} characters, or None")
    if review.predicted is not None and not (number(review.predicted) and 0.0 <= review.predicted <= 1.0):
        refuse("predicted", "a chance between 0 and 1")
    for name in ("seconds", "spent", "tempo_bpm"):
        value = getattr(review, name)
        if not (value is None and name != "seconds") and not (number(value) and value >= 0):
            refuse(name, "a number of 0 or more")
    refuse("id", "a unique id")
