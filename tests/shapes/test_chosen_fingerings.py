"""Fingerings that players asked about, and the ones offered next to them (drills/RULES.md, C2, 15 and 16)."""

from __future__ import annotations

import pytest

from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import parse_form
from drills.shapes.hand import hand_range
from drills.theory.symbol import parse_chord

FINDER = ShapeFinder(Neck())


def ways(name, form, strings):
    shape = FINDER.find(parse_chord(name), parse_form(form), StringSet(tuple(map(int, strings))))
    return shape, [way.fingers for way in FINDER.fingerings(shape)]


def test_the_grip_of_c7_takes_a_finger_for_each_string():
    """8 x 8 9 8 is 1 2 4 3; the one whose first finger bars behind the second is offered next."""
    shape, found = ways("C7", "grip-drop3", "6432")
    assert [(note.string, note.fret) for note in shape.notes] == [(6, 8), (4, 8), (3, 9), (2, 8)]
    assert found[:2] == [(1, 2, 4, 3), (2, 1, 3, 1)]


def test_the_arpeggio_of_maj7_on_432_rolls_the_third_finger():
    """2 1 3 3 4, as in the table of C1; the one without a roll, 2 1 4 3 4, is offered next."""
    shape, found = ways("Cmaj7", "arpeggio", "432")
    assert shape.fingers == found[0] == (2, 1, 3, 3, 4)
    assert found[1] == (2, 1, 4, 3, 4)


@pytest.mark.parametrize("name", ["Cmaj7", "Cm7", "C7", "Cm7b5", "Cdim7", "C6"])
@pytest.mark.parametrize("form", ["arpeggio", "grip-drop2"])
def test_others_are_offered_by_how_little_the_hand_moves(name, form):
    """After the usual one: the range of fret less finger never falls from one to the next."""
    for strings in ("654", "543", "432") if form == "arpeggio" else ("6543", "5432", "4321"):
        shape, found = ways(name, form, strings)
        ranges = [hand_range((note.fret for note in shape.notes), fingers) for fingers in found[1:]]
        assert ranges == sorted(ranges)
        assert len(set(found)) == len(found)


def test_how_far_a_hand_moves_is_counted_in_frets():
    """One finger a fret is no move; a roll stays, a shift does not; an open string has no finger."""
    assert hand_range((8, 7, 10, 9, 10), (2, 1, 4, 3, 4)) == 0
    assert hand_range((10, 9, 12, 12, 13), (2, 1, 3, 3, 4)) == 1
    assert hand_range((10, 9, 12, 12, 13), (2, 1, 3, 1, 2)) == 3
    assert hand_range((0, 1), (0, 1)) == 0


IN_ORDER = [
    ("Cm7", "grip-drop3", "5321", (1, 2, 4, 3)),
    ("C7", "grip-drop3", "6432", (1, 2, 4, 3)),
    ("C7", "grip-drop3", "5321", (1, 2, 4, 3)),
    ("C7sus4", "grip-drop3", "6432", (1, 2, 4, 3)),
    ("C7#5", "grip-drop3", "6432", (1, 2, 3, 4)),
    ("C7#5", "grip-drop3", "5321", (1, 2, 4, 3)),
    ("C7sus4", "grip-shell", "532", (1, 2, 4)),
    ("Cmaj7", "grip-drop3", "6432", (2, 3, 4, 1)),
]
"""Grips of one picture with that of C7, and that of maj7, whose first finger lies four strings from the second."""


@pytest.mark.parametrize(("name", "form", "strings", "fingers"), IN_ORDER)
def test_fingers_at_one_fret_stand_in_order_within_two_strings(name, form, strings, fingers):
    """The lower number on the lower-pitched string (common practice)."""
    numbers = StringSet(tuple(map(int, strings)))
    assert FINDER.find(parse_chord(name), parse_form(form), numbers).fingers == fingers
