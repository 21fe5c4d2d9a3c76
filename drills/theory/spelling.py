"""Spells a root that stands in no key, by a rule of common practice."""

from __future__ import annotations

from functools import cache

from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import Quality

__all__ = ["common_name", "free_root", "free_roots", "simple_twin"]

_RARE = {"Cb", "Fb", "E#", "B#"}
_USUAL = tuple(note for step in range(7) for alter in (-1, 0, 1) if (note := Note(step, alter)).name not in _RARE)
"""The 17 roots in use when no key forces another."""


def _awkwardness(chord: Chord) -> tuple[int, int, int, bool]:
    notes = chord.notes
    return (
        sum(abs(note.alter) > 1 for note in notes),
        sum(note.name in _RARE for note in notes),
        sum(abs(note.alter) for note in notes),
        any(note.alter > 0 for note in notes),
    )


@cache
def free_roots(quality: Quality) -> tuple[Note, ...]:
    """The twelve roots from C upward as spelled without a key (drills/RULES.md, B2).

    Fewest double accidentals, then fewest Cb, Fb, E# and B#, then fewest
    accidentals in the whole chord, flats on a tie; a root itself is never one
    of the four rare names.
    """
    return tuple(
        min(
            (note for note in _USUAL if note.pitch_class == pitch_class),
            key=lambda note: _awkwardness(Chord(note, quality)),
        )
        for pitch_class in range(12)
    )


def free_root(note: Note, quality: Quality) -> Note:
    """The free-standing spelling of a root that may be spelled otherwise in a key."""
    return free_roots(quality)[note.pitch_class]


_COMMON = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")


@cache
def common_name(pitch_class: int) -> str:
    """One fixed name for each of the twelve pitch classes, for ids that must not depend on spelling."""
    return _COMMON[pitch_class % 12]


def simple_twin(note: Note) -> Note | None:
    """The everyday name of a note that is spelled strictly (A for Bbb, B for Cb), or None when it is one."""
    if abs(note.alter) < 2 and note.name not in _RARE:
        return None
    return Note.parse(common_name(note.pitch_class))
