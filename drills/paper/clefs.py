"""Clefs drawn with lines, for no font here has them: the G clef, an octave lower for guitars, and the F clef."""

from __future__ import annotations

from collections.abc import Sequence

from drills.diagrams.picture import Drawn, Ring, Stroke, Words
from drills.neck.tuning import Tuning

__all__ = ["CLEFS", "clef", "clef_of"]

CLEFS = ("G", "G8", "F")
"""The G clef, the G clef of an instrument that sounds an octave below what is written, and the F clef."""

_HIGHEST_BASS, _LOWEST_AT_PITCH = 50, 53
"""Open strings as MIDI numbers: a bass has none above D3, what is written as it sounds none below F3 (common practice:
basses read an F clef, guitars a G clef an octave higher than they sound, ukuleles and mandolins one at pitch)."""

_G_LINE = (
    (0.15, -0.5), (-0.25, -0.05), (0.15, 0.55), (0.75, 0.15), (0.65, -0.65), (0.0, -1.0), (-0.75, -0.75), (-1.05, 0.1),
    (-0.7, 1.0), (0.0, 1.9), (0.5, 2.8), (0.55, 3.7), (0.25, 4.2), (-0.1, 3.6), (-0.1, 2.8), (0.15, 1.0), (0.4, -1.0),
    (0.45, -1.9), (0.1, -2.45), (-0.45, -2.2),
)  # fmt: skip
_F_LINE = ((-0.9, 0.0), (-0.85, 0.45), (-0.3, 0.85), (0.35, 0.7), (0.65, 0.1), (0.5, -0.8), (-0.1, -1.7), (-1.1, -2.4))
"""The middle of the pen's way, in gaps of the staff from the line that the clef names, upward."""

_STEPS = 5
_LEFT = 1.6
"""Room left of the clef's own line, in gaps."""


def clef_of(tuning: Tuning) -> str:
    """The clef that an instrument so tuned reads."""
    opened = [tuning.midi(string, 0) for string in range(1, tuning.strings + 1)]
    if max(opened) <= _HIGHEST_BASS:
        return "F"
    return "G" if min(opened) >= _LOWEST_AT_PITCH else "G8"


def clef(name: str, x: float, lines: Sequence[float], gap: float) -> list[Drawn]:
    """A clef at the left end of a staff.

    name: one of CLEFS. x: where the staff begins. lines: the heights of its five lines from the top. gap: between them.
    All in points. Raises ValueError for another name.
    """
    if name not in CLEFS:
        raise ValueError(f"clef: expected one of {', '.join(CLEFS)}, got {name!r}")
    across, middle = x + _LEFT * gap, lines[1] if name == "F" else lines[3]
    way = [(across + gap * right, middle - gap * up) for right, up in _curve(_F_LINE if name == "F" else _G_LINE)]
    parts: list[Drawn] = [Stroke(*start, *end, 0.24 * gap) for start, end in zip(way, way[1:], strict=False)]
    if name == "F":
        parts.append(Ring(across - 0.85 * gap, middle, 0.3 * gap, True))
        parts += [Ring(across + 1.2 * gap, middle + up * gap, 0.16 * gap, True) for up in (-0.5, 0.5)]
    else:
        parts.append(Ring(across - 0.4 * gap, middle + 2.0 * gap, 0.3 * gap, True))
    if name == "G8":
        parts.append(Words(across + 0.1 * gap, middle + 3.9 * gap, "8", 1.4 * gap, "middle"))
    return parts


def _curve(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """A smooth way through points: the spline of E. Catmull and R. Rom 1974, with its ends doubled."""
    padded = [points[0], *points, points[-1]]
    found = []
    for before, start, end, after in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        for step in range(_STEPS):
            t = step / _STEPS
            found.append(tuple(_between(t, *four) for four in zip(before, start, end, after, strict=True)))
    return [(x, y) for x, y in found] + [points[-1]]


def _between(t: float, before: float, start: float, end: float, after: float) -> float:
    return 0.5 * (
        2 * start + (end - before) * t + (2 * before - 5 * start + 4 * end - after) * t**2
        + (3 * start - before - 3 * end + after) * t**3
    )  # fmt: skip
