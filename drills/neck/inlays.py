"""The dots in a fretboard by which a player counts frets."""

from __future__ import annotations

from drills.neck.neck import Neck

__all__ = ["inlay_dots"]

_ONE_DOT = (3, 5, 7, 9, 15, 17, 19, 21, 27, 29, 31, 33)
_TWO_DOTS = (12, 24, 36)
"""Frets with one dot and with two on guitars and basses (common practice)."""

_SHORT_MM = 450.0
"""Instruments with a shorter string, ukuleles among them, have their dot at fret 10 instead of 9 (common practice)."""


def inlay_dots(neck: Neck) -> tuple[tuple[int, int], ...]:
    """Frets that carry dots, counted from the capo, each with one dot or two, up to the neck's top fret."""
    short = neck.scale_mm < _SHORT_MM
    single = tuple(sorted((10 if short else 9, *(fret for fret in _ONE_DOT if fret != 9))))
    both = sorted([*((fret, 1) for fret in single), *((fret, 2) for fret in _TWO_DOTS)])
    return tuple((fret - neck.capo, dots) for fret, dots in both if neck.capo < fret <= neck.top_fret)
