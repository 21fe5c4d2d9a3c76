"""Where the roots of chords may lie, and the nearest next one: the step rule of drills/RULES.md, D1."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from drills.errors import NotPlayableError
from drills.neck.neck import MOST_FRETS, Neck
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import Quality

__all__ = ["HandPosition", "LowestFret", "RootPlace", "nearest_root", "root_places"]

LowestFret = Callable[[Chord, int, int], int]
"""(chord, string, fret of the root) to the lowest fret of the arpeggio laid there."""


@dataclass(frozen=True, slots=True)
class RootPlace:
    """A root on the neck: string number (1 is the highest) and fret from the nut or capo."""

    string: int
    fret: int


def root_places(neck: Neck, root: Note, strings: tuple[int, ...]) -> tuple[RootPlace, ...]:
    """Every place of a root on the given strings inside the neck's root frets, in that order, low frets first."""
    return tuple(
        RootPlace(string, fret) for string in strings for fret in sorted(neck.root_frets_of(string, root.pitch_class))
    )


def nearest_root(
    neck: Neck, chord: Chord, place: RootPlace, after: Chord, strings: tuple[int, ...], lowest_fret: LowestFret
) -> RootPlace | None:
    """The root of the next chord nearest to where a chord's root is; None when the strings have none.

    The fewest frets to move; on a tie the fewest strings crossed; then the least movement of the hand
    position; then the lower fret (and, for tunings where even that ties, the lower-sounding string).
    """
    hand = lowest_fret(chord, place.string, place.fret)

    def distance(other: RootPlace) -> tuple[int, int, int, int, int]:
        moved = abs(lowest_fret(after, other.string, other.fret) - hand)
        return (abs(other.fret - place.fret), abs(other.string - place.string), moved, other.fret, -other.string)

    return min(root_places(neck, after.root, strings), key=distance, default=None)


class HandPosition:
    """The lowest fret of a chord's arpeggio at a root (rule D1, 3, and C5).

    The usual layout is movable, so its lowest fret lies at one distance from the root
    everywhere; it is looked up once for a quality and string, on a neck without limits,
    so that a shape which does not fit the player's neck still has a position.
    A string with no higher neighbours to cross counts as the root's own fret.
    """

    def __init__(self, neck: Neck):
        self._finder = ShapeFinder(Neck(neck.sounding, top_fret=MOST_FRETS, reach_limit_mm=300.0))
        self._offsets: dict[tuple[Quality, int], int] = {}

    def __call__(self, chord: Chord, string: int, root_fret: int) -> int:
        """The lowest fret, 0 or more."""
        key = (chord.quality, string)
        if key not in self._offsets:
            self._offsets[key] = self._offset(chord, string)
        return max(0, root_fret + self._offsets[key])

    def _offset(self, chord: Chord, string: int) -> int:
        neck = self._finder.neck
        fret = next(f for f in neck.frets_of(string, chord.root.pitch_class) if f >= 12)
        try:
            strings = StringSet(tuple(range(string, max(0, string - 3), -1)))
            return self._finder.at(chord, ARPEGGIO, strings, fret).lowest_fret - fret
        except NotPlayableError:
            return 0
