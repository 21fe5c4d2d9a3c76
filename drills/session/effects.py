"""What a session asks of the world: values that the machine returns and the drill carries out, in order."""

from __future__ import annotations

from dataclasses import dataclass

from drills.cards.card import Card
from drills.session.state import Given

__all__ = [
    "Another", "AskTeacher", "Check", "Click", "Drone", "Effect", "LockFingering", "Narrow", "NextCard", "RecordGrade",
    "RecordLesson", "RecordRepeat", "RestCard", "SeenCaution", "Sound", "TagSlip", "TakeBack",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class NextCard:
    """Choose the next card and hand it in with `present`; `skipped` must not be it."""

    skipped: str | None = None


@dataclass(frozen=True, slots=True)
class Check:
    """Judge a typed answer and hand the verdict in with `judged`."""

    card: Card
    typed: str
    seconds: float


@dataclass(frozen=True, slots=True)
class RecordGrade:
    """Write a first attempt to the log, before anything is drawn."""

    given: Given


@dataclass(frozen=True, slots=True)
class RecordRepeat:
    """Write that a missed card was played right after its diagram."""

    card: Card
    after: str
    review: str


@dataclass(frozen=True, slots=True)
class RecordLesson:
    """Write that a card's form was shown and played for the first time."""

    card: Card
    review: str
    spent: float


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Undo these reviews, the latest first."""

    reviews: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TagSlip:
    """Name the cause of a miss."""

    review: str
    slip: str


@dataclass(frozen=True, slots=True)
class LockFingering:
    """Keep the fingering that is shown (its index among usual and alternates) for this form in all keys."""

    card: Card
    view: int


@dataclass(frozen=True, slots=True)
class RestCard:
    """Set a card aside."""

    card: Card


@dataclass(frozen=True, slots=True)
class AskTeacher:
    """Flag a card for the teacher."""

    card: Card


@dataclass(frozen=True, slots=True)
class Sound:
    """Let a card be heard: chord, arpeggio, mode, chord."""

    card: Card


@dataclass(frozen=True, slots=True)
class Click:
    """A count-in and a click; with a card, its two-five-one to play over."""

    card: Card | None = None


@dataclass(frozen=True, slots=True)
class Drone:
    """A drone under a card's chord for some seconds."""

    card: Card
    seconds: float


@dataclass(frozen=True, slots=True)
class Narrow:
    """Ask only this today: ``reviews``, the id of a string set, or ``""`` for everything again."""

    only: str


@dataclass(frozen=True, slots=True)
class Another:
    """Remember that the second helping of today was taken."""


@dataclass(frozen=True, slots=True)
class SeenCaution:
    """Remember that the safety caution was shown."""


Effect = (
    NextCard | Check | RecordGrade | RecordRepeat | RecordLesson | TakeBack | TagSlip | LockFingering | RestCard
    | AskTeacher | Sound | Click | Drone | Narrow | Another | SeenCaution
)  # fmt: skip
