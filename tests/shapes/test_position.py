"""Where the hand lies for a shape: the fret of the first finger."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.neck.strings import parse_strings
from drills.shapes.form import Form
from drills.shapes.shape import Placement, Shape
from drills.theory.note import Pitch
from drills.theory.symbol import parse_chord

STRINGS = parse_strings("432")


def fingered(*notes):
    """A shape of notes given as (fret, finger); what sounds does not matter for the position."""
    pitch = Pitch(parse_chord("C7").root, 4)
    return Shape(
        parse_chord("C7"), Form(), STRINGS,
        tuple(Placement(4 - n, fret, pitch, "1", finger) for n, (fret, finger) in enumerate(notes)), 0.0, 0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("notes", "position"),
    [
        (((7, 2), (5, 1), (8, 4)), 5),
        (((5, 1), (6, 1), (9, 4)), 5),  # where it plays first
        (((0, 0), (6, 2), (8, 4)), 5),  # the second finger at the sixth fret: the first would lie at the fifth
        (((0, 0), (7, 3), (8, 4)), 5),
        (((0, 0), (9, 4)), 6),
        (((3, 4), (0, 0), (2, 3)), 1),  # a first finger beyond the nut lies at the first fret
        (((2, 4), (0, 0)), 1),
        (((1, 2), (3, 4), (0, 0)), 1),
        (((0, 0), (0, 0)), 1),
    ],
)
def test_position_of_a_hand(notes, position):
    """One finger a fret (drills/RULES.md, C2): the first lies as many frets below the lowest finger that plays."""
    assert fingered(*notes).position == position


@given(st.lists(st.tuples(st.integers(1, 20), st.integers(2, 4)), min_size=1, max_size=5))
def test_without_first_finger_the_lowest_finger_decides(notes):
    """The first finger would lie a fret below the second, two below the third, three below the fourth."""
    finger = min(finger for _, finger in notes)
    fret = next(fret for fret, other in notes if other == finger)
    assert fingered(*notes).position == max(1, fret - {2: 1, 3: 2, 4: 3}[finger])
