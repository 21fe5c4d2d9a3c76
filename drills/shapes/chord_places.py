"""Every place on the neck where a tone of a chord lies, or on one string a note."""

from __future__ import annotations

from drills.neck.neck import Neck
from drills.shapes.shape import Placement
from drills.theory.chord import Chord
from drills.theory.note import Note, pitch_of

__all__ = ["chord_places", "note_places"]


def chord_places(neck: Neck, chord: Chord) -> tuple[Placement, ...]:
    """Every chord tone from the open strings (or the capo) to the top fret: string 1 first, low frets first.

    No finger is chosen: each place has finger 0.
    """
    tones = zip(chord.notes, chord.quality.degrees, strict=True)
    named = {note.pitch_class: (note, degree) for note, degree in tones}
    found = []
    for string in range(1, neck.tuning.strings + 1):
        for fret in range(neck.highest + 1):
            midi = neck.sounding.midi(string, fret)
            if midi % 12 in named:
                note, degree = named[midi % 12]
                found.append(Placement(string, fret, pitch_of(note, midi), degree, 0))
    return tuple(found)


def note_places(neck: Neck, note: Note, string: int) -> tuple[Placement, ...]:
    """The places of a note on one string as a root, from the open string (or the capo) to the top fret."""
    return tuple(
        Placement(string, fret, pitch_of(note, neck.sounding.midi(string, fret)), "1", 0)
        for fret in range(neck.highest + 1)
        if neck.sounding.midi(string, fret) % 12 == note.pitch_class
    )
