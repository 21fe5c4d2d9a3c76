"""What a session asks of the world: values that the machine returns and the drill carries out, in order.

Named tuples, matched by their class: there are many of them, and a start of the tool pays for each.
"""

from __future__ import annotations

from typing import NamedTuple

from drills.cards.card import Card
from drills.session.session_state import Given

__all__ = [
    "Another", "AskTeacher", "Check", "Click", "Drone", "Effect", "HandHurts", "HandIsWell", "HearAgain",
    "LockFingering", "Narrow", "NextCard", "OfferFingering", "RecordGrade",
    "RecordLesson", "RecordRepeat", "RestCard", "SeenCaution", "Sound", "TagSlip", "TakeBack",
]  # fmt: skip


class NextCard(NamedTuple):
    """Choose the next card and hand it in with `present`; `skipped` must not be it."""

    skipped: str | None = None


class Check(NamedTuple):
    """Read and judge a typed answer and hand the verdict in with `judged`, or what could not be read with `unread`."""

    typed: str
    seconds: float


class RecordGrade(NamedTuple):
    """Write a first attempt to the log, before anything is drawn."""

    given: Given


class RecordRepeat(NamedTuple):
    """Write that a missed card was played right after its diagram."""

    card: Card
    review: str


class RecordLesson(NamedTuple):
    """Write that a card's form or root was shown and played for the first time."""

    card: Card
    review: str
    spent: float


class TakeBack(NamedTuple):
    """Undo these reviews, the latest first."""

    reviews: tuple[str, ...]


class TagSlip(NamedTuple):
    """Name the cause of a miss."""

    review: str
    slip: str


class OfferFingering(NamedTuple):
    """Say which fingering would come next, and what it would stand for."""


class LockFingering(NamedTuple):
    """Turn to the next fingering of the card in hand and keep it for its form in all keys."""


class RestCard(NamedTuple):
    """Set a card aside."""

    card: Card


class AskTeacher(NamedTuple):
    """Flag a card for the teacher."""

    card: Card


class Sound(NamedTuple):
    """Let a card be heard: chord, arpeggio, mode, chord."""

    card: Card


class HearAgain(NamedTuple):
    """Let the prompt be heard once more."""


class Click(NamedTuple):
    """A count-in and a click; with a card, its two-five-one to play over."""

    card: Card | None = None


class Drone(NamedTuple):
    """A drone under a card's chord for some seconds."""

    card: Card
    seconds: float


class Narrow(NamedTuple):
    """Ask only this today: ``reviews``, the id of a string set, or ``""`` for everything again."""

    only: str


class Another(NamedTuple):
    """Remember that the second helping of today was taken."""


class SeenCaution(NamedTuple):
    """Remember that the safety caution was shown."""


class HandHurts(NamedTuple):
    """Remember that the hand hurts, and leave out what stretched it: the card's form, and what reaches as far."""

    card: Card | None


class HandIsWell(NamedTuple):
    """The key for a hurting hand was pressed by mistake: nothing is left out for it."""


Effect = (
    NextCard | Check | RecordGrade | RecordRepeat | RecordLesson | TakeBack | TagSlip | LockFingering | RestCard
    | AskTeacher | OfferFingering | Sound | HearAgain | Click | Drone | Narrow | Another | SeenCaution
    | HandHurts | HandIsWell
)  # fmt: skip
