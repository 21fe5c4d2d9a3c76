"""Finds the path of roots through changes step by step, from each root to the nearest next one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from drills.changes.changes import WITHOUT_CHORDS, Bar, Changes, Slot
from drills.errors import PathError, TuningError
from drills.neck.neck import Neck
from drills.shapes.root_places import HandPosition, LowestFret, RootPlace, nearest_root, root_places
from drills.theory.chord import Chord

__all__ = [
    "PLANNED",
    "STEP_BY_STEP",
    "Path",
    "PathStep",
    "nearest",
    "path_of",
    "root_strings",
    "start_places",
    "step_path",
    "stops",
]

STEP_BY_STEP, PLANNED = "step by step", "planned"


@dataclass(frozen=True, slots=True)
class PathStep:
    """One chord of the path.

    bar: number in playing order. beat: where it starts in the bar, 1 the first.
    chord, text: what is played and as written. string, fret: where its root lies.
    """

    bar: int
    beat: Fraction
    chord: Chord
    text: str
    string: int
    fret: int


@dataclass(frozen=True, slots=True)
class Path:
    """A path of roots.

    method: ``step by step`` or ``planned``. measure: what a planned path makes least.
    strings: that may carry roots. loop: whether the move from the last chord back to
    the first counts. closing_frets: that move, 0 when it does not count.
    total_frets: frets moved in all, without direction, the closing move included.
    holds: (bar, beat) of every place without a chord, where the hand stays.
    """

    method: str
    steps: tuple[PathStep, ...]
    strings: tuple[int, ...]
    measure: str = "frets"
    loop: bool = False
    closing_frets: int = 0
    holds: tuple[tuple[int, Fraction], ...] = ()

    @property
    def total_frets(self) -> int:
        """Frets moved in all, the closing move included."""
        return sum(abs(b.fret - a.fret) for a, b in pairwise(self.steps)) + self.closing_frets


def stops(changes: Changes) -> tuple[tuple[Bar, Slot], ...]:
    """Every place with a chord, in playing order. Raises PathError when there is none."""
    found = tuple((bar, slot) for bar, slot in changes.slots if slot.chord is not None)
    if not found:
        raise PathError(f"path: {WITHOUT_CHORDS}")
    return found


def start_places(
    neck: Neck, chord: Chord, strings: tuple[int, ...], start: int | RootPlace | None
) -> tuple[RootPlace, ...]:
    """Where a path may begin: the lowest place on a string, one chosen place, or (None) any.

    Raises PathError when the first root is not there inside the root frets.
    """
    places = root_places(neck, chord.root, strings)
    low, high = neck.root_frets
    if not places:
        raise _no_place(chord, strings, neck)
    if start is None:
        return places
    if isinstance(start, RootPlace):
        if start not in places:
            there = ", ".join(f"{chord.root}({place.string}/{place.fret})" for place in places)
            raise PathError(
                f"path, start: {chord.root} does not lie at string {start.string} fret {start.fret} "
                f"within frets {low} to {high}; it lies at {there}"
            )
        return (start,)
    if start not in strings:
        raise PathError(f"path, start: string {start} is not among the root strings {_listed(strings)}; choose one")
    on_string = [place for place in places if place.string == start]
    if not on_string:
        others = sorted({place.string for place in places}, reverse=True)
        raise PathError(
            f"path, start: no {chord.root} on string {start} within frets {low} to {high}; start from {_listed(others)}"
        )
    # An open string is no usual place for a root, so it is the start only when nothing else is.
    return (min(on_string, key=lambda place: (place.fret == 0, place.fret)),)


def _listed(strings: Iterable[int]) -> str:
    return ", ".join(f"{string}" for string in strings)


def _no_place(chord: Chord, strings: tuple[int, ...], neck: Neck, bar: int = 1) -> PathError:
    low, high = neck.root_frets
    return PathError(
        f"path, bar {bar}, {chord.name}: no {chord.root} on strings {_listed(strings)} within frets {low} to "
        f"{min(high, neck.highest)}; widen the fret window or allow another string"
    )


def path_of(
    method: str, changes: Changes, places: list[RootPlace], strings: tuple[int, ...], measure: str, loop: bool
) -> Path:
    """A path from its places, one for each stop."""
    found = stops(changes)
    steps = tuple(
        PathStep(bar.number, slot.beat, slot.sounding, slot.text, place.string, place.fret)
        for (bar, slot), place in zip(found, places, strict=True)
    )
    holds = tuple((bar.number, slot.beat) for bar, slot in changes.slots if slot.chord is None)
    closing = abs(steps[0].fret - steps[-1].fret) if loop else 0
    return Path(method, steps, strings, measure, loop, closing, holds)


def step_path(
    changes: Changes,
    neck: Neck,
    *,
    start: int | RootPlace | None = None,
    strings: tuple[int, ...] | None = None,
    loop: bool = False,
    lowest_fret: LowestFret | None = None,
) -> Path:
    """From each root to the nearest next one (drills/RULES.md, D1).

    The nearest is the place with the fewest frets to move; on a tie the fewest strings
    crossed; then the least movement of the hand position; then the lower fret (and, for
    tunings where even that ties, the lower-sounding string). A repeated chord stays.

    start: a string number (6 by default, or the first root string), or a place.
    strings: that may carry roots. The neck's root frets are the fret window.
    lowest_fret: position of the hand at a root, that of the arpeggio shape by default.

    Raises PathError when the start or a root has no place.
    """
    strings = root_strings(neck, strings)
    lowest_fret = lowest_fret or HandPosition(neck)
    found = stops(changes)
    first = found[0][1].sounding
    places = [start_places(neck, first, strings, strings[0] if start is None else start)[0]]
    for (_, before), (bar, slot) in pairwise(found):
        places.append(nearest(neck, before.sounding, places[-1], slot.sounding, strings, lowest_fret, bar.number))
    return path_of(STEP_BY_STEP, changes, places, strings, "frets", loop)


def nearest(
    neck: Neck, chord: Chord, place: RootPlace, after: Chord, strings: tuple[int, ...], lowest_fret: LowestFret,
    bar: int = 1,
) -> RootPlace:  # fmt: skip
    """The nearest root of the next chord, by the step rule of `step_path`."""
    found = nearest_root(neck, chord, place, after, strings, lowest_fret)
    if found is None:
        raise _no_place(after, strings, neck, bar)
    return found


def root_strings(neck: Neck, strings: tuple[int, ...] | None = None) -> tuple[int, ...]:
    """The strings that may carry roots: those asked for, else 6, 5, 4, or the lowest three of fewer strings.

    Raises PathError when one is missing from the tuning or named twice.
    """
    if strings is None:
        top = min(6, neck.tuning.strings)
        return tuple(range(top, max(0, top - 3), -1))
    for string in strings:
        try:
            neck.tuning.open_pitch(string)
        except TuningError as error:
            raise PathError(f"path, root strings: {error}") from error
    if not strings or len(set(strings)) < len(strings):
        raise PathError(f"path, root strings: expected different strings such as 6 5 4, got {list(strings)}")
    return tuple(strings)
