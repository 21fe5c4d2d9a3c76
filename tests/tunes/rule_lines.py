"""The three example lines of drills/RULES.md, D3, as lines."""

from __future__ import annotations

import re
from fractions import Fraction

from drills.changes.changes_reading import parse_changes
from drills.lines.line import Line, LineNote
from drills.neck.tuning import STANDARD
from drills.theory.note import Note, pitch_of

__all__ = ["LINES", "written"]

LINES = {
    "A": (
        "Cm7 F7 Bbmaj7",
        "C(6/8) D(6/10) Eb(6/11) F(5/8) G(5/10) C(4/10) Bb(4/8) G(5/10) | "
        "A(4/7) C(4/10) Eb(3/8) G(2/8) F(3/10) G(2/8) Eb(3/8) C(4/10) | "
        "D(3/7) F(3/10) A(2/10) G(2/8) F(3/10)",
        "1 3 4 1 3 4 1 3 | 1 4 2 3 4 3 2 4 | 1 3 4 2 4",
    ),
    "B": (
        "Dm7b5 G7b9 Cm6",
        "D(5/5) F(5/8) Ab(4/6) C(3/5) F(2/6) Eb(2/4) D(3/7) C(3/5) | "
        "B(3/4) D(3/7) F(2/6) Ab(1/4) F(2/6) Eb(2/4) D(3/7) F(2/6) | "
        "Eb(2/4) C(3/5) A(4/7) G(4/5) Eb(5/6)",
        "1 4 2 1 2 1 4 2 | 1 4 3 1 3 1 4 3 | 1 2 4 2 3",
    ),
    "C": (
        "Gm7 C7 Fmaj7",
        "G(4/5) Bb(3/3) D(2/3) E(2/5) F(2/6) E(2/5) D(2/3) Bb(3/3) | "
        "C(3/5) B(3/4) Bb(3/3) A(3/2) G(4/5) F(4/3) E(4/2) Bb(3/3) | "
        "A(3/2) C(3/5) E(2/5) D(2/3) C(3/5)",
        "3 1 1 3 4 3 1 1 | 4 3 2 1 4 2 1 2 | 1 3 4 2 4",
    ),
}
"""By letter: the changes, the places bar by bar, the fingers."""


def written(changes: str, places: str, fingers: str) -> Line:
    """A line of eighth notes with the last one a half note, as the rules print them."""
    notes = []
    bars = places.split("|")
    for number, (bar, held) in enumerate(zip(bars, fingers.split("|"), strict=True), 1):
        found = re.findall(r"([A-G][b#]*)\((\d)/(\d+)\)", bar)
        for index, ((name, string, fret), finger) in enumerate(zip(found, held.split(), strict=True)):
            last = number == len(bars) and index == len(found) - 1
            pitch = pitch_of(Note.parse(name), STANDARD.midi(int(string), int(fret)))
            place = Fraction(index, 2)
            at = (4 * (number - 1) + place, Fraction(2) if last else Fraction(1, 2), number, 1 + place)
            notes.append(LineNote(*at, int(string), int(fret), int(finger), pitch))
    return Line("As written", parse_changes(changes), STANDARD, tuple(notes))
