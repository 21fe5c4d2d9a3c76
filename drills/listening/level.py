"""How loud a take is, and whether it is fit to judge: silence, exact zeros, clipping."""

from __future__ import annotations

from dataclasses import dataclass
from math import log10
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["CLIPPED", "QUIET_DB", "Level", "decibels"]

CLIPPED = 0.999
"""A sample this near full scale is taken as cut off."""
QUIET_DB = -55.0
"""A take whose loudest sample lies below this, in decibels against full scale, is too quiet to judge."""


def decibels(value: float) -> float:
    """A share of full scale in decibels, -120 for nothing."""
    return max(-120.0, 20 * log10(value)) if value > 0 else -120.0


@dataclass(frozen=True, slots=True)
class Level:
    """How loud a take was so far.

    peak: the loudest sample, full scale being 1. clipped: how many samples were cut off. taken: how many were
    heard. zeros: how many of them were exactly zero.
    """

    peak: float = 0.0
    clipped: int = 0
    taken: int = 0
    zeros: int = 0

    @classmethod
    def start(cls) -> Level:
        """Nothing taken yet."""
        return cls()

    def take(self, hop: Samples) -> Level:
        """The level after one more hop."""
        size = np.abs(hop)
        return Level(
            max(self.peak, float(size.max())),
            self.clipped + int((size >= CLIPPED).sum()),
            self.taken + len(hop),
            self.zeros + int((hop == 0.0).sum()),
        )

    @property
    def peak_db(self) -> float:
        """The loudest sample in decibels against full scale."""
        return decibels(self.peak)

    @property
    def gives_nothing(self) -> bool:
        """Whether every sample was exactly zero, as where a terminal may not use the microphone."""
        return self.taken > 0 and self.zeros == self.taken
