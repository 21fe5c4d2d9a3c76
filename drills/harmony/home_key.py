"""Finds the home key of a page, and the keys it visits, from the keys its chords are heard in.

The weights are a judgement (common practice: a tune begins and above all ends at home). Only their sums are compared.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from drills.changes.changes import Changes
from drills.harmony.functions import KINDS
from drills.harmony.harmony import Function, analyse, analyse_bars
from drills.theory.key import Key

__all__ = ["PageHome", "home", "home_key"]

_LAST, _LAST_VAMP, _FIRST = 0.6, 0.2, 0.3
"""What the key of the last chord counts, a vamp at the end, and a key whose tonic chord comes first.

The share of the page that is heard in a key, 0 to 1, is added.
"""

_LEAST_BARS = 2
"""A key is named among those a page travels to when its tonic sounds and so many bars are heard in it."""


@dataclass(frozen=True, slots=True)
class PageHome:
    """Where a page is at home.

    key: as written with a signature. name: as said, such as ``D Dorian``. stated: by the page itself.
    travels: other keys whose tonic is reached, each with the numbers of the bars heard in it.
    """

    key: Key
    name: str
    stated: bool
    travels: tuple[tuple[str, tuple[int, ...]], ...]


def home(changes: Changes) -> PageHome | None:
    """The home of a page, or of the page an excerpt was taken from; None without a chord and without a stated key.

    What an excerpt travels to is counted in the excerpt alone, by the numbers of its own bars.
    """
    bars = (*changes.before, *changes.bars, *changes.after)
    slots = [(bar, slot) for bar in bars for slot in bar.chords]
    heard = [
        (function, float(slot.beats * 4 / bar.metre.unit))
        for (bar, slot), function in zip(slots, analyse_bars(bars), strict=True)
        if function is not None
    ]
    if not heard:
        return None if changes.key is None else PageHome(changes.key, changes.key.name, True, ())
    best = _best(heard)
    key, name = (changes.key, changes.key.name) if changes.key else (best.key, _name(best))
    return PageHome(key, name, changes.key is not None, _travels(changes, key))


def home_key(changes: Changes) -> Key | None:
    """The key a page is at home in: the stated one, or else the one heard; None without a chord."""
    if changes.key is not None:
        return changes.key
    found = home(changes)
    return None if found is None else found.key


def _best(heard: Sequence[tuple[Function, float]]) -> Function:
    """The function whose key is home, by the quarter notes each key lasts, its end and its beginning."""
    share: dict[tuple[int, bool], float] = defaultdict(float)
    names: dict[tuple[int, bool], Function] = {}
    for function, quarters in heard:
        share[_place(function.key)] += quarters
        names.setdefault(_place(function.key), function)
    total = sum(share.values())
    score: dict[int, float] = defaultdict(float)
    for (tonic, _), quarters in share.items():
        score[tonic] += quarters / total
    first, last = heard[0][0], heard[-1][0]
    score[last.key.tonic.pitch_class] += _LAST if last.kind in KINDS else _LAST_VAMP
    score[first.key.tonic.pitch_class] += _FIRST if first.numeral in ("I", "i") else 0
    home_tonic = max(score, key=lambda tonic: round(score[tonic], 6))
    # A page in minor may end on a major chord: the mode is the one that lasts longer, not the last.
    return names[max((place for place in share if place[0] == home_tonic), key=lambda place: share[place])]


def _place(key: Key) -> tuple[int, bool]:
    return key.tonic.pitch_class, key.is_minor


def _name(function: Function) -> str:
    """As a head says it: a blues by its tonic, a mode by its name."""
    return function.key.name if function.kind in KINDS else function.key_name


def _travels(changes: Changes, key: Key) -> tuple[tuple[str, tuple[int, ...]], ...]:
    bars: dict[tuple[int, bool], dict[int, None]] = defaultdict(dict)
    reached: dict[tuple[int, bool], str] = {}
    for (bar, _), function in zip(changes.slots, analyse(changes), strict=True):
        if function is None:
            continue
        place = _place(function.key)
        bars[place][bar.number] = None
        if function.numeral in ("I", "i"):
            reached.setdefault(place, _name(function))
    return tuple(
        (name, tuple(bars[place]))
        for place, name in reached.items()
        if place != _place(key) and len(bars[place]) >= _LEAST_BARS
    )
