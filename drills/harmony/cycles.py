"""Cycles of keys a third apart: every tonic of the cycle is a key of its own, so that one cycle gets one answer.

Dominants that lead to major chords which lie a major third apart, or a minor third apart, divide the
octave evenly (common practice of jazz harmony since the 1950s); no tonic of such a cycle is borrowed from another.
A long chain of dominants is one thing too, and no blues. A line that falls inside a minor chord is one tonic.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from drills.harmony.stretches import Stretch, step_between

__all__ = ["cycle_keys", "line_tonics", "long_chain"]

_DIVISIONS = ((4, 8), (3, 9))
_LEAST = 3
"""So many different tonics make a cycle; two are a change of key, or a borrowed chord."""

_LONG_CHAIN = 6
"""More dominants in a row, each a fifth or a semitone below the last, than a blues has on its way home."""


def long_chain(page: Sequence[Stretch]) -> set[int]:
    """The indices of chords in a long chain of dominants."""
    found: set[int] = set()
    start = 0
    while start < len(page):
        end = start
        while (
            end + 1 < len(page)
            and page[end].family == page[end + 1].family == "dom"
            and step_between(page[end], page[end + 1]) in (5, 11)
        ):
            end += 1
        if end + 1 - start >= _LONG_CHAIN:
            found.update(range(start, end + 1))
        start = end + 1
    return found


def line_tonics(page: Sequence[Stretch]) -> dict[int, int]:
    """The pitch class of the minor tonic of each chord that is held while a line falls from its root.

    Such a passage has the minor chord with the major seventh before it with the minor seventh, all on one root. A last
    chord that goes on to the dominant a fifth below is left to what it leads to.
    """
    found: dict[int, int] = {}
    start = 0
    while start < len(page):
        end = start
        while end + 1 < len(page) and page[end + 1].root == page[start].root:
            end += 1
        run = page[start : end + 1]
        sevenths = [{10, 11} & set(one.chord.quality.semitones) for one in run]
        falls = any(one == {11} and other == {10} for one, other in pairwise(sevenths))
        if len(run) > 2 and falls and all(one.family in ("min", "tonic") for one in run):
            goes_on = (
                end + 1 < len(page) and page[end + 1].family == "dom" and step_between(page[end], page[end + 1]) == 5
            )
            found.update(dict.fromkeys(range(start, end + (not goes_on)), page[start].root))
        start = end + 1
    return found


def cycle_keys(page: Sequence[Stretch]) -> dict[int, int]:
    """The pitch class of the major key each chord of a cycle belongs to, by its index in the page."""
    tonics = [
        place
        for place, one in enumerate(page)
        if one.family in ("maj", "M") and (place == 0 or _arrives(page, place) or _leaves_by_third(page, place))
    ]
    found: dict[int, int] = {}
    for division in _DIVISIONS:
        start = 0
        while start < len(tonics):
            end = start
            while end + 1 < len(tonics) and _linked(page, tonics[end], tonics[end + 1], division):
                end += 1
            chain = tonics[start : end + 1]
            if len({page[place].root for place in chain}) >= _LEAST:
                for place in chain:
                    found.update(dict.fromkeys(_cadence(page, place), page[place].root))
            start = end + 1
    last = len(page) - 1
    if 0 in found and last not in found and page[last].family == "dom" and step_between(page[last], page[0]) == 5:
        found[last] = page[0].root  # the last V leads back to the top
    return found


def _arrives(page: Sequence[Stretch], place: int) -> bool:
    return page[place - 1].family == "dom" and step_between(page[place - 1], page[place]) == 5


def _leaves_by_third(page: Sequence[Stretch], place: int) -> bool:
    """Whether the next tonic follows by its V, a third away, so that a cycle may begin here."""
    after = place + 2
    return after < len(page) and _arrives(page, after) and step_between(page[place], page[after]) in (3, 4, 8, 9)


def _linked(page: Sequence[Stretch], one: int, other: int, division: tuple[int, int]) -> bool:
    """Whether one tonic of a cycle leads to the next, with nothing between but the next one's V and its ii."""
    if step_between(page[one], page[other]) not in division or not _arrives(page, other):
        return False
    return min(_cadence(page, other)) == one + 1


def _cadence(page: Sequence[Stretch], place: int) -> list[int]:
    """The indices of a tonic, its V before it, and the ii before that."""
    found = [place]
    if place and _arrives(page, place):
        found.append(place - 1)
        if place > 1 and page[place - 2].family in ("min", "half") and step_between(page[place - 2], page[place]) == 10:
            found.append(place - 2)
    return found
