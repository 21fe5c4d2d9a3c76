"""A line: notes in time and on the neck, each with its finger, its part in the chord and its reason."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drills.changes.changes import Changes
from drills.harmony.chord_timeline import bar_starts
from drills.neck.tuning import Tuning
from drills.theory.note import Pitch

__all__ = ["CHORD_TONE", "CHROMATIC", "MODE_NOTE", "Line", "LineNote"]

CHORD_TONE, MODE_NOTE, CHROMATIC = "chord tone", "mode note", "chromatic"
"""The parts a note can have in its chord."""


@dataclass(frozen=True, slots=True)
class LineNote:
    """One note of a line.

    start, length: in quarter notes, start from the beginning of the changes.
    bar: number in playing order, 1 the first. beat: place in the bar in beats of its metre,
        1 the first. string: 1 is the highest. fret: from the nut or capo, 0 open.
    finger: 1 to 4, 0 for an open string. pitch: sounding and spelled.
    degree: label in the chord of the moment, e.g. ``b3``. role: CHORD_TONE, MODE_NOTE or
        CHROMATIC. why: the rule the note obeys, in words. early: quarter notes by which it is struck
        before the beat it anticipates; it belongs to the chord of that beat.
    """

    start: Fraction
    length: Fraction
    bar: int
    beat: Fraction
    string: int
    fret: int
    finger: int
    pitch: Pitch
    degree: str = ""
    role: str = CHORD_TONE
    why: str = ""
    early: Fraction = Fraction(0)

    @property
    def end(self) -> Fraction:
        """Where the note stops, in quarter notes from the beginning."""
        return self.start + self.length

    @property
    def midi(self) -> int:
        """MIDI key of the sounding pitch."""
        return self.pitch.midi

    @property
    def place(self) -> str:
        """As the rules write it: ``Eb(3/8)``."""
        return f"{self.pitch.note.name}({self.string}/{self.fret})"


@dataclass(frozen=True, slots=True)
class Line:
    """Notes over changes.

    title: what the line is. changes: what it is played over. tuning: as it sounds.
    notes: in order of start; notes that start together are one chord, bass first.
    kind: ``etude line`` for what was searched for, else the name of the stage; never
        called improvisation. remarks: what the player should be told, such as a chord
        whose usual shape did not fit.
    """

    title: str
    changes: Changes
    tuning: Tuning
    notes: tuple[LineNote, ...]
    kind: str = "etude line"
    remarks: tuple[str, ...] = ()

    @property
    def length(self) -> Fraction:
        """Length of the changes in quarter notes."""
        return bar_starts(self.changes)[-1]

    def in_bar(self, number: int) -> tuple[LineNote, ...]:
        """The notes that start in a bar, counted as played from 1."""
        return tuple(note for note in self.notes if note.bar == number)

    def struck(self) -> tuple[tuple[LineNote, ...], ...]:
        """The notes grouped by what is struck together."""
        groups: list[list[LineNote]] = []
        for note in self.notes:
            if groups and groups[-1][0].start == note.start:
                groups[-1].append(note)
            else:
                groups.append([note])
        return tuple(map(tuple, groups))
