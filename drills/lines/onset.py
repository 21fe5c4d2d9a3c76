"""A note without a pitch: when it starts and how long it lasts; and which beats of a bar are strong."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drills.changes.changes import Metre

__all__ = ["Onset", "is_strong"]


@dataclass(frozen=True, slots=True)
class Onset:
    """A note without a pitch.

    start, length: in quarter notes from the beginning, start where the note belongs. bar: index of that bar.
    early: quarter notes by which it is struck before it; it then sounds so much longer.
    """

    start: Fraction
    length: Fraction
    bar: int
    early: Fraction = Fraction(0)

    @property
    def struck(self) -> Fraction:
        """When it is struck, in quarter notes from the beginning."""
        return self.start - self.early

    @property
    def sounding(self) -> Fraction:
        """How long it sounds from there, in quarter notes."""
        return self.length + self.early


def is_strong(metre: Metre, place: Fraction) -> bool:
    """Whether a place in a bar is its first beat or its middle: beats 1 and 3 in 4/4."""
    return place == 0 or (metre.beats % 2 == 0 and 2 * place == metre.quarters)
