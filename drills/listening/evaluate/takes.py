"""Takes whose truth is known: a shape played right or with a known fault, on an instrument, under a disturbance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.evaluate.instruments import HIGHEST, RATE, Instrument

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["DISTURBANCES", "FAULTS", "FAULTS_OF_ONE", "Take", "pink", "stopped", "take"]

FAULTS = ("none", "loose", "wrong", "octave", "missing", "extra", "mended", "hesitation")
"""What the player does: in time, right but beside the click, and six faults."""

FAULTS_OF_ONE = ("none", "wrong", "octave")
"""Those that a single note can have."""

DISTURBANCES = ("none", "ringing", "noise 20 dB", "noise 10 dB", "hum", "room", "click", "all")

_LEAD_S, _TAIL_S = 0.6, 2.2
_SPREAD_S, _MOST_S = 0.015, 0.04
_CLICK_DB = -12.0


@dataclass(frozen=True, slots=True, eq=False)
class Take:
    """One take and its truth.

    samples: at `rate`. asked: MIDI numbers. played: seconds and MIDI number of each pluck. right: for each note asked,
    whether it was played right in its place; None where it was not played. grade: the true one. click_s: seconds to
    the first note's click. tempo_bpm: one note a click, None without a click. cents: how high the guitar is tuned, None
    where that is not known.
    """

    samples: Samples
    asked: tuple[int, ...]
    played: tuple[tuple[float, int], ...]
    right: tuple[bool | None, ...]
    grade: str
    tempo_bpm: float | None
    click_s: float
    cents: float | None
    instrument: Instrument
    fault: str
    disturbance: str
    rate: int = RATE


def take(asked: Sequence[int], instrument: Instrument, fault: str, disturbance: str, seed: int) -> Take:
    """A take by chance; the same seed gives the same. Of a single note only FAULTS_OF_ONE are possible."""
    rng = np.random.default_rng(seed)
    tempo = float(rng.uniform(50, 120))
    beat = 60 / tempo
    plan: list[tuple[float, int]] = [(number * beat, midi) for number, midi in enumerate(asked)]
    right: list[bool | None] = [True] * len(asked)
    place = int(rng.integers(1, len(asked) - 1)) if len(asked) > 2 else 0
    beside = (*asked[max(0, place - 1) : place], *asked[place + 1 : place + 2])
    other = int(asked[place] + rng.choice([-2, -1, 1, 2]))
    while other in beside:
        other = int(asked[place] + rng.choice([-2, -1, 1, 2]))
    grade = {"none": "in-time", "loose": "clean", "wrong": "looked", "octave": "looked", "missing": "looked"}.get(
        fault, "found-it"
    )
    if fault == "loose":
        plan = [(at + number * rng.uniform(0.05, 0.09), midi) for number, (at, midi) in enumerate(plan)]
    elif fault == "wrong":
        plan[place] = (plan[place][0], other)
        right[place] = False
    elif fault == "octave":
        plan[place] = (plan[place][0], asked[place] + (12 if asked[place] + 12 <= HIGHEST else -12))
        right[place] = False
    elif fault == "missing":
        # The hand goes on at once: a rest would be a stop.
        plan = plan[:place] + [(at - beat, midi) for at, midi in plan[place + 1 :]]
        right[place] = None
    elif fault == "extra":
        plan.insert(place, (plan[place][0] - beat / 2, other))
    elif fault == "mended":
        plan = [*plan[:place], (plan[place][0], other), *((at + beat * 0.8, midi) for at, midi in plan[place:])]
    elif fault == "hesitation":
        wait = max(0.9, 1.1 * beat)
        plan = plan[:place] + [(at + wait, midi) for at, midi in plan[place:]]
    jitter = np.clip(rng.normal(0, _SPREAD_S, len(plan)), -_MOST_S, _MOST_S)
    played = tuple((_LEAD_S + at + float(late), midi) for (at, midi), late in zip(plan, jitter, strict=True))
    cents = float(rng.uniform(-30, 30))
    clean = _sounded(played, instrument, cents, disturbance in ("ringing", "all"), rng)
    samples = _disturbed(clean, disturbance, beat, rng)
    return Take(
        samples, tuple(asked), played, tuple(right), grade, tempo, _LEAD_S, cents, instrument, fault, disturbance
    )


def _sounded(
    played: Sequence[tuple[float, int]], instrument: Instrument, cents: float, ringing: bool, rng: np.random.Generator
) -> Samples:
    sound = np.zeros(round((played[-1][0] + _TAIL_S) * RATE))
    for number, (at, midi) in enumerate(played):
        note = instrument.struck(midi, cents, rng)
        until = played[number + 1][0] - at if number + 1 < len(played) else 1.5
        note = stopped(note, 1.5 if ringing else min(until, 1.5))
        first = round(at * RATE)
        room = len(sound) - first
        sound[first : first + len(note)] += note[:room]
    peak = float(np.abs(sound).max())
    return sound * float(10 ** (rng.uniform(-20, -4) / 20) / peak)


def stopped(note: Samples, after_s: float) -> Samples:
    """A note that is stopped after so many seconds, within 30 ms."""
    last = min(len(note), max(1, round(after_s * RATE)))
    fade = min(last, round(0.03 * RATE))
    ended = note[:last].copy()
    ended[last - fade :] *= np.linspace(1.0, 0.0, fade)
    return ended


def pink(count: int, rng: np.random.Generator) -> Samples:
    """Noise whose power falls by 3 dB an octave, root mean square 1."""
    # A power of two: a length that is a large prime takes ten times as long.
    spectrum = np.fft.rfft(rng.normal(0, 1, 1 << int(np.ceil(np.log2(count)))))
    spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)), 1))
    noise = np.fft.irfft(spectrum)[:count]
    levelled: Samples = noise / np.sqrt(np.mean(noise**2))
    return levelled


def _disturbed(sound: Samples, disturbance: str, beat: float, rng: np.random.Generator) -> Samples:
    level = float(np.sqrt(np.mean(sound**2)))
    count = len(sound)
    every = disturbance == "all"
    made = sound.copy()
    if disturbance == "room" or every:
        # Sparse early reflections and a tail of noise that falls by 60 dB in 0.35 s.
        length = round(0.35 * RATE)
        tail = rng.normal(0, 1, length) * 10 ** (-3 * np.arange(length) / length) * 0.02
        size = 1 << int(np.ceil(np.log2(count + length)))
        made += np.fft.irfft(np.fft.rfft(made, size) * np.fft.rfft(tail, size), size)[:count]
    if disturbance == "hum" or every:
        seconds = np.arange(count) / RATE
        made += level * 0.1 * (np.sin(2 * np.pi * 50 * seconds) + 0.4 * np.sin(2 * np.pi * 150 * seconds + 1))
    if disturbance == "click" or every:
        loud = float(np.abs(sound).max()) * 10 ** (_CLICK_DB / 20)
        length = round(0.004 * RATE)
        for at in np.arange(_LEAD_S, count / RATE - 0.1, beat):
            first = round(float(at) * RATE)
            made[first : first + length] += loud * rng.uniform(-1, 1, length) * np.hanning(length)
    below = {"noise 20 dB": 20.0, "noise 10 dB": 10.0, "all": 20.0}.get(disturbance, 55.0)
    return made + pink(count, rng) * level * 10 ** (-below / 20)
