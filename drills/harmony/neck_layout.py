"""Lays shapes and melodies on the neck: an arpeggio at a root, or pitches where the hand moves least."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.fingering import line_fingerings
from drills.shapes.form import ARPEGGIO, Form
from drills.shapes.root_places import RootPlace
from drills.shapes.shape import Shape
from drills.theory.chord import Chord

__all__ = ["arpeggio_near", "fingers_of", "nearest_places", "three_strings"]

_WITHOUT_OCTAVE = Form(closed=False)

_Place = tuple[int, int]
"""String and fret."""

_Cost = tuple[int, int, int, int]
"""Movement, strings crossed, frets in all, and the string with its sign turned."""


def three_strings(string: int) -> StringSet:
    """A string and the next two above it, or as many as there are."""
    return StringSet(tuple(range(string, max(0, string - 3), -1)))


def _arpeggio_at(finder: ShapeFinder, chord: Chord, strings: StringSet, fret: int) -> Shape | None:
    for form in (ARPEGGIO, _WITHOUT_OCTAVE):
        try:
            return finder.at(chord, form, strings, fret)
        except NotPlayableError:
            continue
    return None


def arpeggio_near(
    finder: ShapeFinder, chord: Chord, place: RootPlace, strings: tuple[int, ...], on: StringSet | None = None
) -> tuple[Shape, bool]:
    """The arpeggio with its root at a place, and whether it lies there.

    Where the shape does not fit the neck (an open string short, a fret too high) it is
    tried without its octave, and then at the nearest root where it does. on: the string set it
    lies on, the root's string and the next two when None. Raises NotPlayableError when it fits
    nowhere on these strings.
    """
    found = _arpeggio_at(finder, chord, on or three_strings(place.string), place.fret)
    if found is not None:
        return found, True
    others = [
        RootPlace(string, fret) for string in strings for fret in finder.neck.frets_of(string, chord.root.pitch_class)
    ]
    others.sort(key=lambda other: (abs(other.fret - place.fret), abs(other.string - place.string), other.fret))
    for other in others:
        found = _arpeggio_at(finder, chord, on or three_strings(other.string), other.fret)
        if found is not None:
            return found, False
    named = f" on strings {on}" if on else ""
    raise NotPlayableError(
        f"{chord.name}: its arpeggio fits nowhere{named} with the root on strings {', '.join(map(str, strings))} "
        f"up to fret {finder.neck.highest}; allow more frets or another root string"
    )


def nearest_places(
    neck: Neck, keys: Sequence[int], given: Sequence[tuple[int, int]] = (), strings: Collection[int] | None = None
) -> tuple[tuple[int, int], ...]:
    """(string, fret) for each MIDI key, with the least movement in frets moved and strings crossed.

    given: places of the first notes, already settled. strings: those that may be used, all when None.
    Exact, by dynamic programming; ties go to fewer strings crossed, then to lower frets in all, then
    to lower-sounding strings. Open strings are used only where nothing else sounds the note. Raises NotPlayableError
    naming the note that lies nowhere.
    """
    layers = [[place] for place in given]
    for index, key in enumerate(keys[len(given) :], len(given) + 1):
        found = [
            (string, key - neck.sounding.midi(string, 0))
            for string in range(neck.tuning.strings, 0, -1)
            if (strings is None or string in strings) and 0 <= key - neck.sounding.midi(string, 0) <= neck.highest
        ]
        closed = [place for place in found if place[1]]
        if not found:
            raise NotPlayableError(f"note {index} of the line (MIDI key {key}) does not lie on this neck")
        layers.append(closed or found)
    costs: list[dict[_Place, tuple[_Cost, _Place]]] = []
    for layer in layers:
        row: dict[_Place, tuple[_Cost, _Place]] = {}
        for place in layer:
            if not costs:
                row[place] = (0, 0, place[1], -place[0]), place
                continue
            row[place] = min((_further(cost, other, place), other) for other, (cost, _) in costs[-1].items())
        costs.append(row)
    if not costs:
        return ()
    place = min(costs[-1], key=lambda each: costs[-1][each][0])
    way = [place]
    for row in reversed(costs[1:]):
        place = row[place][1]
        way.append(place)
    return tuple(reversed(way))


def _further(cost: _Cost, before: _Place, place: _Place) -> _Cost:
    """The cost of going on to a place: movement, strings crossed, frets in all, and the lower string."""
    crossed = abs(place[0] - before[0])
    return cost[0] + abs(place[1] - before[1]) + crossed, cost[1] + crossed, cost[2] + place[1], -place[0]


def fingers_of(neck: Neck, places: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    """The easiest fingers for places played one after another; raises NotPlayableError when there are none."""
    if not places:
        return ()
    found = line_fingerings(places, 1, lambda one, other: neck.reach_mm(one, other) <= neck.reach_limit_mm)
    if not found:
        raise NotPlayableError("no hand can play these notes one after another")
    return found[0][1]
