"""What every fingering costs, counted again in plain loops.

The prices are written out once more here, as common practice has them in the
order of drills/RULES.md, C2; nothing of the search or its tables is used.
"""

import random
from itertools import product

import pytest

from drills.shapes.fingering import line_cost, line_fingerings
from drills.shapes.grip_fingering import grip_cost, grip_fingerings
from drills.shapes.hand import move_cost, pair_cost

NEVER = 10_000

WIDER = {(1, 2): 6, (1, 3): 3, (1, 4): 2, (2, 3): 4, (2, 4): 2, (3, 4): 2}
"""Each fret that two fingers open beyond one finger a fret."""

ROLLED = [2, 6, 5, 6]
LEFT = [8, 6, 10, 10]
"""By finger: two strings at one fret in succession, and each fret away from the fret it owned."""


def after_another(finger, other, frets, strings):
    """The price of one note after another in one position of the hand."""
    if finger == other:
        return ROLLED[finger - 1] if frets == 0 and strings in (-1, 1) else NEVER
    if finger > other:
        return after_another(other, finger, -frets, -strings)
    own = other - finger
    if frets < 0:
        return NEVER
    if frets == 0:
        return 2 if own == 1 and strings > 0 else NEVER
    if frets < own:
        return 6 * (own - frets)
    if frets == own + 1:
        return 8 if (finger, other) == (2, 3) and strings != 0 else WIDER[finger, other]
    if frets == own + 2 and (finger, other) == (1, 4):
        return 4
    return 0 if frets == own else NEVER


@pytest.mark.parametrize(("finger", "other"), [*product((1, 2, 3, 4), repeat=2)])
def test_one_note_after_another_costs_what_the_rules_say(finger, other):
    """Every two fingers, up to nine frets and five strings apart either way."""
    for frets, strings in product(range(-9, 10), range(-5, 6)):
        assert pair_cost(finger, other, frets, strings) == after_another(finger, other, frets, strings)


@pytest.mark.parametrize("finger", [1, 2, 3, 4])
def test_a_finger_that_comes_back_elsewhere_costs_by_the_fret(finger):
    """8, 6, 10 and 10 a fret for fingers 1 to 4, either way."""
    for frets in range(-6, 7):
        assert move_cost(finger, frets) == LEFT[finger - 1] * abs(frets)


def line_price(places, fingers, reachable):
    """The price of a line, note by note, NEVER or more when it cannot be played."""
    total, hand, last = 0, {}, None
    for (string, fret), finger in zip(places, fingers, strict=True):
        if (fret == 0) != (finger == 0):
            return NEVER
        if fret == 0:
            continue
        price = 1 if finger == 4 else 0
        if last is not None:
            stay = after_another(last[2], finger, fret - last[1], last[0] - string)
            for other, there in hand.items():
                if (other < finger and there > fret) or (other > finger and there < fret):
                    stay = NEVER
            if not reachable(last[1], fret):
                stay = NEVER
            stay += LEFT[finger - 1] * abs(fret - hand.get(finger, fret))
            moved = abs((fret - last[1]) - (finger - last[2]))
            go = 16 + 2 * moved + (6 if last[0] == string else 0) + (0 if finger == 1 else 4)
            if moved and go < stay:
                hand = {}
                stay = go
            price += stay
        hand[finger] = fret
        last = (string, fret, finger)
        total += price
    return total


def some_lines(count, length, seed):
    """Lines of so many notes on three strings, near together, some open."""
    draw = random.Random(seed)
    for _ in range(count):
        low = draw.choice((1, 2, 5, 9))
        yield tuple(
            (draw.choice((6, 5, 4)), draw.choice((0, *(low + step for step in (0, 0, 1, 2, 3, 4, 5)))))
            for _ in range(length)
        )


def anywhere(_fret, _other):
    """Whether a boundless hand reaches."""
    return True


def near(fret, other):
    """Whether a small hand reaches: three frets apart at most."""
    return abs(fret - other) <= 3


@pytest.mark.parametrize("reachable", [anywhere, near])
@pytest.mark.parametrize("length", [1, 2, 3, 5, 8])
def test_a_line_costs_what_its_notes_cost_one_by_one(length, reachable):
    """Any fingers on any line cost as counted in a plain loop, and what cannot be played costs too much."""
    draw = random.Random(length)
    for places in some_lines(400, length, length):
        fingers = tuple(draw.choice((1, 2, 3, 4)) if fret or draw.random() < 0.02 else 0 for _, fret in places)
        price = line_price(places, fingers, reachable)
        assert min(line_cost(places, fingers, reachable), NEVER) == min(price, NEVER)
    assert line_cost(((6, 3),), (0,)) >= NEVER and line_cost(((6, 0),), (1,)) >= NEVER


@pytest.mark.parametrize("reachable", [anywhere, near])
@pytest.mark.parametrize("length", [1, 2, 3, 4])
def test_the_cheapest_fingerings_are_those_found_by_trying_all(length, reachable):
    """The first twelve of all fingerings by price, then by number, are the twelve found; one unless told."""
    for places in some_lines(25, length, length + 50):
        tried = []
        for fingers in product(*((1, 2, 3, 4) if fret else (0,) for _, fret in places)):
            price = line_price(places, fingers, reachable)
            if price < NEVER:
                tried.append((price, fingers))
        tried.sort()
        assert line_fingerings(places, 12, reachable) == tried[:12]
        assert line_fingerings(places, reachable=reachable) == tried[:1]


def held_price(places, fingers, reachable):
    """The price of a grip, or None when it cannot be held."""
    total = 0
    for (_, fret), finger in zip(places, fingers, strict=True):
        if (fret == 0) != (finger == 0):
            return None
        total += 1 if finger == 4 else 0
    if len(places) > 1 and places[0][0] > places[1][0] + 1:
        total += [0, 3, 0, 2, 6][fingers[0]]
    notes = [(finger, *place) for finger, place in zip(fingers, places, strict=True) if finger]
    for first, second in product(notes, repeat=2):
        if first is second:
            continue
        (finger, string, fret), (other, there, place) = first, second
        if not reachable(fret, place):
            return None
        if finger == other and fret != place:
            return None
        if finger >= other:
            continue
        own = other - finger
        if place < fret:
            return None
        if place == fret and there > string:
            total += (5 if there <= string + 2 else 3) * own
        elif place - fret < own:
            total += own - (place - fret)
        elif place - fret > own:
            beyond = place - fret - own
            if beyond > (2 if (finger, other) == (1, 4) else 1):
                return None
            total += beyond * (8 if (finger, other) == (2, 3) else WIDER[finger, other])
    for finger, barre in ((1, 2), (2, 7), (3, 6), (4, 8)):
        strings = [note[1] for note in notes if note[0] == finger]
        if len(strings) > 1:
            fret = next(note[2] for note in notes if note[0] == finger)
            total += barre
            for string in range(min(strings) + 1, max(strings)):
                sounding = [place for on, place in places if on == string]
                if not sounding:
                    total += 12
                elif string not in strings and (sounding[0] < fret or finger != 1):
                    return None
    return total


@pytest.mark.parametrize("reachable", [anywhere, near])
@pytest.mark.parametrize("strings", [(6, 5), (6, 4), (6, 3), (5, 6), (4, 6)])
def test_two_held_notes_cost_what_the_rules_say(strings, reachable):
    """Every two fingers at every two frets up to the seventh, on strings one to three apart."""
    for frets in product(range(8), repeat=2):
        places = tuple(zip(strings, frets, strict=True))
        for fingers in product(range(5), repeat=2):
            assert grip_cost(places, fingers, reachable) == held_price(places, fingers, reachable)


@pytest.mark.parametrize("strings", [(6, 5, 4), (6, 4, 3), (6, 5, 3), (6, 5, 4, 3), (6, 4, 3, 2), (5, 4, 3, 2, 1)])
def test_more_held_notes_cost_what_the_rules_say(strings):
    """Grips drawn by lot, barres and silent strings among them, cost as counted in a plain loop."""
    draw = random.Random(len(strings) + strings[1])
    held = 0
    for _ in range(3000):
        fingers = tuple(draw.choice((0, 1, 1, 1, 2, 3, 3, 4)) for _ in strings)
        frets = {finger: draw.choice((5, 6, 7, 8)) + draw.choice((0, finger - 1)) for finger in (1, 2, 3, 4)}
        places = tuple(
            (string, frets[finger] + draw.choice((0,) * 9 + (1,)) if finger else draw.choice((0,) * 19 + (5,)))
            for string, finger in zip(strings, fingers, strict=True)
        )
        price = held_price(places, fingers, anywhere)
        held += price is not None
        assert grip_cost(places, fingers) == price
    assert held > 100


@pytest.mark.parametrize("strings", [(6, 5, 4), (6, 4, 3), (6, 5, 4, 3), (6, 4, 3, 2)])
def test_the_cheapest_grips_are_those_found_by_trying_all(strings):
    """The first nine of all ways to hold a grip by price, then by number, are the nine found; one unless told."""
    draw = random.Random(sum(strings))
    for _ in range(25):
        places = tuple((string, draw.choice((0, 5, 5, 6, 7, 8))) for string in strings)
        for reachable in (anywhere, near):
            tried = []
            for fingers in product((0, 1, 2, 3, 4), repeat=len(strings)):
                price = held_price(places, fingers, reachable)
                if price is not None:
                    tried.append((price, fingers))
            tried.sort()
            assert grip_fingerings(places, 9, reachable) == tried[:9]
            assert grip_fingerings(places, reachable=reachable) == tried[:1]
