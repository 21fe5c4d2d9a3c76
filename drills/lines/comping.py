"""Chooses the grips of a track, each near to the one before, by exact search over voice leading."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drills.errors import NotPlayableError, TrackError
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import Form
from drills.shapes.grip_fingering import grip_fingerings
from drills.theory.chord import Chord
from drills.theory.interval import Interval

__all__ = ["Grip", "grips_of", "led_grips"]

Places = tuple[tuple[int, int], ...]
"""(string, fret) from the bass up."""

_LOWEST = 48
"""Grips stay above C3 (MIDI key 48) where they can: below it the bass has the room (common practice)."""

_INTO_ROOT = {"9": 2, "b9": 1, "#9": 3}
_INTO_FIFTH = {"13": 9, "b13": 8, "#11": 6, "11": 5}
"""Tensions, as semitones above the root, that a grip takes in place of its root or its fifth (common practice)."""


@dataclass(frozen=True, slots=True)
class Grip:
    """A grip for the track: (string, fret) from the bass up, and its MIDI keys, rising."""

    places: Places
    keys: tuple[int, ...]


def _forms(strings: int, size: int, on: StringSet | None = None) -> Iterator[tuple[Form, StringSet]]:
    """The grips of a chord of so many tones on a neck of so many strings, or on one string set.

    On three strings a four-note chord is told by its shell.
    """
    if on is not None:
        if size > 3 and len(on.numbers) == 3:
            yield Form("grip", voicing="shell", inversion=1), on
        yield from ((form, held) for form, held in _forms(strings, size) if set(held.numbers) <= set(on.numbers))
        return
    if size == 3:
        for first in range(min(strings, 5), 2, -1):
            for inversion in range(3):
                yield Form("grip", voicing="close", inversion=inversion), StringSet((first, first - 1, first - 2))
        return
    for first in range(strings, 3, -1):
        for inversion in range(4):
            yield Form("grip", voicing="drop2", inversion=inversion), StringSet(tuple(range(first, first - 4, -1)))
            if first > 4:
                numbers = (first, first - 2, first - 3, first - 4)
                yield Form("grip", voicing="drop3", inversion=inversion), StringSet(numbers)


def _coloured(finder: ShapeFinder, chord: Chord, places: Places) -> Places | None:
    """The places with tensions in place of root and fifth, or None when no hand can hold that."""
    moves: dict[int, int] = {}
    root = chord.root.pitch_class
    fifth = next((tone.semitones for tone in chord.quality.intervals if tone.steps == 4), None)
    for label in chord.tensions:
        if label in _INTO_ROOT and root not in moves:
            moves[root] = _INTO_ROOT[label]
        elif label in _INTO_FIFTH and fifth is not None and (root + fifth) % 12 not in moves:
            moves[(root + fifth) % 12] = _INTO_FIFTH[label] - fifth
        elif fifth is not None and (root + fifth) % 12 not in moves and label[0] in "b#" and label[1:] in ("5",):
            moves[(root + fifth) % 12] = Interval.from_degree(label).semitones - fifth
    if not moves:
        return places
    tuning = finder.tuning
    moved = tuple((string, fret + moves.get(tuning.midi(string, fret) % 12, 0)) for string, fret in places)
    if any(not 0 <= fret <= finder.neck.highest for _, fret in moved):
        return None
    reach, limit = finder.neck.reach_mm, finder.neck.reach_limit_mm
    return moved if grip_fingerings(moved, 1, lambda a, b: reach(a, b) <= limit) else None


def grips_of(finder: ShapeFinder, chord: Chord, on: StringSet | None = None) -> tuple[Grip, ...]:
    """Every grip of a chord the neck holds, its tensions taken in where a hand can hold them.

    on: the string set they lie on, all strings when None. Raises TrackError when there is none.
    """
    found: dict[Places, Grip] = {}
    plain: dict[Places, Grip] = {}
    size = len(chord.quality.intervals)
    for form, strings in _forms(finder.tuning.strings, size, on):
        for first_fret in range(1, min(12, finder.neck.highest) + 1):
            try:
                shape = finder.at(chord, form, strings, first_fret)
            except NotPlayableError:
                continue
            places = tuple((note.string, note.fret) for note in shape.notes)
            plain[places] = Grip(places, _keys(finder, places))
            coloured = _coloured(finder, chord, places)
            if coloured is not None:
                found[coloured] = Grip(coloured, _keys(finder, coloured))
    if not plain:
        where = f"strings {on}" if on else "this neck"
        raise TrackError(f"track, {chord.name}: no grip of it fits {where}; leave the grips out or allow more frets")
    options = tuple(found.values()) or tuple(plain.values())
    high = tuple(grip for grip in options if grip.keys[0] >= _LOWEST)
    return high or options


def _keys(finder: ShapeFinder, places: Places) -> tuple[int, ...]:
    return tuple(sorted(finder.tuning.midi(string, fret) for string, fret in places))


def _leading(before: Grip, after: Grip) -> tuple[int, int]:
    """Semitones all voices move, top to top and so on down; then frets the hand moves."""
    if len(before.keys) == len(after.keys):
        voices = sum(abs(b - a) for a, b in zip(before.keys, after.keys, strict=True))
    else:
        voices = sum(min(abs(b - a) for a in before.keys) for b in after.keys)
    return voices, abs(min(fret for _, fret in after.places) - min(fret for _, fret in before.places))


def led_grips(
    finder: ShapeFinder, chords: tuple[Chord, ...], start_fret: int = 7, on: StringSet | None = None
) -> tuple[Grip, ...]:
    """A grip for each chord with the least movement of voices in all, exactly.

    start_fret: where the hand begins; a tie goes to less movement of the hand, then to the lower
    places. on: the string set they lie on, all strings when None. Raises TrackError when a chord has no grip.
    """
    if not chords:
        return ()
    known: dict[Chord, tuple[Grip, ...]] = {}
    moves: dict[tuple[Grip, Grip], tuple[int, int]] = {}
    costs: dict[Grip, tuple[int, int]] = {}
    backs: list[dict[Grip, Grip]] = []
    for index, chord in enumerate(chords):
        if chord not in known:
            known[chord] = grips_of(finder, chord, on)
        if index == 0:
            near = {grip: abs(min(fret for _, fret in grip.places) - start_fret) for grip in known[chord]}
            first = min(known[chord], key=lambda grip: (near[grip], len(grip.places) - grip.keys[-1], grip.places))
            costs = {first: (0, 0)}
            continue
        now: dict[Grip, tuple[int, int]] = {}
        back: dict[Grip, Grip] = {}
        for grip in known[chord]:
            ways = []
            for before, cost in costs.items():
                pair = (before, grip)
                if pair not in moves:
                    moves[pair] = _leading(before, grip)
                ways.append(((cost[0] + moves[pair][0], cost[1] + moves[pair][1]), before.places, before))
            now[grip], _, back[grip] = min(ways, key=lambda way: way[:2])
        costs = now
        backs.append(back)
    grip = min(costs, key=lambda each: (costs[each], each.places))
    way = [grip]
    for back in reversed(backs):
        grip = back[grip]
        way.append(grip)
    return tuple(reversed(way))
