"""Drums by feel: ride, foot hi-hat, brushes, side stick and bass drum, a bar at a time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from drills.changes.changes import Changes, Metre
from drills.harmony.chord_timeline import bar_starts
from drills.lines.rhythm import pulses

__all__ = ["BRUSH_SWEEP", "BRUSH_TAP", "CLOSED_HAT", "FOOT_HAT", "KICK", "RIDE", "SIDE_STICK", "DrumStroke", "drums"]

KICK, SIDE_STICK, BRUSH_TAP, BRUSH_SWEEP, CLOSED_HAT, FOOT_HAT, RIDE = 36, 37, 38, 40, 42, 44, 51
"""General MIDI level 1 percussion: bass drum 1, side stick, snares, hi-hats, ride cymbal 1. The two snares stand for
the tap and the sweep of a brush."""


@dataclass(frozen=True, slots=True)
class DrumStroke:
    """A stroke: where, in quarter notes, what (a key of General MIDI percussion), how hard, 0 to 1, and for a sweep how
    long."""

    start: Fraction
    key: int
    loudness: float
    length: Fraction = Fraction(1, 2)


def drums(changes: Changes, feel: str, *, seed: int = 0) -> tuple[DrumStroke, ...]:
    """The drums of one chorus, in order. feel: swing, ballad, straight or waltz. No two bars are struck quite alike."""
    random = Random(f"drums {feel} {seed}")
    found = []
    for number, (bar, start) in enumerate(zip(changes.bars, bar_starts(changes)[:-1], strict=True)):
        lean = 1.04 if number % 8 == 0 else 1.0  # a phrase of eight begins a little stronger
        for stroke in _bar(bar.metre, feel, number):
            loud = min(1.0, max(0.05, stroke.loudness * lean + random.uniform(-0.03, 0.03)))
            found.append(DrumStroke(start + stroke.start, stroke.key, round(loud, 3), stroke.length))
    return tuple(sorted(found, key=lambda each: (each.start, each.key)))


def _bar(metre: Metre, feel: str, number: int) -> Iterator[DrumStroke]:
    if metre.unit > 4:
        return _eighths(metre)
    return {"swing": _swing, "waltz": _swing, "ballad": _ballad, "straight": _straight}[feel](metre, number)


def _swing(metre: Metre, number: int) -> Iterator[DrumStroke]:
    """The ride: every beat, and the half after every second one; the foot on two and four, in three on two."""
    half = Fraction(1, 2)
    felt = pulses(metre)
    for index, place in enumerate(felt):
        off = index % 2 == 1
        yield DrumStroke(place, RIDE, 0.62 if off else 0.54)
        if off:
            yield DrumStroke(place, FOOT_HAT, 0.5)
            if place + half < metre.quarters:
                yield DrumStroke(place + half, RIDE, 0.46)
    yield DrumStroke(Fraction(0), KICK, 0.26)


def _ballad(metre: Metre, number: int) -> Iterator[DrumStroke]:
    """A brush that sweeps from beat to beat, tapped on two and four; the foot lightly with the taps."""
    for index, place in enumerate(pulses(metre)):
        yield DrumStroke(place, BRUSH_SWEEP, 0.36 if index % 2 else 0.42, Fraction(1))
        if index % 2:
            yield DrumStroke(place, BRUSH_TAP, 0.4)
            yield DrumStroke(place, FOOT_HAT, 0.3)


def _straight(metre: Metre, number: int) -> Iterator[DrumStroke]:
    """Even eighths on the hi-hat, a side stick in a two-bar figure, bass drum on one and around the middle."""
    half = Fraction(1, 2)
    places = [half * count for count in range(int(metre.quarters / half))]
    sticks = ((Fraction(0), Fraction(3, 2), Fraction(3)), (Fraction(1), Fraction(5, 2)))[number % 2]
    for index, place in enumerate(places):
        yield DrumStroke(place, CLOSED_HAT, 0.42 if index % 2 == 0 else 0.34)
        if place in sticks:
            yield DrumStroke(place, SIDE_STICK, 0.5)
    middle = metre.quarters / 2
    for place, loud in ((Fraction(0), 0.5), (middle - half, 0.36), (middle, 0.46), (metre.quarters - half, 0.34)):
        if place >= 0:
            yield DrumStroke(place, KICK, loud)


def _eighths(metre: Metre) -> Iterator[DrumStroke]:
    """Metres counted in eighths: the hi-hat on every eighth, leaned on where the beat is felt."""
    unit = Fraction(4, metre.unit)
    felt = set(pulses(metre))
    for count in range(metre.beats):
        place = unit * count
        yield DrumStroke(place, CLOSED_HAT, 0.46 if place in felt else 0.32)
    yield DrumStroke(Fraction(0), KICK, 0.48)
