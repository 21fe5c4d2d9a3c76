"""Melodies made for one rule each: notes by key, start and length, on any fret, over any changes."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from drills.changes.changes import Changes
from drills.changes.changes_reading import parse_changes
from drills.harmony.chord_timeline import bar_starts
from drills.lines.line import Line, LineNote
from drills.neck.tuning import STANDARD
from drills.theory.note import Note, pitch_of

__all__ = ["FLATS", "melody", "page_of"]

FLATS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")


@lru_cache(maxsize=256)
def page_of(text: str) -> Changes:
    """The changes of a text."""
    return parse_changes(text)


def melody(
    changes: str,
    keys: list[int],
    starts: list[float | Fraction] | None = None,
    lengths: list[float | Fraction] | None = None,
    names: list[str] | None = None,
    places: list[tuple[int, int, int]] | None = None,
) -> Line:
    """A line of those MIDI keys: eighths one after another unless starts and lengths, in quarters, are given.

    names: of the notes, flats by default. places: string, fret and finger of each; one string and finger by default.
    """
    page = page_of(changes)
    bars = bar_starts(page)
    starts = starts or [Fraction(index, 2) for index in range(len(keys))]
    lengths = lengths or [Fraction(1, 2)] * len(keys)
    notes = []
    for index, (key, at, length) in enumerate(zip(keys, starts, lengths, strict=True)):
        start = Fraction(at)
        number = max(place for place in range(len(bars) - 1) if bars[place] <= start)
        beat = 1 + (start - bars[number]) * page.bars[number].metre.unit / 4
        string, fret, finger = places[index] if places else (1, key - 64, 1)
        name = names[index] if names else FLATS[key % 12]
        pitch = pitch_of(Note.parse(name), key)
        notes.append(LineNote(start, Fraction(length), number + 1, beat, string, fret, finger, pitch))
    return Line("Made", page, STANDARD, tuple(notes))
