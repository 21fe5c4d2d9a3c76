"""Finds where notes begin: bands of the spectrum that rise, in decibels, so that loud and quiet playing are alike."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.hops import HOP_S, hop_size

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["Onsets"]

_WINDOW_S = 0.023
_LOWEST_HZ, _HIGHEST_HZ, _BANDS = 150.0, 5500.0, 26
_RANGE_DB = 45.0
"""What lies further than this below the loudest of the last seconds counts as silence."""
_FLOOR_DB = -95.0
_FORGET_DB = 4.0 * HOP_S
"""Decibels a hop by which the loudest is forgotten."""
_BACK = 4
"""Hops between the two looks that are compared."""
_RISE_DB = 2.6
"""Mean rise over all bands that is an onset."""
_AROUND = 5
"""Hops on either side of which an onset has to be the steepest."""
_CENTRE_S = 0.004
"""Mean lateness of the steepest rise against the pluck, measured on synthesized plucks."""


@lru_cache(maxsize=8)
def _bands(rate: int) -> tuple[int, Samples, tuple[int, ...]]:
    """Length of the window in samples, the window, and the first bin of each band."""
    size = 1 << round(np.log2(rate * _WINDOW_S))
    edges = np.geomspace(_LOWEST_HZ, min(_HIGHEST_HZ, rate * 0.45), _BANDS + 1) * size / rate
    bins = sorted({max(1, round(float(edge))) for edge in edges})
    return size, np.hanning(size), tuple(bins)


@dataclass(frozen=True, slots=True, eq=False)
class Onsets:
    """What is remembered of the sound to find the next onset.

    past: the last samples, one window. levels: the last spectra in decibels, oldest first. rises: the last rises.
    loudest_db: the loudest band of the last seconds. hop: hops taken so far.
    """

    rate: int
    past: Samples
    levels: tuple[Samples, ...] = ()
    rises: tuple[float, ...] = ()
    loudest_db: float = _FLOOR_DB
    hop: int = 0

    @classmethod
    def start(cls, rate: int) -> Onsets:
        """Silence so far."""
        return cls(rate, np.zeros(_bands(rate)[0]))

    def take(self, hop: Samples) -> tuple[Onsets, float | None]:
        """What is remembered after a hop, and the seconds at which an onset lay, told 25 ms late."""
        size, window, bins = _bands(self.rate)
        past = np.concatenate((self.past[len(hop) :], hop))
        power = np.abs(np.fft.rfft(past * window)) ** 2 / (size * size / 16)
        summed = np.add.reduceat(power, bins)[:-1]
        level = 10 * np.log10(summed + 1e-12)
        loudest = max(_FLOOR_DB, float(level.max()), self.loudest_db - _FORGET_DB)
        levels = (*self.levels[-_BACK:], level)
        floor = max(loudest - _RANGE_DB, _FLOOR_DB + 15)
        before = np.maximum(np.maximum(levels[0], levels[min(1, len(levels) - 1)]), floor)
        rise = float(np.maximum(np.maximum(level, floor) - before, 0).mean())
        rises = (*self.rises[-2 * _AROUND :], rise)
        found = None
        if len(rises) == 2 * _AROUND + 1:
            middle = rises[_AROUND]
            if middle >= _RISE_DB and middle == max(rises) and middle > max(rises[:_AROUND]):
                ended = (self.hop + 1 - _AROUND) * hop_size(self.rate) / self.rate
                found = ended - size / self.rate / 2 - _BACK * HOP_S / 2 + _WINDOW_S / 4 - _CENTRE_S
        return replace(self, past=past, levels=levels, rises=rises, loudest_db=loudest, hop=self.hop + 1), found
