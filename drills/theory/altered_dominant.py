"""An altered dominant such as G7alt: its fifth is lowered or raised, and never perfect."""

from __future__ import annotations

from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.quality import shipped_qualities

__all__ = ["altered_fifth_words", "is_altered_dominant", "with_altered_fifth"]

_TENSIONS = {"b9", "#9", "#11", "b13"}
"""What ``alt`` stands for beside root, third and seventh (common practice)."""


def is_altered_dominant(chord: Chord) -> bool:
    """Whether a chord was written ``alt``, or with all four of its tensions."""
    return chord.quality.name == "7" and set(chord.tensions) >= _TENSIONS


def with_altered_fifth(chord: Chord) -> Chord:
    """The four-note chord inside an altered dominant: root, third, raised fifth and seventh (C7alt to C7#5).

    Its raised fifth sounds as the b13. Any other chord is returned as it is.
    """
    if not is_altered_dominant(chord):
        return chord
    return Chord(chord.root, shipped_qualities().named("7#5"), chord.bass, chord.tensions)


def altered_fifth_words(chord: Chord) -> str:
    """What to know of the fifth of an altered dominant, as a clause; ``""`` for any other chord."""
    if not is_altered_dominant(chord):
        return ""
    fifth = transpose_note(chord.root, Interval.from_degree("5"))
    return f"the plain 5th, {fifth}, is no note of {chord.root}7alt"
