"""The cheapest way to hear a progression as a sequence of keys, by exact dynamic programming.

A key is one of 36: twelve tonics, each major, minor or blues. A way of hearing the
changes gives every chord a key; its cost is the sum of

- what each chord costs in its key (``drills.harmony.functions``): 0 when it belongs there;
- CHANGE for every change of key, less (NEAR) when the tonic stays (C to C minor) or the
  signature does (C to A minor): a key is left only when staying would strain two chords
  or more;
- BLUES for entering a blues: dominants on two degrees are needed to claim one;
- OFF_STATED for every chord heard outside the key the page states at that place, so that
  a stated key wins ties and short excursions stay explained inside it;
- EDGE when the first chord is not on its tonic, and again for the last: progressions
  tend to begin and end at home. Where the page states a key it says so itself, and EDGE is 0.

The least cost over all ways is found exactly (Viterbi); where two ways cost the same
the key that was there longer wins, then major before minor before blues, then the tonic
that lies lower above the first root: so a page means the same in every key. A chord that
is repeated counts once. All of it is whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from drills.harmony.functions import KINDS, ChordFunction, family, reading
from drills.theory.chord import Chord
from drills.theory.key import Key

__all__ = ["STATES", "best_keys", "change_cost", "chord_costs", "heard_best", "is_stated", "stated_key"]

CHANGE, NEAR, OFF_STATED, EDGE, BLUES = 8, 4, 2, 2, 4

STATES = tuple((tonic, kind) for kind in KINDS for tonic in range(12))
"""The keys, as (pitch class of the tonic, kind), in the order that breaks ties."""


def stated_key(key: Key | None) -> tuple[int, bool] | None:
    """A key as the search compares it: pitch class of the tonic, and whether it is minor."""
    return None if key is None else (key.tonic.pitch_class, key.is_minor)


def is_stated(state: tuple[int, str], stated: Key) -> bool:
    """Whether a state is a stated key; a blues is in the major key of its tonic."""
    return (state[0], state[1] == "minor") == stated_key(stated)


@lru_cache(maxsize=4096)
def _readings(root: int, chord: str, step: int | None, after: str) -> tuple[tuple[ChordFunction, ...], tuple[int, ...]]:
    found = tuple(reading(kind, (root - tonic) % 12, chord, step, after) for tonic, kind in STATES)
    return found, tuple(one.cost for one in found)


@lru_cache(maxsize=128)
def _off(stated: Key) -> tuple[int, ...]:
    return tuple(0 if is_stated(state, stated) else OFF_STATED for state in STATES)


def change_cost(state: int, other: int) -> int:
    """Cost of going from one key to another, both as indices into STATES; 0 to stay."""
    if state == other:
        return 0
    (tonic, kind), (new, other_kind) = STATES[state], STATES[other]
    # A minor tonic lies nine semitones above that of the major key with the same signature.
    signature = (tonic + 3 * (kind == "minor")) % 12 == (new + 3 * (other_kind == "minor")) % 12
    near = tonic == new or (signature and "blues" not in (kind, other_kind))
    return (NEAR if near else CHANGE) + BLUES * (other_kind == "blues")


_NEAR_KEYS = tuple(
    tuple((other, change_cost(other, state)) for other in range(36)
          if other != state and change_cost(other, state) < CHANGE + BLUES * (STATES[state][1] == "blues"))
    for state in range(36)
)  # fmt: skip
_KEYS_NEAR = tuple(
    tuple((other, change_cost(state, other)) for other in range(36)
          if other != state and change_cost(state, other) < CHANGE + BLUES * (STATES[other][1] == "blues"))
    for state in range(36)
)  # fmt: skip
_ENTER = tuple(BLUES * (kind == "blues") for _, kind in STATES)


def _turned(row: Sequence[int], semitones: int) -> tuple[int, ...]:
    """A row of costs with every tonic so many semitones lower."""
    return tuple(row[12 * kind + (tonic + semitones) % 12] for kind in range(3) for tonic in range(12))


def _back_again(state: int, semitones: int) -> int:
    return 12 * (state // 12) + (state + semitones) % 12


def best_keys(rows: Sequence[tuple[int, ...]], first_root: int = 0) -> tuple[list[int], int]:
    """The cheapest sequence of states, as indices into STATES, and its cost.

    rows: for each chord, the cost of hearing it in each of the 36 keys.
    first_root: pitch class of the first root, from which the tonics are counted where costs are equal.
    """
    path, total = _cheapest([_turned(row, first_root) for row in rows])
    return [_back_again(state, first_root) for state in path], total


def heard_best(rows: Sequence[tuple[int, ...]]) -> list[list[int]]:
    """For each chord and each state, the least cost of a way of hearing the whole with that chord in that state."""
    forward: list[list[int]] = []
    costs = [cost + enter for cost, enter in zip(rows[0], _ENTER, strict=True)]
    forward.append(costs)
    for row in rows[1:]:
        leave = min(costs) + CHANGE
        now = []
        for state in range(36):
            cost = min(costs[state], leave + _ENTER[state])
            for other, change in _NEAR_KEYS[state]:
                cost = min(cost, costs[other] + change)
            now.append(cost + row[state])
        costs = now
        forward.append(costs)
    onward = [0] * 36
    found = [forward[-1]]
    for row, before in zip(reversed(rows[1:]), reversed(forward[:-1]), strict=True):
        ahead = list(map(int.__add__, onward, row))
        leave = min(map(int.__add__, ahead, _ENTER)) + CHANGE
        onward = []
        for state in range(36):
            cost = min(ahead[state], leave)
            for other, change in _KEYS_NEAR[state]:
                cost = min(cost, ahead[other] + change)
            onward.append(cost)
        found.append(list(map(int.__add__, before, onward)))
    return found[::-1]


def _cheapest(rows: Sequence[tuple[int, ...]]) -> tuple[list[int], int]:
    costs = [cost + enter for cost, enter in zip(rows[0], _ENTER, strict=True)]
    back: list[list[int]] = []
    for row in rows[1:]:
        # Leaving costs the same for every far key, so only the cheapest place to leave from matters.
        cheapest = min(range(36), key=costs.__getitem__)
        leave = costs[cheapest] + CHANGE
        came, now = [], []
        for state in range(36):
            source, cost = state, costs[state]
            for other, change in _NEAR_KEYS[state]:
                if costs[other] + change < cost:
                    source, cost = other, costs[other] + change
            if leave + _ENTER[state] < cost:
                source, cost = cheapest, leave + _ENTER[state]
            came.append(source)
            now.append(cost + row[state])
        back.append(came)
        costs = now
    state = min(range(36), key=costs.__getitem__)
    total = costs[state]
    path = [state]
    for came in reversed(back):
        state = came[state]
        path.append(state)
    return path[::-1], total


def chord_costs(
    chords: Sequence[tuple[Chord, Key | None]], begins: int = 0
) -> tuple[list[tuple[int, ...]], list[tuple[ChordFunction, ...]]]:
    """For each chord, its cost in each of the 36 keys with everything but changes of key, and its readings.

    begins: index of the chord the page begins with, a pickup not counted.
    """
    rows, readings = [], []
    families = [family(chord.quality) for chord, _ in chords]
    last = len(chords) - 1
    for place, (chord, stated) in enumerate(chords):
        root = chord.root.pitch_class
        step = after = None
        if place < last:
            step = (chords[place + 1][0].root.pitch_class - root) % 12
            after = families[place + 1]
        found, row = _readings(root, families[place], step, after or "")
        if stated is not None:
            row = tuple(map(int.__add__, row, _off(stated)))
        elif place in (begins, last):
            edges = (place == begins) + (place == last)
            row = tuple(cost + EDGE * edges * (state[0] != root) for cost, state in zip(row, STATES, strict=True))
        rows.append(row)
        readings.append(found)
    return rows, readings
