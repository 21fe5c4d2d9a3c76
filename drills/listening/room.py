"""The room and the way of the sound: noise before the first note, hum of the mains, round trip and bleed of clicks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.level import decibels

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = [
    "HUM_DB", "NOISY_DB", "STEADY_S", "Noise", "RoundTrip", "StartDelay", "noise_of", "round_trip", "start_delay",
]  # fmt: skip

NOISY_DB = -40.0
"""Noise above this, in decibels against full scale, hides quiet notes (chosen; a guitar peaks at -20 to -6)."""
HUM_DB = 15.0
"""Decibels by which the mains has to stand out of the noise around it to be called hum."""

STEADY_S = 0.01
"""Starts that differ by no more than this leave a note within 60 ms of its click to be judged (chosen: a sixth)."""
_FEWEST_STARTS = 3

_HUM_HZ = (50.0, 60.0, 100.0, 120.0)


@dataclass(frozen=True, slots=True)
class Noise:
    """noise_db: root mean square against full scale. hum_hz: 50 or 60 where the mains is heard, else None."""

    noise_db: float
    hum_hz: int | None


def noise_of(samples: Samples, rate: int) -> Noise:
    """The noise in a stretch in which nobody plays, of 0.3 s or more. rate: samples a second."""
    level = decibels(float(np.sqrt(np.mean(samples**2)))) if len(samples) else -120.0
    if len(samples) < 0.3 * rate or level <= -100:
        return Noise(level, None)
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
    bin_hz = rate / len(samples)
    found = {}
    for hz in _HUM_HZ:
        at = round(hz / bin_hz)
        around = spectrum[max(1, round((hz - 25) / bin_hz)) : round((hz + 25) / bin_hz)]
        peak = spectrum[max(0, at - 2) : at + 3].max()
        found[hz] = 10 * float(np.log10((peak + 1e-20) / (np.median(around) + 1e-20)))
    fifty, sixty = max(found[50.0], found[100.0]), max(found[60.0], found[120.0])
    if max(fifty, sixty) < HUM_DB:
        return Noise(level, None)
    return Noise(level, 50 if fifty >= sixty else 60)


@dataclass(frozen=True, slots=True)
class RoundTrip:
    """seconds: from the click being handed to the speaker to its coming in. bleed_db: its level as it comes in."""

    seconds: float
    bleed_db: float


def round_trip(recorded: Samples, click: Samples, starts_s: tuple[float, ...], rate: int) -> RoundTrip | None:
    """Finds a click that was played at known times in what came in; None where it cannot be heard.

    recorded: what came in since the time from which `starts_s` count. click: the samples of one click. Looks up to
    0.6 s late. The correlations of all clicks are added, so that a note between two of them does no harm.
    """
    span = round(0.6 * rate)
    total = np.zeros(span)
    used = 0
    for start in starts_s:
        first = round(start * rate)
        part = recorded[first : first + span + len(click)]
        if len(part) == span + len(click):
            size = 1 << int(np.ceil(np.log2(len(part) + len(click))))
            found = np.fft.irfft(np.fft.rfft(part, size) * np.conj(np.fft.rfft(click, size)), size)[:span]
            total += found
            used += 1
    if not used:
        return None
    strength = np.abs(total)
    at = int(strength.argmax())
    if strength[at] < 8 * np.median(strength) or strength[at] < 1e-9:
        return None
    energy = float((click**2).sum())
    gain = float(strength[at]) / used / energy
    return RoundTrip(at / rate, decibels(gain * float(np.abs(click).max())))


@dataclass(frozen=True, slots=True)
class StartDelay:
    """What several starts of a sound had in common.

    seconds: the middle of their round trips. spread_s: between the shortest and the longest. starts: how many were
    heard. bleed_db: the level of the click as it comes in.
    """

    seconds: float
    spread_s: float
    starts: int
    bleed_db: float

    @property
    def steady(self) -> bool:
        """Whether notes may be timed by it."""
        return self.starts >= _FEWEST_STARTS and self.spread_s <= STEADY_S


def start_delay(trips: Sequence[RoundTrip | None]) -> StartDelay | None:
    """What the round trips of several starts come to; None where no start was heard."""
    heard = [trip for trip in trips if trip is not None]
    if not heard:
        return None
    seconds = sorted(trip.seconds for trip in heard)
    loudest = max(trip.bleed_db for trip in heard)
    return StartDelay(median(seconds), seconds[-1] - seconds[0], len(heard), loudest)
