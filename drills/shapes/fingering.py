"""Fingerings of a line of single notes, by exact search over fingers and hand positions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from heapq import heappop, heappush

from drills.shapes.hand import FOURTH_FINGER, OUT_OF_REACH, move_cost, pair_cost, shift_cost

__all__ = ["everywhere", "line_cost", "line_fingerings"]

Reachable = Callable[[int, int], bool]
"""Whether two frets are within the hand's reach limit."""

Fretted = tuple[int, int, int]
"""String, fret and finger of a note that is not open."""

HandMemory = tuple[int | None, ...]
"""The last fret of each finger, first to fourth, in one hand position; None for a finger not used in it."""

_NOWHERE: HandMemory = (None, None, None, None)


def everywhere(_fret: int, _other: int) -> bool:
    """A hand whose reach has no limit: any two frets are within it."""
    return True


def _crossed(memory: HandMemory, finger: int, fret: int) -> bool:
    """Whether a lower finger holds a higher fret, or a higher finger a lower one."""
    return any(there is not None and there > fret for there in memory[: finger - 1]) or any(
        there is not None and there < fret for there in memory[finger:]
    )


def _step(
    before: Fretted | None, memory: HandMemory, string: int, fret: int, finger: int, reachable: Reachable
) -> tuple[int, HandMemory]:
    """Cost of the next note and where the fingers are then.

    before: (string, fret, finger) of the last fretted note, or None.
    memory: the last fret of each finger in this hand position, or None.
    """
    cost = FOURTH_FINGER if finger == 4 else 0
    own = memory[finger - 1]
    if before is None:
        within = cost
    else:
        last_string, last_fret, last_finger = before
        pair = pair_cost(last_finger, finger, fret - last_fret, last_string - string)
        if pair < OUT_OF_REACH and not reachable(last_fret, fret):
            pair = OUT_OF_REACH
        if _crossed(memory, finger, fret):
            pair = OUT_OF_REACH  # not even with another note between: the hand would have moved unseen
        within = cost + pair + (0 if own is None or own == fret else move_cost(finger, fret - own))
        moved = (fret - finger) - (last_fret - last_finger)
        if moved:
            shifted = cost + shift_cost(finger, moved, last_string == string)
            if shifted < within:
                return shifted, _NOWHERE[: finger - 1] + (fret,) + _NOWHERE[finger:]
    return within, memory[: finger - 1] + (fret,) + memory[finger:]


def line_fingerings(
    places: Sequence[tuple[int, int]], count: int = 1, reachable: Reachable = everywhere
) -> list[tuple[int, tuple[int, ...]]]:
    """The cheapest fingerings of a line, exactly, as (cost, fingers), cheapest first.

    places: (string, fret) in playing order; fret 0 is open and needs no finger (0).
    count: how many to find. Equal costs are ordered by the fingers themselves, lower
    numbers first, so the answer never depends on the order of search.

    Best-first search over prefixes: costs never fall, so lines leave the queue in
    order of cost. What follows depends only on the note reached, the last fretted
    note and the frets the fingers hold, so each such state need be continued only
    `count` times (the k shortest paths of a layered graph).
    """
    found: list[tuple[int, tuple[int, ...]]] = []
    # No two entries have the same fingers, so that comparing them ends there: the rest may hold None.
    queue: list[tuple[int, tuple[int, ...], Fretted | None, HandMemory]] = [(0, (), None, _NOWHERE)]
    visits: dict[tuple[int, Fretted | None, HandMemory], int] = {}
    length = len(places)
    while queue and len(found) < count:
        cost, fingers, before, memory = heappop(queue)
        done = len(fingers)
        if done == length:
            found.append((cost, fingers))
            continue
        state = (done, before, memory)
        seen = visits.get(state, 0)
        if seen >= count:
            continue
        visits[state] = seen + 1
        string, fret = places[done]
        if fret == 0:
            heappush(queue, (cost, (*fingers, 0), before, memory))
            continue
        for finger in (1, 2, 3, 4):
            step, after = _step(before, memory, string, fret, finger, reachable)
            if step < OUT_OF_REACH:
                heappush(queue, (cost + step, (*fingers, finger), (string, fret, finger), after))
    return found


def line_cost(places: Sequence[tuple[int, int]], fingers: Sequence[int], reachable: Reachable = everywhere) -> int:
    """Cost of a given fingering of a line; OUT_OF_REACH or more when the hand cannot play it."""
    total, memory = 0, _NOWHERE
    before: Fretted | None = None
    for (string, fret), finger in zip(places, fingers, strict=True):
        if (fret == 0) != (finger == 0):
            return OUT_OF_REACH
        if fret == 0:
            continue
        step, memory = _step(before, memory, string, fret, finger, reachable)
        before = (string, fret, finger)
        total += step
    return total
