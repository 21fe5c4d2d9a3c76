"""Finds the key of every chord of a page, what the chord does in that key, and its mode."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TypeAlias

from drills.changes.changes import Bar, Changes, Slot
from drills.changes.overrides import mode_of_override
from drills.errors import TheoryError
from drills.harmony.cycles import cycle_keys, line_tonics, long_chain
from drills.harmony.functions import OUTSIDE, PASSING, TARGETS, ChordFunction
from drills.harmony.key_search import STATES, best_keys, chord_costs, heard_best, is_stated, stated_key
from drills.harmony.key_spelling import passing_numeral, plain_key, spelled_keys
from drills.harmony.stretches import Stretch, step_between, stretches
from drills.harmony.vamps import LONG, Vamp, vamps
from drills.theory.chord_mode import mode_of
from drills.theory.key import Key
from drills.theory.mode import Mode

__all__ = ["Function", "analyse", "analyse_bars"]

HELD = 2
"""Most a chord may cost in the stated key to be held there when the music rests on it."""

SAME_ROUND = 4
"""So many chords on either side are alike where a passage comes again."""


@dataclass(frozen=True, slots=True)
class Function:
    """What a chord does, and the mode that follows.

    key, kind: the local key; kind is ``major``, ``minor`` or ``blues``.
    numeral: place in it, "" when the key does not explain the chord.
    mode: or None when no known scale holds the chord. chosen: by the player, in the text.
    kind: or the name of a mode, for a chord the music rests on with no key about it.
    also: a second reading and why it is one, where the page leaves two; "" where it leaves none.
    """

    key: Key
    kind: str
    numeral: str
    mode: Mode | None
    chosen: bool = False
    also: str = ""

    @property
    def key_name(self) -> str:
        """E.g. ``Bb``, ``C minor``, ``F blues`` or ``D Dorian``."""
        return self.key.name if self.kind in ("major", "minor") else f"{self.key.tonic.name} {self.kind}"

    @property
    def explanation(self) -> str:
        """As shown and said: ``ii of Bb: Dorian``."""
        place = f"{self.numeral} of {self.key_name}" if self.numeral else f"outside {self.key_name}"
        mode = self.mode.name if self.mode else "no scale of the table holds it"
        return f"{place}: {mode}" + (" (your choice)" if self.chosen else "")

    def __str__(self) -> str:
        return self.explanation


_Heard: TypeAlias = tuple[Function, tuple[str, ...]]
"""A function, and the modes that go with it, the usual one first."""


def analyse(changes: Changes) -> tuple[Function | None, ...]:
    """The function of every chord in playing order, None for no chord; aligned with ``changes.slots``.

    An excerpt is heard within the page it was taken from.
    """
    found = analyse_bars((*changes.before, *changes.bars, *changes.after))
    first = sum(len(bar.chords) for bar in changes.before)
    return found[first : first + len(changes.slots)]


def analyse_bars(bars: Sequence[Bar]) -> tuple[Function | None, ...]:
    """The function of every slot of a page's bars in playing order, None for no chord."""
    slots = [(bar, slot) for bar in bars for slot in bar.chords]
    sounding = [(bar, slot) for bar, slot in slots if slot.chord is not None]
    answers = iter(_functions(sounding, _pickup(bars)) if sounding else ())
    return tuple(None if slot.chord is None else next(answers) for _, slot in slots)


def _pickup(bars: Sequence[Bar]) -> int:
    """How many chords sound in a pickup, which is a first bar shorter than the second."""
    if len(bars) < 2 or bars[0].metre.quarters >= bars[1].metre.quarters:
        return 0
    return sum(slot.chord is not None for slot in bars[0].chords)


def _functions(sounding: Sequence[tuple[Bar, Slot]], pickup: int) -> list[Function]:
    """The function of every slot that sounds; the first so many stand in a pickup."""
    page = stretches(sounding)
    begins = next((place for place, one in enumerate(page) if one.end > pickup), 0)
    modal = vamps(page)
    rows, readings = chord_costs([(one.chord, one.stated) for one in page], begins)
    for kind, tonics in (("major", cycle_keys(page)), ("minor", line_tonics(page))):
        for place, tonic in tonics.items():
            rows[place] = tuple(
                0 if state == (tonic, kind) else cost + OUTSIDE
                for cost, state in zip(rows[place], STATES, strict=True)
            )  # fmt: skip
    for place in long_chain(page):
        rows[place] = tuple(
            cost + OUTSIDE * (state[1] == "blues") for cost, state in zip(rows[place], STATES, strict=True)
        )  # fmt: skip
    _hold_stated(page, modal, rows)
    functions: list[_Heard] = []
    start = 0
    while start < len(page):
        end = start
        while end < len(page) and not (end in modal and modal[end].sure):
            end += 1
        if end > start:
            functions += _in_keys(page[start:end], rows[start:end], readings[start:end], page[begins].root)
        if end < len(page):
            functions.append(_on_vamp(page[end], modal[end]))
        start = end + 1
    spread: list[Function] = []
    for place, (one, (function, preferred)) in enumerate(zip(page, functions, strict=True)):
        if place in modal and not modal[place].sure:
            second, _ = _on_vamp(one, modal[place])
            function = replace(function, also=f"{second.explanation}, since the music rests on it without a cadence")
        spread += [_chosen(function, preferred, slot) for _, slot in sounding[one.first : one.end]]
    return spread


def _hold_stated(page: Sequence[Stretch], modal: dict[int, Vamp], rows: list[tuple[int, ...]]) -> None:
    """A chord the page rests on is heard in the key the page states, where that key holds it."""
    for place, one in enumerate(page):
        if one.stated is None or (place not in modal and one.bars < LONG):
            continue
        held = [is_stated(state, one.stated) for state in STATES]
        if min(cost for cost, own in zip(rows[place], held, strict=True) if own) <= HELD:
            rows[place] = tuple(cost + OUTSIDE * (not own) for cost, own in zip(rows[place], held, strict=True))


def _in_keys(
    page: Sequence[Stretch], rows: Sequence[tuple[int, ...]], readings: Sequence[tuple[ChordFunction, ...]], root: int
) -> list[_Heard]:
    """The function of each stretch by the cheapest sequence of keys; a second reading where one costs the same."""
    states, cost = best_keys(rows, root)
    through = heard_best(rows)
    states = _alike(page, states, through)
    keys = spelled_keys([(one.chord, one.stated) for one in page], states, readings)
    functions: list[_Heard] = []
    for place, (one, state, found, key) in enumerate(zip(page, states, readings, keys, strict=True)):
        read = found[state]
        function = Function(key, STATES[state][1], _numeral(page, place, key, read), mode_of(one.chord, read.modes))
        also = _second(page, place, state, through[place], found) if through[place][state] == cost else ""
        also = _applied(page, place, function, read) or also
        functions.append((replace(function, also=also), read.modes))
    for place, target in _pairs(page, functions):
        function, preferred = functions[place]
        second = replace(function, numeral=f"ii of {target}", mode=mode_of(page[place].chord, ("Dorian",)))
        also = f"{second.explanation}, since it makes a whole ii-V into {target} with the next chord"
        functions[place] = (replace(function, also=function.also or also), preferred)
    return functions


def _pairs(page: Sequence[Stretch], functions: Sequence[_Heard]) -> list[tuple[int, str]]:
    """Minor chords with a name of their own that are also the ii of a whole ii-V, and the degree it goes to.

    Such a pair has two chords of one length, the second is heard as the dominant of another degree in the same key, and
    it arrives there, at a chord with a major third: before a minor one the ii would be half-diminished. The goal may be
    put off by its own ii, which is the dominant turned minor.
    """
    found = []
    for place in range(len(page) - 2):
        one, dominant, *after = page[place : place + 4]
        put_off = len(after) > 1 and after[0].root == dominant.root and after[0].family == "min"
        goal = after[put_off]
        function, applied = functions[place][0], functions[place + 1][0]
        if (
            one.family == "min"
            and function.numeral and not function.numeral.startswith("ii of")
            and (applied.key, applied.kind) == (function.key, function.kind)
            and applied.numeral.startswith("V of ")
            and step_between(one, dominant) == step_between(dominant, goal) == 5
            and goal.family in ("maj", "M", "dom")
            and one.bars == dominant.bars
        ):  # fmt: skip
            found.append((place, applied.numeral.removeprefix("V of ")))
    return found


def _numeral(page: Sequence[Stretch], place: int, key: Key, read: ChordFunction) -> str:
    if read.numeral != PASSING:
        return read.numeral
    step = step_between(page[place], page[place + 1]) if place + 1 < len(page) else None
    return passing_numeral((page[place].root - key.tonic.pitch_class) % 12, step)


def _applied(page: Sequence[Stretch], place: int, function: Function, read: ChordFunction) -> str:
    """The other name of a diminished chord that leads up into a degree of the key."""
    if read.numeral != PASSING or place + 1 == len(page) or step_between(page[place], page[place + 1]) != 1:
        return ""
    target = TARGETS[function.kind].get((page[place + 1].root - function.key.tonic.pitch_class) % 12)
    if target is None:
        return ""
    second = replace(function, numeral=f"vii of {target}")
    return f"{second.explanation}, since it leads up into {target}"


def _alike(page: Sequence[Stretch], states: Sequence[int], through: Sequence[Sequence[int]]) -> list[int]:
    """A passage that comes again is heard once: chords with the same neighbours are heard in one key."""
    groups: dict[object, list[int]] = {}
    for place in range(SAME_ROUND, len(page) - SAME_ROUND):
        window = page[place - SAME_ROUND : place + SAME_ROUND + 1]
        sound = tuple((one.root, one.chord.quality.name, stated_key(one.stated)) for one in window)
        groups.setdefault(sound, []).append(place)
    found = list(states)
    for places in groups.values():
        if len({states[place] for place in places}) > 1:
            one = min(
                dict.fromkeys(states[place] for place in places),
                key=lambda state: sum(through[place][state] for place in places),
            )
            for place in places:
                found[place] = one
    return found


def _second(
    page: Sequence[Stretch], place: int, state: int, through: Sequence[int], found: tuple[ChordFunction, ...]
) -> str:
    """A key on another tonic in which the page costs the same: what the chord is there, and why that is left open."""
    one = page[place]
    for above in range(12):
        for kind, name in enumerate(("major", "minor")):
            tonic = (one.root + above) % 12
            other = 12 * kind + tonic
            if tonic == STATES[state][0] or through[other] != through[state] or found[other].cost > HELD:
                continue
            key = spelled_keys([(one.chord, one.stated)], [other], [found])[0]
            mode = mode_of(one.chord, found[other].modes)
            second = Function(key, name, _numeral(page, place, key, found[other]), mode)
            return f"{second.explanation}, since both keys fit the page equally well"
    return ""


def _on_vamp(one: Stretch, vamp: Vamp) -> _Heard:
    minor = vamp.numeral == "i" or (vamp.mode == "Dorian" and vamp.tonic != one.root)
    parent = "harmonic minor" if minor else "major"
    key = plain_key(vamp.tonic, parent)
    if vamp.tonic == one.root:
        with suppress(TheoryError):  # a root no key is written on, such as G# major, keeps the plain spelling
            key = Key(one.chord.root, parent)
    preferred = (vamp.chord_mode,)
    kind = "major" if vamp.mode == "Ionian" else vamp.mode
    return Function(key, kind, vamp.numeral, mode_of(one.chord, preferred)), preferred


def _chosen(function: Function, preferred: tuple[str, ...], slot: Slot) -> Function:
    """The function at one slot: with the mode its own tensions ask for, or the player's own where one is written."""
    if slot.mode:
        return replace(function, mode=mode_of_override(slot.mode, slot.sounding), chosen=True)
    return replace(function, mode=mode_of(slot.sounding, preferred))
