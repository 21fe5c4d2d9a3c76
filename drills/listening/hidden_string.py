"""Whether a string of a grip can be told from a lower one whose overtones lie where its own do.

A twelfth above the lowest string, as the fifth of many grips is, every harmonic of a note is one of that string too.
What tells them apart is the exact place: overtones of a stiff string lie sharp (Fletcher 1964, where f_n is n f times
the square root of 1 + B n^2), and two strings are never in tune to the cent. So the lower string is measured by the
harmonics nobody shares, and where what is found at the shared ones lies just where it has them, the upper string may
be silent.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.partials import MOST_HZ, harmonics_of

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["hidden_by_another"]

_MOST_MULTIPLE, _MULTIPLE_SEMITONES = 8, 0.2
"""A note this near so low a harmonic of another string is an overtone of it."""
_MEASURED, _FEWEST, _STIFFEST = 13, 3, 6e-4
"""So many harmonics of the lower string are looked at; from so few of its own it cannot be measured; and the stiffest
string there is (Fletcher 1964 has B up to 3e-4 on guitars)."""
_NEAR_CENTS, _SHARED_CENTS = 25.0, 30.0
_SHARED_FROM, _SHARED_TO = 2, 4
"""Harmonics of the upper string by which it is told: the first is moved by the body, the higher ones are faint."""
_APART_CENTS = 0.8
"""Where the shared ones lie this far from the lower string's on the average, weighed by strength, both sound. Chosen on
seeds from 7,000: of 66 silent strings that would be called right 15 % lay as far, of 135 that sounded 97 %."""


def hidden_by_another(midi: int, others: Sequence[int], cents: float, peaks: Samples, db: Samples) -> bool:
    """Whether all that was found of a note may be the overtones of another string.

    midi: its MIDI number. others: those of the strings struck with it. cents: the tuning. peaks, db: what sounds, in Hz
    and decibels. False for a note that is no overtone of another.
    """
    return any(
        _just_overtones(midi, low, [other for other in others if other != low], cents, peaks, db)
        for low in others
        if any(abs(midi - low - 12 * np.log2(k)) <= _MULTIPLE_SEMITONES for k in range(2, _MOST_MULTIPLE + 1))
    )


def _just_overtones(midi: int, low: int, rest: Sequence[int], cents: float, peaks: Samples, db: Samples) -> bool:
    """Whether what is found at the harmonics that two strings share lies just where the lower one has them."""
    multiple = round(2 ** ((midi - low) / 12))
    theirs = np.concatenate([harmonics_of(other, cents, 30, np.inf) for other in rest]) if rest else np.zeros(1)

    def shared(hz: float) -> bool:
        """Whether a third string has a harmonic there."""
        return bool((np.abs(1200 * np.log2(np.maximum(theirs, 1) / hz)) <= _SHARED_CENTS).any())

    def nearest(hz: float) -> tuple[float, float] | None:
        """The strongest peak beside a frequency, in Hz, and its weight; None where there is none."""
        near = np.abs(1200 * np.log2(peaks / hz)) <= _NEAR_CENTS
        if not near.any():
            return None
        best = int(np.where(near, db, -np.inf).argmax())
        return float(peaks[best]), float(10 ** (db[best] / 40))

    own = [
        (number, float(hz))
        for number, hz in enumerate(harmonics_of(low, cents, _MEASURED, np.inf), start=1)
        if number % multiple and not shared(float(hz))
    ]
    squares, values, weights = [], [], []
    for number, hz in own:
        if (found := nearest(hz)) is not None:
            squares.append(float(number**2))
            values.append((found[0] / number) ** 2)
            weights.append(found[1])
    if len(own) >= _FEWEST > len(squares):
        return False  # the lower string does not sound, at least not at its pitch
    if len(squares) < _FEWEST:
        return True
    square, value, weight = np.array(squares), np.array(values), np.array(weights)
    # The line through (f_n / n)^2 over n^2 has its height at 0 from the pitch, and its slope from the stiffness.
    slope, height = np.polyfit(square, value, 1, w=np.sqrt(weight))
    stiff = float(np.clip(slope / height, 0.0, _STIFFEST))
    first = float(np.average(value / (1 + stiff * square), weights=weight))
    away, weighed = 0.0, 0.0
    for number in range(_SHARED_FROM * multiple, _SHARED_TO * multiple + 1, multiple):
        hz = number * float(np.sqrt(first * (1 + stiff * number**2)))
        if hz < MOST_HZ * 1.1 and not shared(hz) and (found := nearest(hz)) is not None:
            away += found[1] * abs(1200 * float(np.log2(found[0] / hz)))
            weighed += found[1]
    return away < _APART_CENTS * weighed or not weighed
