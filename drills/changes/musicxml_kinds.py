"""From a MusicXML harmony to a chord: kinds and degrees (MusicXML 4.0, kind-value and degree)."""

from __future__ import annotations

from functools import lru_cache

from drills.errors import SymbolError
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import Quality, shipped_qualities
from drills.theory.symbol import parse_chord

__all__ = ["KINDS", "chord_of_degrees", "degrees_of_kind", "symbol_of"]

KINDS: dict[str, str] = {
    "major": "1 3 5",
    "minor": "1 b3 5",
    "augmented": "1 3 #5",
    "diminished": "1 b3 b5",
    "dominant": "1 3 5 b7",
    "major-seventh": "1 3 5 7",
    "minor-seventh": "1 b3 5 b7",
    "diminished-seventh": "1 b3 b5 bb7",
    "augmented-seventh": "1 3 #5 b7",
    "half-diminished": "1 b3 b5 b7",
    "major-minor": "1 b3 5 7",
    "major-sixth": "1 3 5 6",
    "minor-sixth": "1 b3 5 6",
    "dominant-ninth": "1 3 5 b7 9",
    "major-ninth": "1 3 5 7 9",
    "minor-ninth": "1 b3 5 b7 9",
    "dominant-11th": "1 3 5 b7 9 11",
    "major-11th": "1 3 5 7 9 11",
    "minor-11th": "1 b3 5 b7 9 11",
    "dominant-13th": "1 3 5 b7 9 13",
    "major-13th": "1 3 5 7 9 13",
    "minor-13th": "1 b3 5 b7 9 13",
    "suspended-second": "1 2 5",
    "suspended-fourth": "1 4 5",
    "power": "1 5",
    # The four functional kinds, by the chord that sounds over the root given.
    "Neapolitan": "1 3 5",
    "Italian": "1 3 5 b7",
    "French": "1 3 b5 b7",
    "German": "1 3 5 b7",
    "Tristan": "1 b3 b5 b7",
}
"""Degrees of each kind. As in our own symbols a 13th has no 11th (common practice)."""


_LOOSE = {kind.lower(): labels for kind, labels in KINDS.items()} | {
    "minor-major": KINDS["major-minor"],
    "dominant-seventh": KINDS["dominant"],
}
"""Kinds as some programs write them against the standard."""


def _parse(label: str) -> tuple[int, int]:
    number = label.lstrip("b#")
    return int(number), label.count("#") - label.count("b")


def degrees_of_kind(kind: str, changes: list[tuple[str, int, int]]) -> dict[int, int] | None:
    """Degree numbers with their alteration against the major scale, or None for a kind without notes.

    changes: (``add``, ``alter`` or ``subtract``, degree number, semitones). An added degree
    counts from a dominant chord, so an added plain 7 is the minor seventh; altering counts
    from the kind (MusicXML 4.0, degree-type).
    """
    labels = KINDS.get(kind) or _LOOSE.get(kind.lower())
    if labels is None:
        return None
    degrees = dict(map(_parse, labels.split()))
    for action, number, semitones in changes:
        if action == "subtract":
            degrees.pop(number, None)
        elif action == "alter" and number in degrees:
            degrees[number] += semitones
        else:
            degrees[number] = semitones - (number == 7)
    return degrees


@lru_cache(maxsize=1)
def _by_semitones() -> dict[tuple[int, ...], Quality]:
    return {quality.semitones: quality for quality in shipped_qualities()}


_NATURAL = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}


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
        quality = _quality(degrees) or shipped_qualities().named("m" if degrees.get(3, 0) < 0 else "maj")
    labels = tuple(
        dict.fromkeys(("#" * alter if alter > 0 else "b" * -alter) + str(number) for number, alter in sorted(tensions))
    )
    return Chord(root, quality, bass, labels), exact


def _quality(degrees: dict[int, int]) -> Quality | None:
    return _by_semitones().get(tuple(sorted({_NATURAL[n] + alter for n, alter in degrees.items() if n in _NATURAL})))


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
