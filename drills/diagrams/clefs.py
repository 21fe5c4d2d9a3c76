"""Clefs and key signatures: which clef an instrument reads, and which line of the staff a pitch stands on."""

from __future__ import annotations

from collections.abc import Sequence

from drills.diagrams.picture import MusicSign
from drills.diagrams.staff_signs import staff_sign
from drills.neck.tuning import Tuning
from drills.theory.note import Pitch

__all__ = ["CLEFS", "OCTAVES_UP", "clef", "clef_of", "place_on_staff", "signature_places"]

CLEFS = ("G", "G8", "F")
"""The G clef, the G clef of an instrument that sounds an octave below what is written, and the F clef."""

OCTAVES_UP = {"G": 0, "G8": 1, "F": 1}
"""How many octaves above its sound a note is written: guitars and basses one, what is read at pitch none (common
practice). A bass's F clef carries no 8 all the same."""

_HIGHEST_BASS, _LOWEST_AT_PITCH = 50, 53
"""Open strings as MIDI numbers: a bass has none above D3, what is written as it sounds none below F3 (common practice:
basses read an F clef, guitars a G clef an octave higher than they sound, ukuleles and mandolins one at pitch)."""

_LOWEST_LINE = {"G": Pitch.parse("E4"), "G8": Pitch.parse("E4"), "F": Pitch.parse("G2")}
"""The written pitch of the lowest line."""

_SHARPS = {"F": 8, "C": 5, "G": 9, "D": 6, "A": 3, "E": 7, "B": 4}
_FLATS = {"B": 4, "E": 7, "A": 3, "D": 6, "G": 2, "C": 5, "F": 1}
"""Where the signs of a key stand under a G clef, in steps above the lowest line; two steps lower under an F clef."""

_LEFT = 0.6
"""Room left of a clef, in gaps."""


def clef_of(tuning: Tuning) -> str:
    """The clef that an instrument so tuned reads."""
    opened = [tuning.midi(string, 0) for string in range(1, tuning.strings + 1)]
    if max(opened) <= _HIGHEST_BASS:
        return "F"
    return "G" if min(opened) >= _LOWEST_AT_PITCH else "G8"


def clef(name: str, x: float, lines: Sequence[float], gap: float) -> MusicSign:
    """A clef at the left end of a staff.

    name: one of CLEFS. x: where the staff begins. lines: the heights of its five lines from the top. gap: between them.
    All in points. Raises ValueError for another name.
    """
    if name not in CLEFS:
        raise ValueError(f"clef: expected one of {', '.join(CLEFS)}, got {name!r}")
    return staff_sign(name, x + _LEFT * gap, lines[1] if name == "F" else lines[3], gap)


def place_on_staff(sounding: Pitch, name: str) -> int:
    """Steps above the lowest line at which a pitch is written under a clef: 0 on that line, 1 in the gap above."""
    return sounding.diatonic_number + 7 * OCTAVES_UP[name] - _LOWEST_LINE[name].diatonic_number


def signature_places(letters: str, sharp: bool, name: str) -> tuple[int, ...]:
    """Steps above the lowest line at which the signs of a key stand under a clef.

    letters: those altered, in the order written. sharp: whether they are raised.
    """
    return tuple((_SHARPS if sharp else _FLATS)[letter] - (2 if name == "F" else 0) for letter in letters)
