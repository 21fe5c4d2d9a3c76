"""Finds the path of roots with the least total movement over the whole of the changes, by exact search."""

from __future__ import annotations

from dataclasses import dataclass

from drills.changes.changes import Changes
from drills.errors import PathError
from drills.harmony.root_path import PLANNED, STEP_BY_STEP, Path, path_of, root_strings, start_places, step_path, stops
from drills.neck.neck import Neck
from drills.shapes.root_places import HandPosition, LowestFret, RootPlace, root_places
from drills.theory.chord import Chord

__all__ = ["MEASURES", "Passes", "move_cost", "passes", "planned_path"]

MEASURES = {"frets": "frets", "position": "frets of hand position", "mm": "millimetres"}
"""What a planned path can make least, and what its total counts."""

_FIELD = 40
"""Bits for each part of a packed cost: no sum over a tune reaches 2^40 (in micrometres, 1,000 km)."""


def move_cost(
    neck: Neck, measure: str, lowest_fret: LowestFret, chord: Chord, place: RootPlace, after: Chord, other: RootPlace
) -> int:
    """The cost of one move, as one whole number whose sums compare part by part.

    The measure comes first, then the step rule's own order: frets moved, strings crossed,
    hand position moved, and the fret arrived at. Millimetres count in whole micrometres,
    so that sums are exact.
    """
    frets = abs(other.fret - place.fret)
    hand = abs(lowest_fret(after, other.string, other.fret) - lowest_fret(chord, place.string, place.fret))
    if measure == "frets":
        first = frets
    elif measure == "position":
        first = hand
    else:
        first = round(1000 * neck.reach_mm(place.fret, other.fret))
    cost = first
    for part in (frets, abs(other.string - place.string), hand, other.fret):
        cost = cost << _FIELD | part
    return cost


def _same(chord: Chord, other: Chord) -> bool:
    return chord.root.pitch_class == other.root.pitch_class and chord.quality == other.quality


def planned_path(
    changes: Changes,
    neck: Neck,
    *,
    start: int | RootPlace | None = None,
    strings: tuple[int, ...] | None = None,
    measure: str = "frets",
    loop: bool = False,
    lowest_fret: LowestFret | None = None,
) -> Path:
    """The path with the least total movement (drills/RULES.md, D1, second view), by exact dynamic programming.

    start: a string number, a place, or None for the best start.
    measure: a key of MEASURES. loop: count the move from the last chord to the first.
    Ties go by the step rule's order, summed. A repeated chord stays where it is.

    Raises PathError when the start or a root has no place, or the measure is unknown.
    """
    if measure not in MEASURES:
        raise PathError(f"path, measure {measure!r}: expected one of {', '.join(MEASURES)}")
    strings = root_strings(neck, strings)
    lowest_fret = lowest_fret or HandPosition(neck)
    found = stops(changes)
    chords = [slot.sounding for _, slot in found]
    layers = [start_places(neck, chords[0], strings, start)]
    options: dict[int, tuple[RootPlace, ...]] = {}
    for bar, slot in found[1:]:
        root = slot.sounding.root
        if root.pitch_class not in options:
            options[root.pitch_class] = root_places(neck, root, strings)
        if not options[root.pitch_class]:
            low, high = neck.root_frets
            raise PathError(
                f"path, bar {bar.number}, {slot.sounding.name}: no {root} on strings {', '.join(map(str, strings))} "
                f"within frets {low} to {min(high, neck.highest)}; widen the fret window or allow another string"
            )
        layers.append(options[root.pitch_class])
    moves = _Moves(neck, measure, lowest_fret)
    beginnings = [(place,) for place in layers[0]] if loop else [layers[0]]
    ways = [_cheapest(chords, [begins, *layers[1:]], moves, loop) for begins in beginnings]
    _, places = min(ways, key=lambda way: way[0])
    return path_of(PLANNED, changes, places, strings, measure, loop)


class _Moves:
    """The costs between all places of two chords, computed once for each pair of chords."""

    def __init__(self, neck: Neck, measure: str, lowest_fret: LowestFret):
        self._given = (neck, measure, lowest_fret)
        self._known: dict[tuple[str, RootPlace, str, RootPlace], int] = {}

    def __call__(self, chord: Chord, place: RootPlace, after: Chord, other: RootPlace) -> int:
        key = (chord.quality.name, place, after.quality.name, other)
        cost = self._known.get(key)
        if cost is None:
            cost = self._known[key] = move_cost(*self._given, chord, place, after, other)
        return cost


def _forward(
    chords: list[Chord], layers: list[tuple[RootPlace, ...]], moves: _Moves
) -> tuple[list[int], list[list[int]]]:
    """Least cost of reaching each place of the last layer, and where each place was reached from.

    A layer whose chord repeats the one before is replaced by that one's places.
    """
    costs = [0] * len(layers[0])
    back: list[list[int]] = []
    tables: dict[tuple[str, tuple[RootPlace, ...], str, tuple[RootPlace, ...]], list[list[int]]] = {}
    for index in range(1, len(chords)):
        before, chord = chords[index - 1], chords[index]
        places, others = layers[index - 1], layers[index]
        if _same(before, chord):
            # The hand stays: only the places of the chord before are open.
            layers[index] = places
            back.append(list(range(len(places))))
            continue
        key = (before.quality.name, places, chord.quality.name, others)
        table = tables.get(key)
        if table is None:
            table = tables[key] = [[moves(before, a, chord, b) for a in places] for b in others]
        came, now = [], []
        for row in table:
            sums = list(map(int.__add__, costs, row))
            least = min(sums)
            now.append(least)
            came.append(sums.index(least))
        back.append(came)
        costs = now
    return costs, back


def _walk(layers: list[tuple[RootPlace, ...]], back: list[list[int]], last: int) -> list[RootPlace]:
    index = last
    places = [layers[-1][index]]
    for came, layer in zip(reversed(back), reversed(layers[:-1]), strict=True):
        index = came[index]
        places.append(layer[index])
    return places[::-1]


def _cheapest(
    chords: list[Chord], layers: list[tuple[RootPlace, ...]], moves: _Moves, loop: bool
) -> tuple[int, list[RootPlace]]:
    """The least cost and its places. For a loop the first layer holds one place, so that only the
    choice of the last place depends on the closing move."""
    costs, back = _forward(chords, layers, moves)
    if loop:
        first = layers[0][0]
        costs = [
            cost + moves(chords[-1], place, chords[0], first) for cost, place in zip(costs, layers[-1], strict=True)
        ]
    last = costs.index(min(costs))
    return costs[last], _walk(layers, back, last)


@dataclass(frozen=True, slots=True)
class Passes:
    """The same changes from each root string; left_out: (string, reason) where the first root has no place."""

    paths: tuple[Path, ...]
    left_out: tuple[tuple[int, str], ...] = ()


def passes(changes: Changes, neck: Neck, *, method: str = STEP_BY_STEP, strings: tuple[int, ...] | None = None,
           measure: str = "frets", loop: bool = False, lowest_fret: LowestFret | None = None) -> Passes:  # fmt: skip
    """A path from each root string, 6, 5 and 4 by default: a tune gets at least three passes (rule D1).

    Raises PathError when no string serves.
    """
    strings = root_strings(neck, strings)
    lowest_fret = lowest_fret or HandPosition(neck)
    first = stops(changes)[0][1].sounding
    paths, left_out = [], []
    for string in strings:
        try:
            start_places(neck, first, strings, string)
        except PathError as error:
            left_out.append((string, str(error)))
            continue
        if method == PLANNED:
            paths.append(planned_path(changes, neck, start=string, strings=strings, measure=measure, loop=loop,
                                      lowest_fret=lowest_fret))  # fmt: skip
        else:
            paths.append(step_path(changes, neck, start=string, strings=strings, loop=loop, lowest_fret=lowest_fret))
    if not paths:
        raise PathError(left_out[0][1])
    return Passes(tuple(paths), tuple(left_out))
