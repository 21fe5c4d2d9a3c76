"""Makes notes from onsets: one tuning for the whole take, weak pitches left out, a pitch that sounds on taken once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, cos, pi, sin
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.listening.heard import Heard

__all__ = ["CERTAIN", "HeardNote", "notes_of", "tuning_of"]

CERTAIN, _WEAK = 0.4, 0.15
"""From the first on a pitch may be held against the player; below the second there is no pitch."""


@dataclass(frozen=True, slots=True)
class HeardNote:
    """One note: seconds, MIDI number in the guitar's own tuning or None where unpitched, and how sure, 0 to 1."""

    at_s: float
    midi: int | None
    sure: float

    @property
    def certain(self) -> bool:
        """Whether it may be called wrong."""
        return self.midi is not None and self.sure >= CERTAIN


def tuning_of(heard: Sequence[Heard]) -> float | None:
    """Cents by which the guitar lies above A4 = 440 Hz, -50 to 50; None where no pitch was heard.

    The circular mean, each note as weighty as it is sure: a guitar 45 cents high and one 55 cents low are one.
    """
    pitched = [note for note in heard if note.midi is not None and note.sure >= _WEAK]
    if not pitched:
        return None
    across = sum(note.sure * cos(2 * pi * note.cents / 100) for note in pitched)
    up = sum(note.sure * sin(2 * pi * note.cents / 100) for note in pitched)
    return atan2(up, across) / (2 * pi) * 100


def notes_of(heard: Sequence[Heard]) -> tuple[HeardNote, ...]:
    """The notes of a take, oldest first.

    The same pitch again is no new note: a string that beats, or a finger that comes down late, sounds as one.
    """
    tuning = tuning_of(heard) or 0.0
    notes: list[HeardNote] = []
    last: int | None = None
    for one in heard:
        if one.pitch is None or one.sure < _WEAK:
            notes.append(HeardNote(one.at_s, None, 0.0))
            continue
        midi = round(one.pitch - tuning / 100)
        if midi != last:
            notes.append(HeardNote(one.at_s, midi, one.sure))
        last = midi
    return tuple(notes)
