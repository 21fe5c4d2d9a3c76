"""The rules of good fingering as costs: the easier a fingering is for the hand, the less it costs.

The rules are drills/RULES.md, C2 (common practice). The whole-number costs were
fitted by linear programming so that the cheapest fingering of every row of its
table C1 is the one a teacher chose, by a clear margin; drills/shapes/README.md tells how.
Studies of guitar fingering (Radicioni and Lombardo 2005; Heijink and Meulenbroek
2002) likewise price finger spread and hand movement separately.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

__all__ = ["FOURTH_FINGER", "MOVED", "OUT_OF_REACH", "hand_range", "move_cost", "pair_cost", "shift_cost"]

OUT_OF_REACH = 10_000
"""Cost of what the hand cannot do without shifting."""

ROLL = {1: 2, 2: 6, 3: 5, 4: 6}
"""One finger, one fret, neighbouring strings in succession; the first or third finger is the lesser evil."""

SIDE_BY_SIDE = 2
"""Two neighbouring fingers at one fret, the lower-numbered on the lower-pitched string."""

STRETCH = {(1, 2): 6, (1, 3): 3, (1, 4): 2, (2, 3): 4, (2, 4): 2, (3, 4): 2}
"""Each fret beyond one finger a fret; outward stretches (first and fourth finger) are the cheap ones."""

SPREAD_2_3_ACROSS = 8
"""The second and third finger apart on two strings: the one spread a teacher never asks for."""

SQUEEZE = 6
"""Each fret less than one finger a fret."""

MOVED = {1: 8, 2: 6, 3: 10, 4: 10}
"""A finger that leaves the fret it owned, each fret: the hand opens or moves."""

FOURTH_FINGER = 1
"""The fourth finger is for reach; where it gains nothing, another is better."""

SHIFT, SHIFT_PER_FRET, SHIFT_INSIDE_STRING, SHIFT_NOT_LED_BY_FIRST = 16, 2, 6, 4
"""A change of position: rare, small, between strings, and led by the first finger."""


@lru_cache(maxsize=4096)
def pair_cost(finger: int, other: int, frets: int, strings: int) -> int:
    """Cost of playing one note after another without shifting.

    finger, other: 1 to 4, in playing order. frets: fret of the second minus the
    first. strings: crossed from first to second, positive toward higher pitch.
    Returns OUT_OF_REACH when one hand position cannot hold both.
    """
    if finger == other:
        # The same finger at another fret would hop or slide: that is a shift.
        return ROLL[finger] if frets == 0 and abs(strings) == 1 else OUT_OF_REACH
    if finger > other:
        finger, other, frets, strings = other, finger, -frets, -strings
    if frets < 0:
        return OUT_OF_REACH  # fingers would cross
    if frets == 0:
        tidy = other == finger + 1 and strings > 0
        return SIDE_BY_SIDE if tidy else OUT_OF_REACH
    beyond = frets - (other - finger)
    if beyond > 2 or (beyond == 2 and (finger, other) != (1, 4)):
        return OUT_OF_REACH
    stretch = SPREAD_2_3_ACROSS if (finger, other) == (2, 3) and strings else STRETCH[finger, other]
    return SQUEEZE * max(-beyond, 0) + stretch * max(beyond, 0)


def move_cost(finger: int, frets: int) -> int:
    """Cost of a finger coming back to play `frets` away from where it last played."""
    return MOVED[finger] * abs(frets)


def shift_cost(finger: int, frets: int, same_string: bool) -> int:
    """Cost of moving the whole hand by `frets` before playing with `finger`."""
    return (
        SHIFT + SHIFT_PER_FRET * abs(frets) + SHIFT_INSIDE_STRING * same_string + SHIFT_NOT_LED_BY_FIRST * (finger != 1)
    )


def hand_range(frets: Iterable[int], fingers: Iterable[int]) -> int:
    """How far the hand moves over some notes, in frets: the range of fret less finger, open strings left out."""
    positions = [fret - finger for fret, finger in zip(frets, fingers, strict=True) if finger]
    return max(positions, default=0) - min(positions, default=0)
