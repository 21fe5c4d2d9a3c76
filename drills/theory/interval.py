"""Spelled intervals: each has a number of letters and a number of semitones, and transposition keeps both."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from drills.errors import TheoryError
from drills.theory.note import NATURAL_SEMITONES, Note, Pitch

__all__ = ["OCTAVE", "Interval", "transpose_note"]

_PERFECT = {0, 3, 4}
"""Letter distances (within an octave) that are perfect rather than major or minor."""


def _natural(steps: int) -> int:
    """Semitones of the major or perfect interval that many letters wide."""
    octaves, step = divmod(steps, 7)
    return 12 * octaves + NATURAL_SEMITONES[step]


@dataclass(frozen=True, slots=True)
class Interval:
    """A directed spelled interval.

    steps: letters moved, 0 for a unison, 2 for any third, negative downward.
    semitones: sounding size, signed the same way.
    """

    steps: int
    semitones: int

    @classmethod
    def parse(cls, text: str) -> Interval:
        """Reads ``m3``, ``P5``, ``d7``, ``A4``, ``-M2``; raises TheoryError otherwise."""
        match = re.fullmatch(r"(-?)(P|M|m|A{1,3}|d{1,3})([1-9][0-9]?)", text)
        if match is None:
            raise TheoryError(f"interval {text[:40]!r}: expected such as m3, P5, d7 or A4")
        steps = int(match[3]) - 1
        kind, perfect = match[2], steps % 7 in _PERFECT
        if (kind in "Mm" and perfect) or (kind == "P" and not perfect):
            raise TheoryError(f"interval {text!r}: a {match[3]} is {'perfect' if perfect else 'major or minor'}")
        if kind[0] == "A":
            change = len(kind)
        elif kind[0] == "d":
            change = -len(kind) - (not perfect)
        else:
            change = -(kind == "m")
        size = cls(steps, _natural(steps) + change)
        return -size if match[1] else size

    @classmethod
    @lru_cache(maxsize=256)
    def from_degree(cls, label: str) -> Interval:
        """The interval above the root that a degree label names: ``b3``, ``#5``, ``bb7``, ``9``.

        Raises TheoryError when the label is not accidentals and a number from 1 to 15.
        """
        match = re.fullmatch(r"(b{0,3}|#{0,3})([1-9][0-9]?)", label)
        if match is None or int(match[2]) > 15:
            raise TheoryError(f"degree {label[:40]!r}: expected such as 1, b3, #5 or bb7")
        steps = int(match[2]) - 1
        return cls(steps, _natural(steps) + match[1].count("#") - match[1].count("b"))

    @property
    def degree(self) -> str:
        """The degree label against the major scale, e.g. ``b3``; for intervals of 0 steps or more."""
        change = self.semitones - _natural(self.steps)
        return "#" * change + "b" * -change + str(self.steps + 1)

    @property
    def name(self) -> str:
        """E.g. ``m3`` or ``-P5``."""
        if self.steps < 0 or (self.steps == 0 and self.semitones < 0):
            return "-" + (-self).name
        change = self.semitones - _natural(self.steps)
        perfect = self.steps % 7 in _PERFECT
        if change == 0:
            kind = "P" if perfect else "M"
        elif change > 0:
            kind = "A" * change
        elif perfect:
            kind = "d" * -change
        else:
            kind = "m" if change == -1 else "d" * (-change - 1)
        return f"{kind}{self.steps + 1}"

    @property
    def simple(self) -> Interval:
        """The same interval within one octave upward."""
        octaves = self.steps // 7
        return Interval(self.steps - 7 * octaves, self.semitones - 12 * octaves)

    def __neg__(self) -> Interval:
        return Interval(-self.steps, -self.semitones)

    def __add__(self, other: Interval) -> Interval:
        return Interval(self.steps + other.steps, self.semitones + other.semitones)

    def __sub__(self, other: Interval) -> Interval:
        return self + -other

    def __radd__(self, pitch: Pitch) -> Pitch:
        """``pitch + interval``: the pitch that many letters and semitones away."""
        if not isinstance(pitch, Pitch):
            return NotImplemented
        octave, step = divmod(pitch.diatonic_number + self.steps, 7)
        natural = 12 * (octave + 1) + NATURAL_SEMITONES[step]
        return Pitch(Note(step, pitch.midi + self.semitones - natural), octave)

    @classmethod
    def between(cls, low: Pitch, high: Pitch) -> Interval:
        """The interval from one pitch to another."""
        return cls(high.diatonic_number - low.diatonic_number, high.midi - low.midi)

    def __str__(self) -> str:
        return self.name


OCTAVE = Interval(7, 12)


@lru_cache(maxsize=4096)
def transpose_note(note: Note, interval: Interval) -> Note:
    """The note name an interval away; by letters, so D plus a major third is F#, never Gb."""
    octaves, step = divmod(note.step + interval.steps, 7)
    return Note(step, note.semitones + interval.semitones - 12 * octaves - NATURAL_SEMITONES[step])
