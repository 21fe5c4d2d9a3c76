"""What a shape demands of the hand at its place on the neck, so that it is first met where the hand is easiest."""

from __future__ import annotations

import math

from drills.neck.neck import Neck
from drills.shapes.shape import Shape
from scheduler.card import EASY, HARD, HARDEST, USUAL

__all__ = ["WIDEST_EARLY_MM", "demand_of", "easiest_frets"]

_GUITAR_MM = 648.0
"""The scale on which the frets below are meant."""

_EASIEST_FROM, _EASIEST_TO, _WIDE_TO = 5, 10, 3
"""On a guitar the hand is easiest with the root at frets 5 to 10 and stretches most at frets 1 to 3 (common practice;
drills/RULES.md, B8)."""

WIDEST_EARLY_MM = 100.0
"""A stretch over this is not asked in a player's first fortnight (common practice; drills/RULES.md, B8)."""


def easiest_frets(neck: Neck) -> tuple[int, int]:
    """The first and the last fret, counted from the capo, that are as wide as frets 5 to 10 of a guitar of 648 mm.

    On a short neck whose frets are all narrower they begin at its first fret.
    """
    lowest = max(1, _EASIEST_FROM + _frets_up(neck))
    return lowest, lowest + _EASIEST_TO - _EASIEST_FROM


def demand_of(shape: Shape, neck: Neck) -> int:
    """EASY to HARDEST, see `scheduler.card`: by the fret of the root, open strings and the stretch."""
    lowest, highest = easiest_frets(neck)
    if shape.reach_mm > WIDEST_EARLY_MM:
        return HARDEST
    if shape.lowest_fret == 0 or shape.root.fret <= _WIDE_TO + _frets_up(neck):
        return HARD
    return EASY if lowest <= shape.root.fret <= highest else USUAL


def _frets_up(neck: Neck) -> int:
    """How many frets farther up than on a guitar, from the capo, frets of one width lie; less than 0 for farther down.

    A fret is half as wide every twelve frets, and a capo leaves a shorter scale.
    """
    scale_mm = neck.scale_mm * math.pow(2.0, -neck.capo / 12.0)
    return round(12.0 * math.log2(scale_mm / _GUITAR_MM))
