"""Pitch by combs on a difference of spectra: what sounds after an onset and did not before, summed at harmonics.

A string that still rings is in both spectra and falls out. Harmonic sums as in Klapuri 2006 (Proc. ISMIR, "Multiple
fundamental frequency estimation by summing harmonic amplitudes"); what lies halfway and a third of the way between
the teeth of a comb counts against it, which keeps octaves and twelfths apart.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.engine import Pitched
from drills.theory.note import hz_of_midi

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drills.listening.heard import Samples

__all__ = ["DEEPEST_MIDI", "HIGHEST_MIDI", "LOWEST_MIDI", "Comb", "comb_reaching", "in_reach", "refined", "spectrum_of"]

LOWEST_MIDI, HIGHEST_MIDI = 33, 90
"""A1 to F#6: from a step below a seventh string to above the highest fret of a guitar."""

DEEPEST_MIDI = 26
"""D1, 37 Hz: a bass guitar is heard from a tone below its E1 on. Deeper combs are used only where they are needed."""

_STEP = 0.1
"""Semitones between two combs."""
_HARMONICS = 10
_FADE = 0.86
"""Weight of each harmonic against the one below it."""
_BETWEEN = 0.55
"""How much of what lies between the teeth is taken away."""
_MOST_HZ = 5000.0
_LOWEST_HZ = 60.0
_LOBE_HZ = 9.0
"""Half the width of a peak in a spectrum of 0.19 s."""
_NOVEL, _HARMONIC = (0.19, 0.26), (0.6, 0.8)
"""Shares of the power after an onset that are new, and of the new power that are harmonic: none of one pluck, and all
of one. On the instruments and seeds that were tuned on, 99 % of plucks had over .35 and .93, and 95 % of clicks and
swells of noise under .21 and .66."""
_PART_S = 0.2
"""The combs look at no more than this: finer spectra would fall between two combs."""


@lru_cache(maxsize=16)
def _combs(
    rate: int, size: int, lowest: int, highest: int
) -> tuple[Samples, NDArray[np.intp], NDArray[np.intp], Samples]:
    """Pitches of the combs, bins of their teeth and of what lies between, and the weight of each tooth."""
    pitches = np.arange(lowest - 0.5, highest + 0.5, _STEP)
    hz = np.array([hz_of_midi(float(pitch)) for pitch in pitches])
    harmonic = np.arange(1, _HARMONICS + 1)
    teeth = np.rint(hz[:, None] * harmonic * size / rate).astype(np.intp)
    places = np.concatenate((harmonic - 1 / 2, harmonic - 1 / 3, harmonic - 2 / 3))
    gaps = np.rint(hz[:, None] * places * size / rate).astype(np.intp)
    weight = np.where(hz[:, None] * harmonic < min(_MOST_HZ, rate * 0.45), _FADE**harmonic, 0.0)
    last = size // 2
    return pitches, np.minimum(teeth, last), np.minimum(gaps, last), weight / weight.sum(axis=1, keepdims=True)


def spectrum_of(samples: Samples, size: int) -> Samples:
    """Magnitudes of `size` samples of which these are the first, so that a sine of amplitude 1 gives about 1."""
    found: Samples = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), size)) / (len(samples) / 4)
    return found


@dataclass(frozen=True, slots=True)
class Comb:
    """The first engine: needs numpy alone. lowest, highest: MIDI numbers of the notes it looks for."""

    name: str = "comb"
    version: int = 1
    lowest: int = LOWEST_MIDI
    highest: int = HIGHEST_MIDI

    def pitch_of(self, before: Samples, after: Samples, rate: int) -> Pitched | None:
        """See `Engine.pitch_of`."""
        size = 1 << round(np.log2(rate * 0.37))
        part = min(len(after), round(_PART_S * rate))
        now, then = spectrum_of(after[:part], size), spectrum_of(before[-part:], size)
        new = np.maximum(now - 1.1 * then, 0.0)
        strongest = float(new.max())
        if strongest < 1e-5:
            return None
        # The square root lets weak harmonics speak; what is 50 dB below the strongest is noise.
        root = np.sqrt(np.maximum(new - strongest * 0.003, 0.0) / strongest)
        pitches, teeth, gaps, weight = _combs(rate, size, self.lowest, self.highest)
        between = root[gaps]
        halves, thirds = between[:, :_HARMONICS], between[:, _HARMONICS:]
        third = np.maximum(thirds[:, :_HARMONICS], thirds[:, _HARMONICS:])
        value = (weight * (root[teeth] - _BETWEEN * halves - _BETWEEN * 0.6 * third)).sum(axis=1)
        best = int(value.argmax())
        top = float(value[best])
        if top <= 0.05:
            return None
        others = value[np.abs(pitches - pitches[best]) > 0.8]
        margin = (top - max(0.0, float(others.max()))) / top
        pitch = refined(now, float(pitches[best]), rate, size)
        if len(after) > part:
            size = 1 << int(np.ceil(np.log2(len(after) * 2)))
            pitch = refined(spectrum_of(after, size), pitch, rate, size)
        sure = min(1.0, max(0.0, margin) * 2.0) * min(1.0, top * 4.0)
        return Pitched(pitch, float(sure) * _is_a_pluck(now, new, pitch, rate))


def comb_reaching(lowest: int) -> Comb:
    """The comb for an instrument whose lowest open string has that MIDI number: the usual one, or a deeper one."""
    return Comb() if lowest >= LOWEST_MIDI else Comb(lowest=max(DEEPEST_MIDI, lowest - 2))


def in_reach(pitches: Iterable[int]) -> bool:
    """Whether every one of these MIDI numbers can be heard at all, D1 to F#6."""
    return all(DEEPEST_MIDI <= midi <= HIGHEST_MIDI for midi in pitches)


def _is_a_pluck(now: Samples, new: Samples, pitch: float, rate: int) -> float:
    """From 0 for a click, a knock or a swell of noise to 1 for a string that was plucked.

    A pluck brings much that was not there, and nearly all of it at the harmonics of its pitch. now: the spectrum
    after the onset. new: what of it was not there before.
    """
    size = 2 * (len(now) - 1)
    low, high = round(_LOWEST_HZ * size / rate), round(_MOST_HZ * size / rate)
    hz = hz_of_midi(pitch)
    bins = np.arange(low, high)
    off = np.abs(bins * rate / size - hz * np.maximum(np.rint(bins * rate / size / hz), 1))
    power = new[low:high] ** 2
    whole = float(power.sum())
    novel = whole / float((now[low:high] ** 2).sum())
    harmonic = float(power[off <= _LOBE_HZ].sum()) / whole
    return min(1.0, max(0.0, (novel - _NOVEL[0]) / (_NOVEL[1] - _NOVEL[0]))) * min(
        1.0, max(0.0, (harmonic - _HARMONIC[0]) / (_HARMONIC[1] - _HARMONIC[0]))
    )


def refined(spectrum: Samples, pitch: float, rate: int, size: int, within: float = 0.25) -> float:
    """A pitch made finer by the peaks of its first harmonics, each as weighty as it is strong.

    spectrum: magnitudes of `size` samples. pitch: semitones, MIDI scale. within: semitones in which each harmonic is
    looked for. The stiffness of a string, which sharpens high harmonics, is fitted along: the pitch is that of the
    string's first harmonic (Fletcher 1964, J. Acoust. Soc. Am. 36: f_n = n f sqrt(1 + B n^2)).
    """
    hz = hz_of_midi(pitch)
    squares, values, weights = [], [], []
    for number in range(1, 9):
        centre = number * hz * size / rate
        low, high = int(centre * 2 ** (-within / 12)), int(np.ceil(centre * 2 ** (within / 12))) + 1
        if high >= len(spectrum) - 1 or number * hz > _MOST_HZ:
            break
        peak = low + int(spectrum[low:high].argmax())
        if not 0 < peak < len(spectrum) - 1 or not spectrum[peak] > max(spectrum[peak - 1], spectrum[peak + 1], 1e-9):
            continue
        left, middle, right = np.log(spectrum[peak - 1 : peak + 2] + 1e-12)
        place = peak + 0.5 * (left - right) / (left - 2 * middle + right)
        found = place * rate / size
        squares.append(float(number * number))
        values.append(float((found / number / hz) ** 2))
        weights.append(float(spectrum[peak]) * number)
    if not weights:
        return pitch
    square, value, weight = np.array(squares), np.array(values), np.array(weights)
    centre_square, centre_value = np.average(square, weights=weight), np.average(value, weights=weight)
    spread = float((weight * (square - centre_square) ** 2).sum())
    slope = float((weight * (square - centre_square) * (value - centre_value)).sum()) / spread if spread else 0.0
    slope = min(max(slope, 0.0), 5e-4)
    first = centre_value - slope * centre_square
    return pitch + 6.0 * float(np.log2(max(first, 1e-6)))
