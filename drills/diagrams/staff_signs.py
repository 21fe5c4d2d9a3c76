"""Signs of staff notation: where each stands and how wide it is, measured in gaps between two lines of the staff.

The music font draws for a staff whose four gaps are one em high, as its clefs show.
"""

from __future__ import annotations

from dataclasses import dataclass

from drills.diagrams.picture import MusicSign

__all__ = ["ACCIDENTALS", "SIGNS", "StaffSign", "staff_sign", "staff_sign_wide"]

_GAPS_IN_AN_EM = 4.0


@dataclass(frozen=True, slots=True)
class StaffSign:
    """A sign of the font.

    text: its character. left, right: of its ink. level: the height of the point that is placed on the staff. All
    three in thousandths of an em, from the sign's origin. scale: of its size beside the others.
    """

    text: str
    left: int
    right: int
    level: int
    scale: float = 1.0


SIGNS = {
    "G": StaffSign("\U0001d11e", 50, 661, 250),
    "G8": StaffSign("\U0001d120", 50, 661, 250),
    "F": StaffSign("\U0001d122", 50, 742, 645),
    "black head": StaffSign("\U0001d158", 50, 347, 134),
    "void head": StaffSign("\U0001d157", 50, 347, 134),
    "whole head": StaffSign("\U0001d15d", 50, 464, 134),
    "whole rest": StaffSign("\U0001d13b", 50, 733, 262),
    "half rest": StaffSign("\U0001d13c", 50, 733, 244),
    "quarter rest": StaffSign("\U0001d13d", 51, 307, 500),
    "eighth rest": StaffSign("\U0001d13e", 50, 312, 500),
    "16th rest": StaffSign("\U0001d13f", 50, 380, 500),
    "32nd rest": StaffSign("\U0001d140", 50, 451, 475),
    "sharp": StaffSign("\u266f", 51, 502, 178, 0.75),
    "flat": StaffSign("\u266d", 51, 296, 125),
    "natural": StaffSign("\u266e", 51, 306, 95),
    "double sharp": StaffSign("\U0001d12a", 50, 310, 131),
    "double flat": StaffSign("\U0001d12b", 50, 417, 125),
}
"""By name. A clef is placed on the line it names, a head or an accidental on the middle of its note, a rest on the
middle line of the staff; the rest of a whole bar hangs from the line above it. The font's sharp is wider than its
flat, and is set smaller."""

ACCIDENTALS = {-2: "double flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double sharp"}
"""The sign before a note, by the semitones its letter is altered by."""


def staff_sign_wide(name: str, gap: float) -> float:
    """The width in points of the ink of one of SIGNS; gap: between two lines of the staff, in points."""
    sign = SIGNS[name]
    return (sign.right - sign.left) / 1000 * sign.scale * _GAPS_IN_AN_EM * gap


def staff_sign(name: str, x: float, y: float, gap: float) -> MusicSign:
    """One of SIGNS with its ink beginning at x and its point at y, all in points."""
    sign = SIGNS[name]
    size = sign.scale * _GAPS_IN_AN_EM * gap
    return MusicSign(x - size * sign.left / 1000, y + size * sign.level / 1000, sign.text, size)
