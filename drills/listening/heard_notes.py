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
_FAINT, _IN_TUNE_CENTS = 0.02, 5.0
"""A weak pitch may have been a note from the first on, and any that lies so near the tuning of the take: those of
clicks and noise lie anywhere, and of eleven of plucks that were too weak to be pitched all but one lay within it."""


@dataclass(frozen=True, slots=True)
class HeardNote:
    """One note.

    at_s: seconds from the start of the take. midi: its number in the guitar's own tuning, None where it has no pitch
    to speak of. sure: of the pitch, 0 to 1. faint: of one without a pitch, the MIDI number it would have if the weak
    one that was found were believed; None where none was found. credible: whether that weak one may have been a note.
    """

    at_s: float
    midi: int | None
    sure: float
    faint: int | None = None
    credible: bool = False

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


def notes_of(heard: Sequence[Heard], *, repeats: bool = False) -> tuple[HeardNote, ...]:
    """The notes of a take, oldest first.

    The same pitch again is no new note: a string that beats, or a finger that comes down late, sounds as one. With
    `repeats` it is one all the same.
    """
    tuning = tuning_of(heard) or 0.0
    notes: list[HeardNote] = []
    last: int | None = None
    for one in heard:
        if one.pitch is None:
            notes.append(HeardNote(one.at_s, None, 0.0))
            continue
        own = one.pitch - tuning / 100
        midi = round(own)
        if one.sure < _WEAK:
            credible = one.sure >= _FAINT or abs(own - midi) * 100 <= _IN_TUNE_CENTS
            notes.append(HeardNote(one.at_s, None, 0.0, midi, credible))
            continue
        if repeats or midi != last:
            notes.append(HeardNote(one.at_s, midi, one.sure))
        last = midi
    return tuple(notes)
