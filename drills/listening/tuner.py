"""The tuner: how far each open string lies from the player's tuning, and whether there is a capo."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drills.listening.ears import Ears

if TYPE_CHECKING:
    from drills.listening.heard import Heard

__all__ = ["IN_TUNE_CENTS", "StringHeard", "Tuned", "tuned", "tuner_ears"]

IN_TUNE_CENTS = 5.0
"""Within this a string is called in tune (about the least change of pitch that is heard in a complex tone: Moore,
An Introduction to the Psychology of Hearing, chapter 6)."""

_LONGEST_S = 0.8
_FURTHEST = 2.5
"""Semitones beyond which what was heard is none of the strings."""
_LOWEST_SHIFT, _HIGHEST_SHIFT = -3, 12
_SHIFT_COST = 0.12
"""Semitones for which one fret of capo is taken: no capo is believed before a capo."""
_SURE = 0.2


@dataclass(frozen=True, slots=True)
class StringHeard:
    """One open string. string: 1 is the highest. cents: above where it belongs, negative below."""

    string: int
    cents: float

    @property
    def in_tune(self) -> bool:
        """Whether nobody would hear that it is off."""
        return abs(self.cents) <= IN_TUNE_CENTS


@dataclass(frozen=True, slots=True)
class Tuned:
    """What the tuner found.

    strings: those heard, the highest number first. missing: numbers of those not heard. shift: semitones by which
    all of them lie above the tuning: a capo where it is above 0, tuned down where below.
    """

    strings: tuple[StringHeard, ...]
    missing: tuple[int, ...]
    shift: int


def tuner_ears(rate: int) -> Ears:
    """Ears that listen to each note for 0.8 s, which a cent takes. rate: samples a second."""
    return Ears.start(rate, longest_s=_LONGEST_S)


def tuned(heard: Iterable[Heard], open_midi: Sequence[int]) -> Tuned:
    """What was heard against the open strings; the last of two readings of a string counts.

    open_midi: MIDI numbers of the open strings, from the highest-numbered string to string 1.
    """
    pitches = [note.pitch for note in heard if note.pitch is not None and note.sure >= _SURE]

    def cost(shift: int) -> float:
        # Two strings heard as one count as one string not found.
        found = _assigned(pitches, open_midi, shift)
        away = sum(min(abs(p - m - shift) for m in open_midi) for p in pitches)
        return away + (len({round(p) for p in pitches}) - len(found)) + _SHIFT_COST * abs(shift)

    shift = min(range(_LOWEST_SHIFT, _HIGHEST_SHIFT + 1), key=cost) if pitches else 0
    found = _assigned(pitches, open_midi, shift)
    count = len(open_midi)
    strings = tuple(StringHeard(s, round(found[s] * 100, 2)) for s in range(count, 0, -1) if s in found)
    return Tuned(strings, tuple(s for s in range(count, 0, -1) if s not in found), shift)


def _assigned(pitches: Sequence[float], open_midi: Sequence[int], shift: int) -> dict[int, float]:
    """Semitones off for each string number."""
    found: dict[int, float] = {}
    for pitch in pitches:
        place = min(range(len(open_midi)), key=lambda index: abs(pitch - open_midi[index] - shift))
        off = pitch - open_midi[place] - shift
        if abs(off) <= _FURTHEST:
            found[len(open_midi) - place] = off
    return found
