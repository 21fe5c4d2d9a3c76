"""The cheapest line that breaks no hard rule, found exactly over pitch, string, fret and finger.

Dynamic programming in pairs of notes: the first of a pair is a *head*, the second a *tail*.
A head's state is its hold (hand, string, fret, finger), how the line came to it, and
whether the new chord's third or seventh has sounded; a tail's state adds the head before
it. That is all the hard rules look back on: two leaps in one direction must spell the chord, heads
of neighbouring pairs differ (so that no two notes rock more than once), a passing
chromatic note needs what came before it. Costs are whole numbers and ties go
to the first in a fixed order, so the same question always has the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drills.errors import EtudeError
from drills.lines.etude_steps import KEYS, NoteStep
from drills.lines.hand_positions import NEVER, Hands

if TYPE_CHECKING:
    from drills.lines.hand_positions import Flags, Numbers

    States = dict[int, Numbers]
    """Costs by whether the chord's third or seventh has been heard (0 or 1)."""
    Back = dict[int, tuple[Any, ...]]
    """Where each state came from, by the same key; read by `backtrace`."""
    Arrivals = tuple[Numbers, Numbers, Numbers]
    """Cost, hand and tail of each arrival."""

__all__ = ["Hold", "cheapest_line"]

_FREE, _UP_CHORD, _DOWN_CHORD, _UP, _DOWN, _FALLING = range(6)
"""How a note was reached: by step, or by a leap inside one chord or otherwise, up or down; last a falling step.

Falling steps are told apart only where a line may hold chromatic notes: one that falls must have been fallen to.
"""

_LEAP = 3
"""Semitones from which an interval is a leap: a third."""
_WIDEST, _WIDEST_JOIN = 9, 4
"""Semitones: no leap above a sixth (rule 5), no join above a major third (rule 3)."""
_PRICE = {1: 0, 2: 0, 3: 1, 4: 1, 5: 3, 6: 5, 7: 4, 8: 7, 9: 7}
"""Cost of an interval in semitones: lines go mostly by step (common practice)."""

_BITS = 7
"""Bits for an index beside a cost: no hand has 128 holds, no neck 128 hands. Costs below 2^24 fit above them."""
_INDEX = (1 << _BITS) - 1


@dataclass(frozen=True, slots=True)
class Hold:
    """A note found: string number, fret, finger and MIDI key."""

    string: int
    fret: int
    finger: int
    midi: int


class _Place:
    """The holds allowed at one step, packed: arrays have a row for each hand, padded to one width."""

    def __init__(self, hands: Hands, step: NoteStep):
        import numpy as np

        cost = np.where(hands.valid, step.cost[hands.midi], NEVER)
        if step.fixed is not None:
            allowed = np.isin(hands.string * 64 + hands.fret, list(step.fixed))
            cost = np.where(allowed, cost, NEVER)
        fine = cost < NEVER
        width = int(fine.sum(axis=1).max())
        order = np.argsort(~fine, axis=1, kind="stable")[:, :width]
        self.width = width
        self.hold = order
        self.cost = np.take_along_axis(cost, order, 1).astype(np.int32)
        self.fine = self.cost < NEVER
        self.midi = np.take_along_axis(hands.midi, order, 1)
        self.finger = np.take_along_axis(hands.finger, order, 1)
        self.chord = step.chord_tone[self.midi]
        self.leapt = step.leapt[self.midi]
        self.guide = step.guide[self.midi]
        self.chromatic = step.chromatic[self.midi]
        self.keys = np.unique(self.midi[self.fine])
        self.key = np.minimum(np.searchsorted(self.keys, self.midi), len(self.keys) - 1)


def _prices() -> Numbers:
    import numpy as np

    return np.array([_PRICE.get(size, NEVER) for size in range(KEYS)], np.int32)


class _Search:
    def __init__(self, hands: Hands, steps: list[NoteStep], widest_shift: int):
        self.hands, self.steps, self.widest_shift = hands, steps, widest_shift
        self.prices = _prices()
        self.rows = len(hands.midi)
        self.ways = 6 if any(step.chromatic.any() for step in steps) else 5

    # -- costs of going from one note to the next ------------------------------

    def melodic(self, step: NoteStep, low: Numbers, high: Numbers, place: _Place, chord: Flags) -> Numbers:
        """Cost of the interval from keys `low` (of `place`) to keys `high`, the hard rules of joins included.

        low: (rows, n, 1); high: broadcasts against it. chord: whether `high` is a chord tone of its chord.
        """
        import numpy as np

        size = high - low
        cost: Numbers = self.prices[np.abs(size)]
        if step.join:
            cost = np.where(np.abs(size) > _WIDEST_JOIN, NEVER, cost)
        if step.leading:
            third, seventh = step.leading
            hanging = (low % 12 == seventh) & ((size > -1) | (size < -2))
            hanging |= (low % 12 == third) & ((size < 1) | (size > 2))
            cost = np.where(hanging, NEVER, cost)
        if place.chromatic.any():
            # From a semitone below into a chord tone, or passing downward; never left hanging.
            astray = place.chromatic[:, :, None] & ~(chord & (np.abs(size) == 1))
            cost = np.where(astray, NEVER, cost)
        return cost

    def reached(self, step: NoteStep, size: Numbers, chord: Flags) -> Numbers:
        """How a note is reached (_FREE ...); chord: whether both notes are chord tones."""
        import numpy as np

        inside = chord if step.same else np.zeros_like(chord)
        up = np.where(inside, _UP_CHORD, _UP)
        down = np.where(inside, _DOWN_CHORD, _DOWN)
        step_wise = np.where((size == -1) | (size == -2), _FALLING, _FREE) if self.ways > _FALLING else _FREE
        return np.where(size >= _LEAP, up, np.where(size <= -_LEAP, down, step_wise)).astype(np.int8)

    def barred(self, step: NoteStep, size: Numbers, chord: Flags) -> Numbers:
        """Cost (0 or NEVER) of a step after each way of being reached; a leading axis of the ways."""
        import numpy as np

        inside = chord if step.same else np.zeros_like(chord)
        up, down = size >= _LEAP, size <= -_LEAP
        none = np.zeros_like(up)
        after_each = (none, up & ~inside, down & ~inside, up, down, none)[: self.ways]
        forbidden = np.stack(np.broadcast_arrays(*after_each))
        return np.where(forbidden, NEVER, 0).astype(np.int32)

    def heard(self, step: NoteStep, before: States, place: _Place) -> dict[int, tuple[Numbers, Numbers | None]]:
        """Moves states between `not yet heard` (0) and `heard` (1) when a note sounds.

        before: arrays by 0 and 1 whose last axis is the note. Returns, by 0 and 1, the cost and
        which of the two it came from.
        """
        import numpy as np

        guide = place.guide.reshape(self.rows, *([1] * (next(iter(before.values())).ndim - 2)), place.width)
        if step.opens:
            best, came = _least(before)
            found: dict[int, tuple[Numbers, Numbers | None]] = {1: (np.where(guide, best, NEVER), came)}
            if not step.closes:
                found[0] = (np.where(guide, NEVER, best), came)
            return found
        if 0 not in before:
            return {1: (before[1], None)}
        told = np.where(guide, before[0], NEVER)
        found = {1: _least({0: told, **({1: before[1]} if 1 in before else {})})}
        if not step.closes:
            found[0] = (np.where(guide, NEVER, before[0]), np.zeros_like(before[0], np.int8))
        return found

    # -- the two kinds of move -------------------------------------------------

    def to_tail(self, number: int, heads: States, before: _Place, place: _Place) -> tuple[States, Back]:
        """From heads {heard: (rows, i, ways)} to tails {heard: (rows, i, j)}, with what each came from."""
        import numpy as np

        step = self.steps[number]
        low, high = before.midi[:, :, None], place.midi[:, None, :]
        leapt = before.leapt[:, :, None] & place.leapt[:, None, :]
        size = high - low
        cost = self.melodic(step, low, high, before, place.chord[:, None, :])
        cost = cost + self.within(before, place) + place.cost[:, None, :]
        barred = self.barred(step, size, leapt)
        if before.chromatic.any():
            barred[:_FALLING] = np.where(before.chromatic[:, :, None] & (size == -1), NEVER, barred[:_FALLING])
        reached, how = {}, {}
        for heard, state in heads.items():
            least, how[heard] = _least_at(state.transpose(2, 0, 1)[:, :, :, None] + barred, 0)
            reached[heard] = np.minimum(least + cost, NEVER)
        found: States = {}
        back: Back = {}
        for heard, (costs, came) in self.heard(step, reached, place).items():
            found[heard], back[heard] = costs, (came, how)
        return found, back

    def within(self, before: _Place, place: _Place) -> Numbers:
        import numpy as np

        rows = np.arange(self.rows)[:, None, None]
        return self.hands.pair[rows, before.hold[:, :, None], place.hold[:, None, :]]

    def to_head(self, number: int, tails: States, first: _Place, before: _Place, place: _Place) -> tuple[States, Back]:
        """From tails {heard: (rows, i, j)} to heads {heard: (rows, k, ways)}, the hand moving where it may."""
        import numpy as np

        step, middle = self.steps[number], self.steps[number - 1]
        keys = place.keys
        chord_keys = step.chord_tone[keys]
        low = before.midi[:, :, None]
        both = before.leapt[:, :, None] & step.leapt[keys]
        size = keys - low
        cost = self.melodic(step, low, keys, before, chord_keys)
        way = self.reached(step, size, both)  # (rows, j, m)
        # How j was reached decides which leaps may follow.
        arrived = self.reached(
            middle, before.midi[:, None, :] - first.midi[:, :, None], first.leapt[:, :, None] & before.leapt[:, None, :]
        )  # (rows, i, j)
        barred = np.ascontiguousarray(self.barred(step, size, both).transpose(1, 2, 0, 3))  # (rows, j, ways, m)
        rows = np.arange(self.rows)[:, None, None]
        columns = np.arange(before.width)[None, None, :]
        limits = barred[rows, columns, arrived] << _BITS  # (rows, i, j, m), ready to carry the index of i
        limits[keys == first.midi[:, :, None, None].repeat(before.width, 2)] = NEVER << _BITS
        if before.chromatic.any():
            above = first.midi[:, :, None] - before.midi[:, None, :]
            passing = (above == 1) | (above == 2)
            falls = before.chromatic[:, :, None] & (size == -1)
            limits[(~passing)[:, :, :, None] & falls[:, None, :, :]] = NEVER << _BITS
        through, via = {}, {}
        for heard, state in tails.items():
            packed = (state << _BITS) + np.arange(first.width, dtype=np.int32)[None, :, None]
            best = (limits + packed[:, :, :, None]).min(axis=1)
            via[heard] = (best & _INDEX).astype(np.uint8)
            through[heard] = np.minimum((best >> _BITS) + cost, NEVER)
        found: States = {}
        back: Back = {}
        kept = {heard: self.stay(state, way, before, place) for heard, state in through.items()}
        if step.may_move:
            gone = {heard: self.move(step, state, way, before, place) for heard, state in through.items()}
            for heard, (costs, hand, tail) in gone.items():
                stayed, stayed_hand, stayed_tail = kept[heard]
                better = costs < stayed
                kept[heard] = (
                    np.where(better, costs, stayed),
                    np.where(better, hand, stayed_hand),
                    np.where(better, tail, stayed_tail),
                )
        sums = {heard: np.minimum(costs + place.cost[:, None, :], NEVER) for heard, (costs, _, _) in kept.items()}
        for heard, (costs, came) in self.heard(step, sums, place).items():
            found[heard] = costs.transpose(0, 2, 1)
            back[heard] = (came, {each: (hand, tail) for each, (_, hand, tail) in kept.items()}, via)
        return found, back

    def stay(self, state: Numbers, way: Numbers, before: _Place, place: _Place) -> Arrivals:
        """Arrivals without moving: cost, hand and tail, each (rows, ways, k)."""
        import numpy as np

        take = place.key[:, None, :].repeat(before.width, 1)
        costs = np.take_along_axis(state, take, 2) + self.within(before, place)
        ways = np.take_along_axis(way, take, 2)
        rows = np.arange(self.rows, dtype=np.uint8)[:, None]
        found = np.empty((self.rows, self.ways, place.width), np.int32)
        tail = np.empty(found.shape, np.uint8)
        for how in range(self.ways):
            found[:, how], tail[:, how] = _least_at(np.where(ways == how, costs, NEVER), 1)
        hand = np.broadcast_to(rows[:, :, None], found.shape)
        return np.minimum(found, NEVER), hand, tail

    def move(self, step: NoteStep, state: Numbers, way: Numbers, before: _Place, place: _Place) -> Arrivals:
        """Arrivals in another position: cost, hand left and tail, each (rows, ways, k).

        The finger that plays next is never the one that played last: it would hop.
        """
        import numpy as np

        ways = np.arange(self.ways, dtype=np.int8)[:, None, None, None, None]
        fingers = np.arange(5)[None, :, None, None, None]
        fits = (before.finger[None, None, :, :, None] != fingers) | (fingers == 0)
        leaving = np.where((way == ways) & fits, state, NEVER)  # (how, finger, from, j, m)
        least, which = _least_at(leaving, 3)
        allowed = step.far | (np.abs(self.hands.moved) <= self.widest_shift)
        np.fill_diagonal(allowed, False)
        price = np.where(allowed, self.hands.shift.transpose(2, 0, 1), NEVER)  # (finger, from, to)
        best, source = _least_at(least[:, :, :, None, :] + price[None, :, :, :, None], 2)  # (how, finger, to, m)
        how, row = np.arange(self.ways)[None, :, None], np.arange(self.rows)[:, None, None]
        finger, key = place.finger[:, None, :], place.key[:, None, :]
        hand = source[how, finger, row, key]
        tail = which[how, finger, hand, key]
        return np.minimum(best[how, finger, row, key], NEVER), hand, tail

    # -- the whole line ----------------------------------------------------------

    def run(self) -> list[Hold]:
        import numpy as np

        places = [_Place(self.hands, step) for step in self.steps]
        for number, place in enumerate(places):
            if not place.width:
                raise self.nothing(number)
        first = places[0]
        start = np.full((self.rows, first.width, self.ways), NEVER, np.int32)
        start[:, :, _FREE] = first.cost
        states: States = {1: start}
        if self.steps[0].opens:
            told = first.guide[:, :, None]
            states = {1: np.where(told, start, NEVER)}
            if not self.steps[0].closes:
                states[0] = np.where(told, NEVER, start)
        backs: list[Back] = []
        for number in range(len(places)):
            back: Back = {}
            if number % 2:
                states, back = self.to_tail(number, states, places[number - 1], places[number])
            elif number:
                states, back = self.to_head(number, states, *places[number - 2 : number + 1])
            backs.append(back)
            if min(int(state.min(initial=NEVER)) for state in states.values()) >= NEVER:
                raise self.nothing(number)
        return self.backtrace(places, states, backs)

    def backtrace(self, places: list[_Place], states: States, backs: list[Back]) -> list[Hold]:
        """Back from the cheapest end to the beginning."""
        import numpy as np

        heard = min(states, key=lambda each: (int(states[each].min()), -each))
        at = np.unravel_index(int(states[heard].argmin()), states[heard].shape)
        number = len(places) - 1
        holds: list[tuple[int, int, int]] = []  # (number, hand, index within the place), last first
        if number % 2 == 0:
            hand, index, how = map(int, at)
            holds.append((number, hand, index))
        else:
            hand, head, index = map(int, at)
            holds.append((number, hand, index))
            heard, how = self._before_tail(backs[number], heard, hand, head, index)
            number, index = number - 1, head
            holds.append((number, hand, index))
        while number > 0:
            came, ways, via = backs[number][heard]
            earlier = heard if came is None else int(came[hand, how, index])
            left, tails = ways[earlier]
            there, tail = int(left[hand, how, index]), int(tails[hand, how, index])
            key = int(places[number].key[hand, index])
            head = int(via[earlier][there, tail, key])
            holds.append((number - 1, there, tail))
            heard, how = self._before_tail(backs[number - 1], earlier, there, head, tail)
            hand, index = there, head
            number -= 2
            holds.append((number, hand, index))
        found = []
        for number, hand, index in reversed(holds):
            column = int(places[number].hold[hand, index])
            of = self.hands
            found.append(Hold(*(int(each[hand, column]) for each in (of.string, of.fret, of.finger, of.midi))))
        return found

    @staticmethod
    def _before_tail(back: Back, heard: int, hand: int, head: int, tail: int) -> tuple[int, int]:
        came, how = back[heard]
        earlier = heard if came is None else int(came[hand, head, tail])
        return earlier, int(how[earlier][hand, head, tail])

    def nothing(self, number: int) -> EtudeError:
        step = self.steps[number]
        span = step.span
        beat = span.slot.beat + (step.onset.start - span.start) * span.bar.metre.unit / 4
        return EtudeError(
            f"etude line, bar {span.bar.number}, {span.slot.text}: no note on beat {float(beat):.4g} obeys every hard "
            "rule within these frets; allow more frets, a higher difficulty, other notes or another density"
        )


def _least(states: States) -> tuple[Numbers, Numbers]:
    """The smaller of the states by `heard`, and which it was; 1 on a tie."""
    import numpy as np

    if len(states) == 1:
        ((heard, only),) = states.items()
        return only, np.full(only.shape, heard, np.int8)
    return np.minimum(states[0], states[1]), (states[1] <= states[0]).astype(np.int8)


def _least_at(costs: Numbers, axis: int) -> tuple[Numbers, Numbers]:
    """The least along an axis and its first index, both packed into one number: several times faster than argmin."""
    import numpy as np

    shape = [1] * costs.ndim
    shape[axis] = costs.shape[axis]
    best = ((costs << _BITS) + np.arange(costs.shape[axis], dtype=np.int32).reshape(shape)).min(axis=axis)
    return best >> _BITS, (best & _INDEX).astype(np.uint8)  # small: a whole chorus of these is kept


def cheapest_line(hands: Hands, steps: list[NoteStep], widest_shift: int) -> list[Hold]:
    """A hold for each step, of least total cost.

    Raises EtudeError naming the bar where no note obeys every hard rule.
    """
    return _Search(hands, steps, widest_shift).run()
