"""Partials of plucked strings: the peaks that a stroke brought, and where the harmonics of a note lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drills.theory.note import hz_of_midi

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["LOWEST_DB", "MOST_HZ", "harmonics_of", "new_peaks"]

LOWEST_DB = -48.0
"""A peak this far below the strongest counts nothing."""
MOST_HZ = 4000.0
"""Harmonics are looked for up to here."""
_HARMONICS = 8
_STIFF = 1e-4
"""Inharmonicity of a guitar string, a middle value (Fletcher 1964: f_n = n f sqrt(1 + B n^2), B of 2e-5 to 3e-4)."""
_AROUND_BINS, _OUT_DB = 256, 13.0


def new_peaks(before: Samples, after: Samples, rate: int) -> tuple[Samples, Samples]:
    """Frequencies of the peaks that are new, and how far each lies below the strongest, in decibels."""
    size = 1 << int(np.ceil(np.log2(len(after) * 2)))
    now = np.abs(np.fft.rfft(after * np.hanning(len(after)), size)) / (len(after) / 4)
    then = np.abs(np.fft.rfft(before * np.hanning(len(before)), size)) / (len(before) / 4)
    new = np.maximum(now - 1.1 * then, 1e-12)
    high = min(len(new) - 1, round(MOST_HZ * 1.1 * size / rate))
    middle = new[1 : high - 1]
    at = 1 + np.flatnonzero((middle > new[: high - 2]) & (middle >= new[2:high]))
    if not len(at):
        return np.zeros(0), np.zeros(0)
    left, centre, right = np.log(now[at - 1] + 1e-12), np.log(now[at] + 1e-12), np.log(now[at + 1] + 1e-12)
    curve = left - 2 * centre + right
    # A peak of what is new need not be one of what is there: then its bin is all that is known.
    place = at + np.clip(np.where(curve < 0, 0.5 * (left - right) / np.where(curve < 0, curve, -1.0), 0.0), -0.9, 0.9)
    db = 20 * np.log10(new[at])
    db -= float(db.max())
    # What stands out of the noise around it is a peak; half the bins around hold no harmonic.
    blocks = np.array([np.median(now[first : first + _AROUND_BINS]) for first in range(0, high, _AROUND_BINS)])
    floor = np.interp(at, np.arange(len(blocks)) * _AROUND_BINS + _AROUND_BINS / 2, blocks)
    kept = (db > LOWEST_DB) & (20 * np.log10(now[at] / (floor + 1e-12)) > _OUT_DB)
    found: tuple[Samples, Samples] = place[kept] * rate / size, db[kept]
    return found


def harmonics_of(midi: int, cents: float, count: int = _HARMONICS, most_hz: float = MOST_HZ) -> Samples:
    """Frequencies of the first harmonics of a note.

    midi: its MIDI number. cents: how far the guitar lies above A4 = 440 Hz. count, most_hz: no more, and none higher.
    """
    number = np.arange(1, count + 1)
    hz: Samples = hz_of_midi(midi + cents / 100) * number * np.sqrt((1 + _STIFF * number**2) / (1 + _STIFF))
    return hz[hz < most_hz]
