"""The search of etude lines over made-up hands: the cheapest of every line that can be, and each rule at its edge."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random
from types import SimpleNamespace

import numpy as np
import pytest

from drills.changes.changes_reading import parse_changes
from drills.errors import EtudeError
from drills.harmony.chord_timeline import spans_of, tones_of
from drills.lines.etude_search import _least_at, cheapest_line
from drills.lines.etude_steps import NoteStep
from drills.lines.hand_positions import NEVER, Hands
from drills.lines.onset import Onset

SPAN = spans_of(parse_changes("metre: 6/8\n| Cm7 | F7 |"))[1]
PRICES = {1: 0, 2: 0, 3: 1, 4: 1, 5: 3, 6: 5, 7: 4, 8: 7, 9: 7}


def step_of(number: int, costs: dict[int, int], **marks) -> NoteStep:
    """A step where the keys named may stand at their cost; chord tones all, guide tones all, unless said."""
    cost = np.full(128, NEVER, np.int32)
    for key, price in costs.items():
        cost[key] = price
    flags = {}
    for name, otherwise in (("chord", True), ("guide", True), ("chromatic", False)):
        flags[name] = np.full(128, otherwise)
        if name in marks:
            flags[name] = np.isin(np.arange(128), list(marks.pop(name)))
    start = SPAN.start + Fraction(number, 2)
    return NoteStep(
        Onset(start, Fraction(1, 2), SPAN.bar.number - 1), 1, SPAN, tones_of(SPAN), cost,
        flags["chord"], flags["guide"], flags["chromatic"], flags["chord"], **{"same": True, **marks},
    )  # fmt: skip


def hands_with(
    midi: list[list[int]], finger: list[list[int]] | None = None, moved=None, shift=None, pair=None
) -> Hands:
    """Hands that hold those keys, a list a hand; every place has a fret of its own, and nothing costs unless said."""
    keys = np.array(midi, np.int32)
    rows, columns = keys.shape
    place = np.arange(rows * columns, dtype=np.int32).reshape(rows, columns)
    return Hands(
        1 + place % 6, place, np.ones_like(keys) if finger is None else np.array(finger, np.int32), keys,
        np.ones(keys.shape, bool), np.zeros((rows, columns, columns), np.int32) if pair is None else pair,
        np.zeros((rows, rows), np.int64) if moved is None else np.array(moved),
        np.zeros((rows, rows, 5), np.int32) if shift is None else shift,
    )  # fmt: skip


def keys_of(hands: Hands, steps: list[NoteStep], widest: int = 3) -> list[int]:
    """The keys of the cheapest line."""
    return [hold.midi for hold in cheapest_line(hands, steps, widest)]


def refused(hands: Hands, steps: list[NoteStep], widest: int = 3) -> bool:
    """Whether no line can be."""
    try:
        cheapest_line(hands, steps, widest)
    except EtudeError:
        return True
    return False


# ---- one rule at a time


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("size", range(13))
def test_an_interval_costs_its_price(size, way):
    """Against a step that costs one less, as much, and one more; no note twice, and none above a major sixth away."""
    start, other = 60, 60 - way
    hands = hands_with([[start, start + way * size, other]])
    if size not in PRICES:
        assert refused(hands, [step_of(0, {start: 0}), step_of(1, {start + way * size: 0})])
        return
    if size == 1:
        other = start - 2 * way
        hands = hands_with([[start, start + way, other]])
    for more, chosen in ((-1, other), (1, start + way * size)):
        steps = [step_of(0, {start: 0}), step_of(1, {start + way * size: 5, other: 5 + PRICES[size] + more})]
        assert keys_of(hands, steps) == [start, chosen]


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("size", range(1, 10))
def test_a_join_is_a_major_third_at_most(size, way):
    """Over a bar line or into a new chord; elsewhere a sixth is."""
    hands = hands_with([[60, 60 + way * size]])
    for join in (True, False):
        steps = [step_of(0, {60: 0}), step_of(1, {60 + way * size: 0}, join=join)]
        assert refused(hands, steps) == (join and size > 4)


@pytest.mark.parametrize("size", [-4, -3, -2, -1, 1, 2, 3, 4])
def test_a_dominants_seventh_falls_and_its_third_rises(size):
    """By a semitone or a tone, where the next chord is the one it leads to; other notes are free."""
    hands = hands_with([[60, 60 + size]])
    for leading, fits in (((0, 5), size in (1, 2)), ((5, 0), size in (-1, -2)), ((4, 5), True), (None, True)):
        for number in (1, 2):  # to a tail, and to a head
            steps = [step_of(0, {60: 0}), step_of(1, {60 + size: 0}, leading=leading)]
            if number == 2:
                before = 61 if size < 0 else 59
                hands = hands_with([[before, 60, 60 + size]])
                steps = [
                    step_of(0, {before: 0}), step_of(1, {60: 0}), step_of(2, {60 + size: 0}, leading=leading),
                ]  # fmt: skip
            assert refused(hands, steps) == (not fits)


@pytest.mark.parametrize("number", [1, 2])
@pytest.mark.parametrize(("first", "second"), [(a, b) for a in range(-5, 6) for b in range(-5, 6) if a and b and a + b])
def test_two_leaps_one_way_lie_inside_one_chord(first, second, number):
    """A leap is a third or more; a step between, a turn, or three tones of one chord make it good."""
    keys = [60, 60 + first, 60 + first + second]
    leaps = min(abs(first), abs(second)) >= 3 and first * second > 0
    before = [keys[0] + (1 if first > 0 else -1)] if number == 2 else []
    line = [*before, *keys]
    hands = hands_with([line])

    def steps(**marks) -> list[NoteStep]:
        found = [step_of(place, {key: 0}) for place, key in enumerate(line)]
        for name, (place, value) in marks.items():
            if name == "chord":
                found[place].chord_tone[line[place]] = value
            else:
                found[place] = replace(found[place], **{name: value})
        return found

    if before and before[0] == keys[1]:
        return
    last = len(line) - 1
    assert not refused(hands, steps())
    for place in (last - 2, last - 1, last):
        assert refused(hands, steps(chord=(place, False))) == leaps, place
    for place in (last - 1, last):
        assert refused(hands, steps(same=(place, False))) == leaps, place


def test_neighbouring_heads_differ():
    """So no two notes rock more than once: the first and the third note differ, the second and the fourth may not."""
    hands = hands_with([[60, 62, 64]])
    assert refused(hands, [step_of(0, {60: 0}), step_of(1, {62: 0}), step_of(2, {60: 0})])
    assert keys_of(hands, [step_of(0, {60: 0}), step_of(1, {62: 0}), step_of(2, {60: 0, 64: 99})]) == [60, 62, 64]
    assert keys_of(hands, [step_of(n, {key: 0}) for n, key in enumerate((60, 62, 64, 62))]) == [60, 62, 64, 62]


@pytest.mark.parametrize("after", [-2, -1, 1, 2])
@pytest.mark.parametrize("before", [-3, -2, -1, 1, 2, 3])
def test_a_chromatic_note_leads_by_a_semitone(before, after):
    """Up into a chord tone from anywhere, down only in passing from a semitone or a tone above."""
    keys = [60 + before, 60, 60 + after]
    if keys[0] == keys[2]:
        return
    hands = hands_with([keys])
    steps = [step_of(number, {key: 0}, chord=[keys[0], keys[2]]) for number, key in enumerate(keys)]
    steps[1].chromatic[60] = True
    fits = after == 1 or (after == -1 and before in (1, 2))
    assert refused(hands, steps) == (not fits)
    steps[2].chord_tone[keys[2]] = False
    assert refused(hands, steps)


@pytest.mark.parametrize(
    ("far", "moved", "fits"),
    [
        (False, 3, True), (False, 4, False), (True, 4, True), (True, 99, True), (False, -3, True), (False, -4, False),
        (True, -12, True),
    ],
)  # fmt: skip
def test_a_hand_moves_as_far_as_asked_and_any_way_after_a_rest(far, moved, fits):
    """Only before a head, where it may, and with another finger than the last."""
    hands = hands_with(
        [[60, 62, 0], [0, 1, 64]], [[1, 2, 3], [1, 2, 3]], [[0, moved], [-moved, 0]],
    )  # fmt: skip
    steps = [step_of(0, {60: 0}), step_of(1, {62: 0}), step_of(2, {64: 0}, may_move=True, far=far)]
    assert refused(hands, steps) == (not fits)
    assert refused(hands, [*steps[:2], replace(steps[2], may_move=False)])
    if fits and not far:
        assert refused(hands, steps, abs(moved) - 1) and not refused(hands, steps, abs(moved))


@pytest.mark.parametrize(("finger", "last"), [(1, 1), (2, 1), (4, 4), (3, 4), (0, 0), (0, 2), (2, 0)])
def test_no_finger_hops_as_the_hand_moves(finger, last):
    """The finger that plays next is not the one that played last; an open string has none."""
    hands = hands_with([[60, 62, 0], [0, 1, 64]], [[1, last, 1], [1, 2, finger]], [[0, 2], [-2, 0]])
    steps = [step_of(0, {60: 0}), step_of(1, {62: 0}), step_of(2, {64: 0}, may_move=True)]
    assert refused(hands, steps) == (finger == last != 0)


def test_a_tail_never_has_another_hand_than_its_head():
    """The hand moves before the first of a pair only."""
    hands = hands_with([[60, 0], [1, 62]], [[1, 2], [1, 2]], [[0, 1], [-1, 0]])
    assert refused(hands, [step_of(0, {60: 0}), step_of(1, {62: 0}, may_move=True, far=True)])


@pytest.mark.parametrize("extra", [-1, 1])
def test_moving_costs_its_shift_and_staying_its_pair(extra):
    """Whichever is cheaper is done, and the finger's own price counts."""
    shift = np.zeros((2, 2, 5), np.int32)
    shift[0, 1, 3] = 6
    pair = np.zeros((2, 3, 3), np.int32)
    pair[0, 1, 2] = 6 + extra
    hands = hands_with([[60, 62, 64], [0, 1, 64]], [[1, 2, 3], [1, 2, 3]], [[0, 2], [-2, 0]], shift, pair)
    steps = [step_of(0, {60: 0}), step_of(1, {62: 0}), step_of(2, {64: 0}, may_move=True)]
    assert [hold.fret for hold in cheapest_line(hands, steps, 3)] == [0, 1, 5 if extra > 0 else 2]


@pytest.mark.parametrize("length", [2, 3, 4])
def test_a_new_chord_is_told_within_its_window(length):
    """A guide tone sounds among the notes from the first to the one that closes; after it any note will do."""
    for told in range(length + 1):
        line = [60, 62, 64, 65, 67][: length + 1]
        hands = hands_with([line])
        steps = [
            step_of(number, {key: 0}, guide=[line[told]], opens=number == 0, closes=number == length - 1)
            for number, key in enumerate(line)
        ]
        assert refused(hands, steps) == (told >= length)
    # What sounded before the chord opened is not the chord's.
    steps = [
        step_of(0, {60: 0}, guide=[60], opens=True), step_of(1, {62: 0}, guide=[60], opens=True, closes=True),
    ]  # fmt: skip
    assert refused(hands_with([[60, 62]]), steps)


def test_only_the_places_asked_for_are_held():
    """String and fret, of several with one key; no such place is said with bar, chord and beat."""
    hands = hands_with([[60, 60, 62]])
    for fret in (0, 1):
        step = replace(step_of(0, {60: 0}), fixed=frozenset([(1 + fret) * 64 + fret]))
        assert [(hold.string, hold.fret) for hold in cheapest_line(hands, [step], 3)] == [(1 + fret, fret)]
    steps = [step_of(0, {60: 0}), step_of(1, {62: 0}), replace(step_of(2, {64: 0}), fixed=frozenset())]
    with pytest.raises(EtudeError, match=r"etude line, bar 2, F7: no note on beat 3 obeys"):
        cheapest_line(hands, steps, 3)
    with pytest.raises(EtudeError, match=r"bar 2, F7: no note on beat 2 obeys"):
        cheapest_line(hands, [step_of(0, {60: 0}), step_of(1, {60: 0})], 3)
    with pytest.raises(EtudeError, match=r"bar 2, F7: no note on beat 1 obeys"):
        cheapest_line(hands, [step_of(0, {61: 0}), step_of(1, {60: 0})], 3)


# ---- everything together


def random_question(random: Random) -> tuple[Hands, list[NoteStep], int]:
    """A small question of any kind: hands, steps, and the widest shift."""
    rows, columns = random.choice(((1, 6), (2, 4), (3, 3)))
    midi = [[random.choice(range(57, 68)) for _ in range(columns)] for _ in range(rows)]
    finger = [[random.randrange(5) for _ in range(columns)] for _ in range(rows)]
    moved = [[(b - a) * random.choice((1, 2)) for b in range(rows)] for a in range(rows)]
    shift = np.array([[[random.randrange(6) for _ in range(5)] for _ in range(rows)] for _ in range(rows)], np.int32)
    pair = np.array(
        [
            [[random.choice((0, 0, 1, 2, 5, NEVER)) for _ in range(columns)] for _ in range(columns)]
            for _ in range(rows)
        ],
        np.int32,
    )
    hands = replace(
        hands_with(midi, finger, moved, shift, pair),
        valid=np.array([[random.random() < 0.9 for _ in range(columns)] for _ in range(rows)]),
    )
    steps, opened = [], False
    for number in range(random.choice((1, 2, 3, 4, 5))):
        keys = range(57, 68)
        costs = {key: random.randrange(8) for key in keys if random.random() < 0.8}
        chord = {key for key in keys if random.random() < 0.7}
        guide = {key for key in chord if random.random() < 0.4}
        chromatic = {key for key in keys if key not in chord and random.random() < 0.5}
        opens = random.random() < 0.3
        opened = opened or opens
        closes = opened and random.random() < 0.4
        opened = opened and not closes
        steps.append(
            step_of(
                number, costs, chord=chord, guide=guide, chromatic=chromatic, opens=opens, closes=closes,
                same=random.random() < 0.7, join=random.random() < 0.3, may_move=random.random() < 0.7,
                far=random.random() < 0.2, leading=random.choice((None, None, None, (0, 5), (4, 10))),
            )
        )  # fmt: skip
    return hands, steps, random.choice((0, 1, 2, 3))


def every_line(hands: Hands, steps: list[NoteStep], widest: int) -> tuple[int, int]:
    """The least price of any line, all tried in plain loops, and how many notes could be placed at most."""
    best, longest = [NEVER], [0]

    def rule_out(line: list[tuple[int, int]], row: int, column: int) -> int | None:
        """What one more note costs, or None where it cannot be."""
        number, step, key = len(line), steps[len(line)], int(hands.midi[row, column])
        if not hands.valid[row, column] or step.cost[key] >= NEVER:
            return None
        price = int(step.cost[key])
        if not line:
            return price
        last_row, last_column = line[-1]
        last, before = int(hands.midi[last_row, last_column]), steps[number - 1]
        size = key - last
        if abs(size) not in PRICES or (step.join and abs(size) > 4):
            return None
        price += PRICES[abs(size)]
        if step.leading is not None:
            if last % 12 == step.leading[0] and not 1 <= size <= 2:
                return None
            if last % 12 == step.leading[1] and not -2 <= size <= -1:
                return None
        earlier = int(hands.midi[line[-2]]) if number > 1 else None
        if before.chromatic[last]:
            if abs(size) != 1 or not step.chord_tone[key]:
                return None
            if size == -1 and (earlier is None or earlier - last not in (1, 2)):
                return None
        if row == last_row:
            if hands.pair[row, last_column, column] >= NEVER:
                return None
            price += int(hands.pair[row, last_column, column])
        else:
            finger = int(hands.finger[row, column])
            near = step.far or abs(int(hands.moved[last_row, row])) <= widest
            if number % 2 or not step.may_move or not near or finger == int(hands.finger[last_row, last_column]) != 0:
                return None
            price += int(hands.shift[last_row, row, finger])
        if earlier is not None:
            if min(abs(size), abs(last - earlier)) >= 3 and size * (last - earlier) > 0:
                three = steps[number - 2].chord_tone[earlier] and before.chord_tone[last] and step.chord_tone[key]
                if not (three and step.same and before.same):
                    return None
            if number % 2 == 0 and earlier == key:
                return None
        return price

    def extend(line: list[tuple[int, int]], price: int, heard: bool) -> None:
        longest[0] = max(longest[0], len(line))
        if len(line) == len(steps):
            best[0] = min(best[0], price)
            return
        step = steps[len(line)]
        for row in range(len(hands.midi)):
            for column in range(hands.midi.shape[1]):
                more = rule_out(line, row, column)
                if more is None:
                    continue
                told = bool(step.guide[hands.midi[row, column]]) or (heard and not step.opens)
                if step.closes and not told:
                    continue
                extend([*line, (row, column)], price + more, told)

    extend([], 0, False)
    return best[0], longest[0]


@pytest.mark.parametrize("part", range(4))
def test_the_line_found_is_the_cheapest_of_all(part):
    """Of made-up questions of every kind: the price is the least there is, and where no line can be, that is said."""
    random, solved, failed = Random(f"questions {part}"), 0, 0
    for _ in range(100):
        hands, steps, widest = random_question(random)
        price, longest = every_line(hands, steps, widest)
        try:
            found = cheapest_line(hands, steps, widest)
        except EtudeError as error:
            empty = [
                number for number, step in enumerate(steps) if not (hands.valid & (step.cost[hands.midi] < NEVER)).any()
            ]
            beat = 1 + (empty[0] if empty else longest)
            assert price == NEVER and f"no note on beat {beat} obeys" in str(error)
            failed += 1
            continue
        only = SimpleNamespace(**{name: getattr(hands, name) for name in ("midi", "finger", "pair", "moved", "shift")})
        only.valid = np.zeros_like(hands.valid)
        for hold in found:
            only.valid |= hands.fret == hold.fret
        # The price of what was found: of lines over its own places, at each step its own place alone.
        narrowed = []
        for step, hold in zip(steps, found, strict=True):
            cost = np.full(128, NEVER, np.int32)
            cost[hold.midi] = step.cost[hold.midi]
            narrowed.append(replace(step, cost=cost))
        assert every_line(only, narrowed, widest)[0] == price < NEVER
        solved += 1
    assert solved > 30 and failed > 5


@pytest.mark.parametrize("least", [0, 63, 64, 127])
def test_a_cost_and_its_place_are_told_apart_up_to_128_places_and_2_to_the_24(least):
    """Both are packed into 32 bits: the least cost comes back whole, with the first place that has it."""
    highest = (1 << 24) - 1
    costs = np.full((2, 128), highest, np.int32)
    costs[1, least:] = highest - 1
    found, place = _least_at(costs, 1)
    assert found.tolist() == [highest, highest - 1] and place.tolist() == [0, least]
