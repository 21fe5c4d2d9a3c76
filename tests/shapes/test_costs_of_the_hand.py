"""What a change of position costs, and the finger on a bass note beside a silent string."""

import pytest

from drills.shapes.grip_fingering import grip_cost
from drills.shapes.hand import shift_cost


@pytest.mark.parametrize("frets", range(-7, 8))
@pytest.mark.parametrize("finger", [1, 2, 3, 4])
def test_a_shift_costs_by_its_size_its_place_and_the_finger_that_leads(finger, frets):
    """16 for any shift, 2 a fret, 6 inside a string and 4 unless the first finger leads (common practice)."""
    led = 0 if finger == 1 else 4
    assert shift_cost(finger, frets, False) == 16 + 2 * abs(frets) + led
    assert shift_cost(finger, frets, True) == 22 + 2 * abs(frets) + led


@pytest.mark.parametrize(("finger", "extra"), [(1, 3), (2, 0), (3, 2), (4, 6)])
def test_the_second_finger_mutes_best_beside_the_bass(finger, extra):
    """A bass note with a silent string beside it costs more by any finger but the second (common practice)."""
    beside = grip_cost(((6, 5), (5, 0)), (finger, 0))
    across = grip_cost(((6, 5), (4, 0)), (finger, 0))
    assert across - beside == extra


@pytest.mark.parametrize(("finger", "cost"), [(1, 0), (2, 0), (3, 0), (4, 1)])
def test_one_note_is_held_by_any_finger(finger, cost):
    """A grip of one note has no string beside its bass to mute; only the fourth finger costs (common practice)."""
    assert grip_cost(((6, 5),), (finger,)) == cost
    assert grip_cost(((6, 0),), (0,)) == 0 and grip_cost((), ()) == 0
