"""Finds the chord that the degrees of a MusicXML harmony make, and a symbol that reads back to it."""

from __future__ import annotations

from functools import lru_cache

from drills.errors import SymbolError
from drills.theory.chord import Chord
from drills.theory.note import NATURAL_SEMITONES, Note
from drills.theory.quality import Quality, shipped_qualities
from drills.theory.symbol import parse_chord

__all__ = ["chord_of_degrees", "symbol_of"]


@lru_cache(maxsize=1)
def _by_semitones() -> dict[tuple[int, ...], Quality]:
    return {quality.semitones: quality for quality in shipped_qualities()}


def chord_of_degrees(root: Note, bass: Note | None, degrees: dict[int, int]) -> tuple[Chord, bool]:
    """The chord of those degrees, reduced to a known quality with the rest as tensions.

    The second value says whether every degree found its place: an unknown combination keeps
    its third and its seventh first, then gives way.
    """
    degrees = dict(degrees)
    exact = True
    tensions: list[tuple[int, int]] = []
    if 3 in degrees:
        for low, high in ((2, 9), (4, 11)):
            if low in degrees:
                tensions.append((high, degrees.pop(low)))
    elif 2 not in degrees and 4 not in degrees:
        degrees[3], exact = 0, False  # a power chord: no third to be had
    if 4 in degrees and 2 in degrees:
        tensions.append((9, degrees.pop(2)))
    if 7 in degrees and 6 in degrees:
        tensions.append((13, degrees.pop(6)))
    if 5 not in degrees:
        degrees[5] = 0
    tensions += [(number, degrees.pop(number)) for number in (9, 11, 13) if number in degrees]
    quality = _quality(degrees)
    if quality is None and degrees[5]:
        # No such quality with this fifth: it becomes the tension that sounds the same.
        tensions.append((13, -1) if degrees[5] > 0 else (11, 1))
        degrees[5] = 0
        quality = _quality(degrees)
    if quality is None:
        exact = False
        degrees.pop(7, None)
        degrees.pop(6, None)
        minor = any(number == 3 and alter < 0 for number, alter in degrees.items())
        quality = _quality(degrees) or shipped_qualities().named("m" if minor else "maj")
    labels = tuple(
        dict.fromkeys(("#" * alter if alter > 0 else "b" * -alter) + str(number) for number, alter in sorted(tensions))
    )
    return Chord(root, quality, bass, labels), exact


def _quality(degrees: dict[int, int]) -> Quality | None:
    return _by_semitones().get(
        tuple(sorted({NATURAL_SEMITONES[n - 1] + alter for n, alter in degrees.items() if n <= 7}))
    )


def symbol_of(chord: Chord) -> tuple[Chord, str]:
    """A symbol that reads back to the chord, and that chord; a tension no symbol can carry is dropped."""
    bass = f"/{chord.bass.name}" if chord.bass else ""
    seventh = len(chord.quality.intervals) > 3
    tensions = list(chord.tensions)
    while True:
        if seventh:
            added = f"({','.join(tensions)})" if tensions else ""
        else:
            added = "".join(f"add{label}" for label in tensions)
        text = f"{chord.root.name}{chord.quality.symbol}{added}{bass}"
        wanted = Chord(chord.root, chord.quality, chord.bass, tuple(tensions))
        try:
            read = parse_chord(text, reduce=True)
        except SymbolError:
            read = None
        if read == wanted or not tensions:
            return wanted, text
        tensions.pop()
