"""What kind of sound a note is: a plucked string dies away, an overdriven one goes on and hisses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["Timbre", "overdriven", "timbre_of"]

_PART_S = 0.06
_SPLIT_HZ, _LOWEST_HZ, _HIGHEST_HZ = 1500.0, 60.0, 5000.0
_DECAY_DB, _BRIGHT_DB = 1.2, -9.5
"""An overdriven note falls by less than the first and is brighter than the second. Of sampled nylon and steel strings
and of plucked ones none is both; a clean electric one is as bright and falls by 4 dB or more."""
_FEWEST = 3


@dataclass(frozen=True, slots=True)
class Timbre:
    """decay_db: how far a note falls from its first 60 ms to its last. bright_db: power above 1500 Hz to below."""

    decay_db: float
    bright_db: float


def timbre_of(samples: Samples, rate: int) -> Timbre | None:
    """The timbre of one note; None where it is shorter than 0.15 s or silent. rate: samples a second."""
    part = round(_PART_S * rate)
    if len(samples) < 2.5 * part:
        return None
    first, last = float((samples[:part] ** 2).sum()), float((samples[-part:] ** 2).sum())
    power = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
    bins = [round(hz * len(samples) / rate) for hz in (_LOWEST_HZ, _SPLIT_HZ, _HIGHEST_HZ)]
    below, above = float(power[bins[0] : bins[1]].sum()), float(power[bins[1] : bins[2]].sum())
    if min(first, last, below, above) <= 0:
        return None
    return Timbre(10 * float(np.log10(first / last)), 10 * float(np.log10(above / below)))


def overdriven(timbres: Sequence[Timbre]) -> bool:
    """Whether most notes of a take are overdriven; three are needed to say so."""
    if len(timbres) < _FEWEST:
        return False
    return median(t.decay_db for t in timbres) < _DECAY_DB and median(t.bright_db for t in timbres) > _BRIGHT_DB
