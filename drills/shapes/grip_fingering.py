"""Fingerings of a grip: all notes held at once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, product

from drills.shapes.fingering import Reachable, _everywhere
from drills.shapes.hand import FOURTH_FINGER, SQUEEZE, STRETCH

__all__ = ["grip_cost", "grip_fingerings"]

BARRE = {1: 2, 2: 5, 3: 3, 4: 6}
"""One finger over neighbouring strings; the first, then the third, is made for it (common practice)."""

BARRE_OVER_SILENT_STRING = 12
"""A barre across a string that must stay silent would sound it."""

SIDE_BY_SIDE_HELD = 1
SPREAD_2_3 = 8


def _pair(fingers: tuple[int, int], frets: tuple[int, int], strings: tuple[int, int]) -> int | None:
    """Cost of two held notes, or None when a hand cannot hold them; strings fall toward higher pitch."""
    (finger, other), (fret, there) = fingers, frets
    if finger == other:
        if fret != there:
            return None
        silent = strings[0] - strings[1] - 1
        return BARRE_OVER_SILENT_STRING * (silent > 0)
    if finger > other:
        finger, other, fret, there = other, finger, there, fret
        strings = (strings[1], strings[0])
    if there < fret:
        return None
    if there == fret:
        # Side by side, the lower-numbered finger takes the lower-pitched string.
        if strings[0] < strings[1]:
            return None
        return SIDE_BY_SIDE_HELD * (other - finger)
    beyond = (there - fret) - (other - finger)
    if beyond < 0:
        return SQUEEZE * -beyond // 2
    price = SPREAD_2_3 if (finger, other) == (2, 3) else STRETCH[finger, other]
    return price * beyond


def grip_cost(
    places: Sequence[tuple[int, int]], fingers: Sequence[int], reachable: Reachable = _everywhere
) -> int | None:
    """Cost of holding a grip with given fingers, or None when it cannot be held.

    places: (string, fret) from the bass up; fret 0 is open (finger 0). A barre may
    not cover a lower fret that must sound; fingers never cross; every two fretted
    notes are within reach of one another.
    """
    held = [(finger, string, fret) for (string, fret), finger in zip(places, fingers, strict=True) if fret]
    if any((fret == 0) != (finger == 0) for (_, fret), finger in zip(places, fingers, strict=True)):
        return None
    total = sum(FOURTH_FINGER for finger, _, _ in held if finger == 4)
    for one, two in combinations(held, 2):
        if not reachable(one[2], two[2]):
            return None
        if one[0] != two[0] or one[1] - two[1] == 1 or not any(one[1] > h[1] > two[1] for h in held):
            cost = _pair((one[0], two[0]), (one[2], two[2]), (one[1], two[1]))
            if cost is None:
                return None
            total += cost
        elif one[2] != two[2]:
            return None
    for finger in {h[0] for h in held}:
        strings = [h[1] for h in held if h[0] == finger]
        if len(strings) > 1:
            fret = next(h[2] for h in held if h[0] == finger)
            total += BARRE[finger]
            if any(min(strings) < string < max(strings) and there < fret for string, there in places):
                return None
    return total


def grip_fingerings(
    places: Sequence[tuple[int, int]], count: int = 1, reachable: Reachable = _everywhere
) -> list[tuple[int, tuple[int, ...]]]:
    """The cheapest fingerings of a grip as (cost, fingers), cheapest first, ties by lower numbers.

    Exact: every assignment of four fingers is tried (at most 4^6 for six strings).
    """
    choices = [(0,) if fret == 0 else (1, 2, 3, 4) for _, fret in places]
    found = []
    for fingers in product(*choices):
        cost = grip_cost(places, fingers, reachable)
        if cost is not None:
            found.append((cost, fingers))
    return sorted(found)[:count]
