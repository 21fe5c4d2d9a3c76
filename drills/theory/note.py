"""A spelled note name (letter and accidentals, no octave) and a spelled pitch.

Spelling is stored and numbers are derived: going back from a number to a
name is a guess, so nothing here does it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from drills.errors import TheoryError

__all__ = ["LETTERS", "Note", "Pitch", "hz_of_midi", "midi_of_hz", "pitch_of", "plain_accidentals"]

LETTERS = "CDEFGAB"
NATURAL_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
"""Semitones of C D E F G A B above C."""

A4_HZ = 440.0
"""Standard tuning frequency of A4 (ISO 16:1975)."""
A4_MIDI = 69


def hz_of_midi(midi: float) -> float:
    """The equal-tempered frequency of a MIDI key in hertz, A4 (69) being 440 (ISO 16:1975)."""
    return A4_HZ * math.pow(2.0, (midi - A4_MIDI) / 12)


def midi_of_hz(hz: float) -> float:
    """The MIDI number, with its fraction, of a frequency in Hz above 0: the inverse of `hz_of_midi`."""
    return A4_MIDI + 12 * math.log2(hz / A4_HZ)


_TO_PLAIN = str.maketrans({"♭": "b", "♯": "#", "𝄫": "bb", "𝄪": "##", "♮": ""})


def plain_accidentals(text: str) -> str:
    """The text with ♭ ♯ 𝄫 𝄪 written b # bb ##."""
    return text.translate(_TO_PLAIN)


@dataclass(frozen=True, slots=True)
class Note:
    """A spelled pitch class such as Bb or F##.

    step: 0 to 6, counting letters from C. alter: semitones added by
    accidentals, negative for flats; any size, so triple flats survive.
    """

    step: int
    alter: int = 0

    @classmethod
    def parse(cls, text: str) -> Note:
        """Reads ``Bb``, ``f#``, ``C𝄪``, ``B-flat``; raises TheoryError otherwise."""
        plain = plain_accidentals(text.strip())
        plain = re.sub(r"[- ]?(flat|sharp)\b", lambda m: "b" if m[1] == "flat" else "#", plain)
        match = re.fullmatch(r"([A-Ga-g])(b{0,3}|#{0,3}|x)", plain)
        if match is None:
            raise TheoryError(f"note {text[:40]!r}: expected a letter A to G with b or # after it, such as Bb or F#")
        accidentals = "##" if match[2] == "x" else match[2]
        return cls(
            LETTERS.index(match[1].upper()),
            accidentals.count("#") - accidentals.count("b"),
        )

    @property
    def name(self) -> str:
        """The ASCII name, e.g. ``Bb`` or ``F##``."""
        return LETTERS[self.step] + "#" * self.alter + "b" * -self.alter

    @property
    def semitones(self) -> int:
        """Semitones above C, not reduced: Cb is -1 and B# is 12."""
        return NATURAL_SEMITONES[self.step] + self.alter

    @property
    def pitch_class(self) -> int:
        """0 to 11, C = 0."""
        return self.semitones % 12

    @property
    def fifths(self) -> int:
        """Place on the line of fifths, C = 0, G = 1, F = -1."""
        return (0, 2, 4, -1, 1, 3, 5)[self.step] + 7 * self.alter

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch, e.g. Eb4; scientific octaves, C4 is middle C (MIDI 60)."""

    note: Note
    octave: int

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Reads ``E2`` or ``Bb-1``; raises TheoryError otherwise."""
        match = re.fullmatch(r"\s*([A-Ga-g][^\d\s-]*)(-?[0-9]{1,2})\s*", text)
        if match is None:
            raise TheoryError(f"pitch {text[:40]!r}: expected a note and an octave, such as E2 or Bb3")
        return cls(Note.parse(match[1]), int(match[2]))

    @property
    def midi(self) -> int:
        """MIDI note number; A4 is 69. Cb4 is 59, in the octave it is written in."""
        return 12 * (self.octave + 1) + self.note.semitones

    @property
    def hz(self) -> float:
        """Equal-tempered frequency in hertz, A4 = 440 (ISO 16:1975)."""
        return hz_of_midi(self.midi)

    @property
    def name(self) -> str:
        """E.g. ``Eb4``."""
        return f"{self.note.name}{self.octave}"

    @property
    def diatonic_number(self) -> int:
        """Letter steps above C0."""
        return 7 * self.octave + self.note.step

    def __str__(self) -> str:
        return self.name


@lru_cache(maxsize=8192)
def pitch_of(note: Note, midi: int) -> Pitch:
    """The pitch of that name sounding as a MIDI key; the octave counts from the letter, so Cb4 is MIDI 59."""
    return Pitch(note, (midi - note.semitones) // 12 - 1)
