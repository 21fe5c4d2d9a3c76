"""The two ways a plucked string swings, across the soundboard and along it, and the two decays that come of them.

A string that swings towards the bridge's easy way gives its energy away fast; the other way it keeps it. Both together
fall fast at first and slowly later, and beat a little, since they are not quite in tune (Weinreich 1977, JASA 62, for
the strings of a piano; Lee, Smith and Välimäki 2010, doi 10.1109/TASL.2009.2033979, for a guitar).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.sound.envelope import Samples

__all__ = ["Polarisation"]


@dataclass(frozen=True, slots=True)
class Polarisation:
    """The swing that dies first, beside the one that a string's loop makes.

    share: of the amplitude of the pluck, 0 to 1; 0 is a string that swings one way only. ring: the seconds in which it
    falls by 60 dB, as a share of those of the other, above 0 to 1. flat_cents: how far below the other it is tuned, in
    hundredths of a semitone, 0 or more; the lasting one keeps the pitch of the note.
    """

    share: float
    ring: float
    flat_cents: float

    @property
    def pace(self) -> float:
        """How fast its vibration runs beside the lasting one's: 1 or a little less."""
        return float(2.0 ** (-self.flat_cents / 1200))

    def falls(self, ring_s: float, rate: int) -> float:
        """By what its amplitude is multiplied from sample to sample, beside the lasting one's.

        ring_s: seconds in which the lasting one falls by 60 dB.
        """
        return float(10.0 ** (-3.0 * (1 / self.ring - 1) / (ring_s * rate)))

    def joined(self, lasting: Samples, ring_s: float, rate: int) -> Samples:
        """Return both swings together, of a string of which the lasting one is given from its pluck on.

        A string a little flatter is the same vibration read a little slower; between samples it is read on a straight
        line.
        """
        import numpy as np

        if not self.share:
            return lasting
        places = np.arange(len(lasting))
        early = np.interp(places * self.pace, places, lasting)
        early *= self.falls(ring_s, rate) ** places
        both: Samples = (1 - self.share) * lasting + self.share * early
        return both
