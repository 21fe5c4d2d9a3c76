"""A player's neck: a tuning and the limits of what is asked on it, and where its frets lie in millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from drills.errors import TuningError
from drills.neck.tuning import STANDARD, Tuning

__all__ = ["MOST_FRETS", "Neck", "fret_distance_mm", "reach_mm"]

MOST_FRETS = 36


@lru_cache(maxsize=1024)
def fret_distance_mm(scale_mm: float, fret: int) -> float:
    """Distance of a fret from the nut by equal temperament: L (1 - 2^(-n/12)), so that fret 12 halves the string."""
    return scale_mm * (1.0 - math.pow(2.0, -fret / 12.0))


def reach_mm(scale_mm: float, fret: int, other: int, capo: int = 0) -> float:
    """Distance between two frets counted from the capo (0: the nut), in millimetres, without sign."""
    return abs(fret_distance_mm(scale_mm, fret + capo) - fret_distance_mm(scale_mm, other + capo))


@dataclass(frozen=True, slots=True)
class Neck:
    """What the instrument allows.

    tuning: open strings without a capo.
    top_fret: highest comfortable fret, counted from the nut, 1 to 36.
    root_frets: lowest and highest fret for roots, counted from the capo.
    open_roots: whether an open string may be a root.
    alternates: whether a card may fall back on another layout when the usual one does not fit.
    scale_mm: speaking length of the open string, in millimetres.
    capo: fret of the capo, 0 for none; shapes then count frets from it.
    reach_limit_mm: farthest the fretting hand is asked to reach between two
        notes, in millimetres (120: common practice, no published table).

    Raises TuningError naming the field when one is out of range.
    """

    tuning: Tuning = STANDARD
    top_fret: int = 15
    root_frets: tuple[int, int] = (1, 12)
    open_roots: bool = False
    alternates: bool = False
    scale_mm: float = 648.0
    capo: int = 0
    reach_limit_mm: float = 120.0

    def __post_init__(self) -> None:
        low, high = self.root_frets
        checks = (
            ("top_fret", 1 <= self.top_fret <= MOST_FRETS, f"1 to {MOST_FRETS}", self.top_fret),
            ("root_frets", 1 <= low <= high <= MOST_FRETS, "two rising frets of 1 or more", self.root_frets),
            ("scale_mm", math.isfinite(self.scale_mm) and 200 <= self.scale_mm <= 1200, "200 to 1200", self.scale_mm),
            ("capo", 0 <= self.capo < self.top_fret, "0 or more and below the top fret", self.capo),
            ("reach_limit_mm", 40 <= self.reach_limit_mm <= 300, "40 to 300", self.reach_limit_mm),
        )
        for field, fine, expected, came in checks:
            if not fine:
                raise TuningError(f"neck, {field}: expected {expected}, got {came!r}")

    @property
    def sounding(self) -> Tuning:
        """The tuning as it sounds with the capo on."""
        return self.tuning.raised(self.capo)

    @property
    def highest(self) -> int:
        """The top fret counted from the capo."""
        return self.top_fret - self.capo

    def reach_mm(self, fret: int, other: int) -> float:
        """Distance between two frets counted from the capo, in millimetres."""
        return reach_mm(self.scale_mm, fret, other, self.capo)

    def frets_of(self, string: int, pitch_class: int) -> tuple[int, ...]:
        """Every fret from 0 to the top where a pitch class sounds on a string."""
        first = (pitch_class - self.sounding.midi(string, 0)) % 12
        return tuple(range(first, self.highest + 1, 12))

    def root_frets_of(self, string: int, pitch_class: int) -> tuple[int, ...]:
        """Frets within the root range where a pitch class sounds on a string; the open string last, if allowed."""
        low, high = self.root_frets
        allowed = [fret for fret in self.frets_of(string, pitch_class) if low <= fret <= high]
        if self.open_roots and 0 in self.frets_of(string, pitch_class):
            allowed.append(0)
        return tuple(allowed)
