"""The rhythm of lines that breathe: a small grammar of cells, with rests, held notes and anticipations.

A line is made of phrases of about two bars, a call and an answer; now and then one runs on for
four. A phrase begins off the beat, goes on in cells of
two beats, lands on a longer note and leaves air. The answer often takes up the call's first bar: a motif that
returns. A note on a strong beat may be struck half a beat early; it is then held over, and belongs to the chord of
the beat it anticipates (common practice). How these lines lie beside measured solos stands in drills/lines/MEASURED.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from drills.changes.changes import Bar, Metre
from drills.lines.onset import Onset, is_strong

__all__ = ["CELLS", "Cell", "phrased", "plays_phrases"]

_H, _T = Fraction(1, 2), Fraction(1, 3)


@dataclass(frozen=True, slots=True)
class Cell:
    """A rhythm of one or two quarter notes: where its notes start, what it is called, and how often it is drawn."""

    name: str
    places: tuple[Fraction, ...]
    weight: int


def _cell(name: str, weight: int, *places: Fraction | int) -> Cell:
    return Cell(name, tuple(map(Fraction, places)), weight)


CELLS: tuple[Cell, ...] = (
    _cell("run", 10, 0, _H, 1, 3 * _H),
    _cell("short long short", 5, 0, _H, 3 * _H),
    _cell("triplet and two", 4, 0, _T, 2 * _T, 1, 3 * _H),
    _cell("two and triplet", 3, 0, _H, 1, 1 + _T, 1 + 2 * _T),
    _cell("held", 2, 0, 3 * _H),
    _cell("beat and two", 3, 0, 1, 3 * _H),
    _cell("from the and", 5, _H, 1, 3 * _H),
    _cell("on the ands", 4, _H, 3 * _H),
)
"""What goes on inside a phrase; each fills two quarters."""

_OPENERS: tuple[Cell, ...] = (
    _cell("and of one", 6, _H, 1, 3 * _H),
    _cell("beat two", 3, 1, 3 * _H),
    _cell("and of two", 4, 3 * _H),
    _cell("beat one", 2, 0, _H, 1, 3 * _H),
)
"""How a phrase begins; two thirds of them off the beat."""
_LONE: tuple[Cell, ...] = (_cell("two", 4, 0, _H), _cell("one", 2, 0), _cell("and", 2, _H))
"""A single beat, where a bar has an odd number of them."""

_RETURNS, _RUNS_ON, _ANTICIPATES, _LANDS_LATE = 0.55, 0.35, 0.4, 0.6
"""How often an answer begins in the rhythm of its call, a phrase runs on for four bars, a strong beat is anticipated,
and a phrase lands in mid-bar."""


def plays_phrases(metre: Metre) -> bool:
    """Whether the cells fit a metre: those counted in quarters or halves, of two quarters or more."""
    return metre.unit <= 4 and metre.quarters >= 2


def _drawn(cells: tuple[Cell, ...], random: Random) -> Cell:
    return random.choices(cells, [cell.weight for cell in cells])[0]


def _bar(metre: Metre, first: tuple[Cell, ...], cells: tuple[Cell, ...], random: Random) -> list[Fraction]:
    """A bar filled with `cells`, the first from `first`."""
    left, at = int(metre.quarters), 0
    found: list[Fraction] = []
    while left:
        cell = _drawn(_LONE if left == 1 else first if not at else cells, random)
        found += [at + place for place in cell.places]
        step = min(left, 2)
        at, left = at + step, left - step
    return found


def phrased(
    bars: tuple[Bar, ...], starts: tuple[Fraction, ...], random: Random, *, early: bool = True, triplets: bool = False
) -> list[Onset]:
    """The onsets of phrases over bars whose metres `plays_phrases` allows.

    starts: where each bar begins, in quarter notes. early: whether strong beats may be anticipated. triplets: whether
    there are more of them.
    """
    cells = tuple(
        replace(cell, weight=cell.weight * 6) if triplets and "triplet" in cell.name else cell for cell in CELLS
    )
    found: list[Onset] = []
    call: tuple[Metre, list[Fraction]] | None = None
    index = 0
    while index < len(bars):
        first = bars[index].metre
        if call is not None and call[0] == first and random.random() < _RETURNS:
            opening, call = call[1], None
        else:
            opening = _bar(first, _OPENERS, cells, random)
            call = (first, opening)
        length = 4 if index + 4 <= len(bars) and random.random() < _RUNS_ON else min(2, len(bars) - index)
        last = index + length - 1
        places = [(index, place) for place in opening]
        for bar in range(index + 1, last):
            places += [(bar, place) for place in _bar(bars[bar].metre, cells, cells, random)]
        if last > index:
            places += _landing(bars[last].metre, last, cells, random)
        else:
            places = [(index, place) for place in opening if place <= first.quarters / 2] or places
        phrase = [Onset(starts[bar] + place, Fraction(0), bar) for bar, place in places]
        found += _lengths(_anticipated(phrase, bars, starts, random) if early else phrase, starts)
        index = last + 1
    return found


def _landing(metre: Metre, index: int, cells: tuple[Cell, ...], random: Random) -> list[tuple[int, Fraction]]:
    """The second bar of a phrase: cells up to the note it lands on."""
    middle = Fraction(int(metre.quarters) // 2)
    late = random.random() < _LANDS_LATE and metre.quarters >= 3
    land = middle if late else Fraction(0)
    run = [place for place in _bar(metre, cells, cells, random) if place < land]
    return [(index, place) for place in (*run, land)]


def _anticipated(
    phrase: list[Onset], bars: tuple[Bar, ...], starts: tuple[Fraction, ...], random: Random
) -> list[Onset]:
    """Some strong beats struck half a beat early; the note that stood there gives way."""
    found: list[Onset] = []
    for number, onset in enumerate(phrase):
        strong = is_strong(bars[onset.bar].metre, onset.start - starts[onset.bar])
        if number and strong and random.random() < _ANTICIPATES:
            at = onset.start - _H
            kept = [each for each in found if each.struck < at]
            # The first note of a phrase stays, and so does a beat that was anticipated itself. A triplet is played to
            # its end: the half of its beat lies between two of its notes, where nothing can be counted.
            whole = all(each.struck < at - _H or each.struck.denominator != 3 for each in found)
            given_way = found[len(kept) :]
            if kept and whole and len(given_way) <= 2 and not any(each.early for each in given_way):
                found = kept
                onset = replace(onset, early=_H)
        found.append(onset)
    return [_over_the_beat(onset, found[number + 1 :], bars, starts) for number, onset in enumerate(found)]


def _over_the_beat(onset: Onset, later: list[Onset], bars: tuple[Bar, ...], starts: tuple[Fraction, ...]) -> Onset:
    """A note on the last "and" before a strong beat that nothing is struck on belongs to that beat."""
    beat = onset.start + _H
    if onset.early or not later or later[0].struck <= beat:
        return onset
    bar = onset.bar + (beat >= starts[onset.bar + 1])
    if bar >= len(bars) or not is_strong(bars[bar].metre, beat - starts[bar]):
        return onset
    return Onset(beat, onset.length, bar, _H)


def _lengths(phrase: list[Onset], starts: tuple[Fraction, ...]) -> list[Onset]:
    """Each note up to the next, a bar line or, in a triplet, a beat; the last a beat and a half, and then air."""
    found = []
    for number, onset in enumerate(phrase):
        end = starts[onset.bar + 1]
        if number + 1 < len(phrase):
            after = phrase[number + 1]
            end = min(end, Fraction(onset.start // 1 + 1)) if onset.start.denominator == 3 else end
            length = min(after.struck - onset.start, end - onset.start, Fraction(2))
        else:
            length = max(min(Fraction(3, 2), end - onset.start - _H), _H)
        found.append(replace(onset, length=length))
    return found
