"""Fingerings of a grip: all notes held at once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, product

from drills.shapes.fingering import Reachable, everywhere
from drills.shapes.hand import FOURTH_FINGER, STRETCH

__all__ = ["grip_cost", "grip_fingerings"]

BARRE = {1: 2, 2: 7, 3: 6, 4: 8}
"""One finger over several strings; the first, then the third, is made for it (common practice)."""

BARRE_OVER_SILENT_STRING = 12
"""A barre across a string that must stay silent would sound it."""

BASS_BESIDE_SILENT = {1: 3, 2: 0, 3: 2, 4: 6}
"""The finger on the bass also mutes a silent string beside it: the second, usually (drills/RULES.md, C2, 8)."""

SQUEEZE_HELD = 1
"""Each fret less than one finger a fret: on different strings a closed hand is no trouble."""

TURNED, TURNED_NEAR = 3, 5
"""At one fret, the lower-numbered finger on the higher-pitched string; no more than `NEAR` strings on it is cramped."""

NEAR = 2
"""Strings from a finger within which the one before it has no room at the same fret (drills/RULES.md, C2, 15)."""

SPREAD_2_3 = 8

WIDEST_SPREAD = {(1, 4): 2}
"""Frets beyond one finger a fret that a held pair may open: one, and two between the outer fingers."""


def _pair(fingers: tuple[int, int], frets: tuple[int, int], strings: tuple[int, int]) -> int | None:
    """Cost of two held notes with different fingers, or None when a hand cannot hold them."""
    (finger, other), (fret, there) = fingers, frets
    if finger > other:
        finger, other, fret, there = other, finger, there, fret
        strings = (strings[1], strings[0])
    if there < fret:
        return None  # fingers would cross
    apart = other - finger
    if there == fret:
        if strings[0] > strings[1]:
            return apart
        return (TURNED_NEAR if strings[1] - strings[0] <= NEAR else TURNED) * apart
    beyond = (there - fret) - apart
    if beyond > WIDEST_SPREAD.get((finger, other), 1):
        return None
    stretch = SPREAD_2_3 if (finger, other) == (2, 3) else STRETCH[finger, other]
    return SQUEEZE_HELD * max(-beyond, 0) + stretch * max(beyond, 0)


def _barre(finger: int, fret: int, strings: list[int], places: Sequence[tuple[int, int]]) -> int | None:
    """Cost of one finger holding several strings, or None when it would spoil another note."""
    between = {string: there for string, there in places if min(strings) < string < max(strings)}
    others = [string for string in between if string not in strings]
    if any(between[string] < fret for string in others) or (others and finger != 1):
        return None
    silent = max(strings) - min(strings) - 1 - len(between)
    return BARRE[finger] + BARRE_OVER_SILENT_STRING * silent


def grip_cost(
    places: Sequence[tuple[int, int]], fingers: Sequence[int], reachable: Reachable = everywhere
) -> int | None:
    """Cost of holding a grip with given fingers, or None when it cannot be held.

    places: (string, fret) from the bass up; fret 0 is open (finger 0). A barre may
    not cover a lower fret that must sound, and only the first finger bars behind
    another; fingers never cross; every two fretted notes are within reach.
    """
    if any((fret == 0) != (finger == 0) for (_, fret), finger in zip(places, fingers, strict=True)):
        return None
    held = [(finger, string, fret) for (string, fret), finger in zip(places, fingers, strict=True) if fret]
    total = sum(FOURTH_FINGER for finger, _, _ in held if finger == 4)
    if len(places) > 1 and places[0][0] - places[1][0] > 1 and fingers[0]:
        total += BASS_BESIDE_SILENT[fingers[0]]
    for one, two in combinations(held, 2):
        if not reachable(one[2], two[2]):
            return None
        if one[0] != two[0]:
            cost = _pair((one[0], two[0]), (one[2], two[2]), (one[1], two[1]))
            if cost is None:
                return None
            total += cost
        elif one[2] != two[2]:
            return None
    for finger in {h[0] for h in held}:
        strings = [h[1] for h in held if h[0] == finger]
        if len(strings) > 1:
            cost = _barre(finger, next(h[2] for h in held if h[0] == finger), strings, places)
            if cost is None:
                return None
            total += cost
    return total


def grip_fingerings(
    places: Sequence[tuple[int, int]], count: int = 1, reachable: Reachable = everywhere
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
