"""Fret distances: the equal-tempered formula and printed values."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.neck.neck import fret_distance_mm, reach_mm

SCALES = st.floats(200, 1200)
FRETS = st.integers(0, 36)

# Nut to fret, mm, as printed for usual scale lengths (luthiers' tables; equal temperament).
PRINTED_MM = [
    (650, 1, 36.48),
    (650, 12, 325.00),
    (647.7, 1, 36.35),
    (647.7, 12, 323.85),
    (628.65, 1, 35.28),
    (628.65, 12, 314.32),
    (635, 5, 159.29),
]

# Distance between frets a and a+3, and a and a+4, mm, for two scale lengths (equal temperament).
SPANS_MM = {
    650: {
        1: (97.6, 126.6),
        2: (92.1, 119.5),
        3: (87.0, 112.8),
        5: (77.5, 100.5),
        7: (69.0, 89.5),
        9: (61.5, 79.7),
        12: (51.7, 67.0),
    },
    628.65: {
        1: (94.4, 122.4),
        2: (89.1, 115.5),
        3: (84.1, 109.1),
        5: (74.9, 97.2),
        7: (66.8, 86.6),
        9: (59.5, 77.1),
        12: (50.0, 64.8),
    },
}


@pytest.mark.parametrize(("scale_mm", "fret", "printed_mm"), PRINTED_MM)
def test_frets_lie_where_printed(scale_mm, fret, printed_mm):
    """Frets lie at the printed distances from the nut, to a hundredth of a millimetre."""
    assert fret_distance_mm(scale_mm, fret) == pytest.approx(printed_mm, abs=0.0051)


@pytest.mark.parametrize("scale_mm", SPANS_MM)
def test_reaches_equal_the_printed_table(scale_mm):
    """Reaches of three and four frets equal the printed table to a tenth of a millimetre."""
    for fret, (three, four) in SPANS_MM[scale_mm].items():
        assert reach_mm(scale_mm, fret, fret + 3) == pytest.approx(three, abs=0.051)
        assert reach_mm(scale_mm, fret + 4, fret) == pytest.approx(four, abs=0.051)


@pytest.mark.parametrize(("scale_mm", "fret", "reach"), [(648, 1, 126), (648, 7, 89), (648, 10, 75), (864, 1, 168)])
def test_the_five_fret_form_reaches_as_the_rules_say(scale_mm, fret, reach):
    """A finger four frets higher is 126, 89 and 75 mm away at frets 1, 7 and 10, and 168 mm on a bass (rule C2, 12)."""
    assert round(reach_mm(scale_mm, fret, fret + 4)) == reach


@given(SCALES, FRETS)
def test_each_fret_shortens_the_string_by_one_semitone(scale_mm, fret):
    """What is left of the string shrinks by the twelfth root of two a fret; fret 12 halves it and the nut is at 0."""
    left, next_left = scale_mm - fret_distance_mm(scale_mm, fret), scale_mm - fret_distance_mm(scale_mm, fret + 1)
    assert left / next_left == pytest.approx(math.exp(math.log(2) / 12), rel=1e-9)
    assert fret_distance_mm(scale_mm, 0) == 0
    assert fret_distance_mm(scale_mm, 12) == pytest.approx(scale_mm / 2, rel=1e-12)


def test_the_first_fret_is_not_at_an_eighteenth():
    """The first fret lies at 1/17.817 of the string; the older rule of 18 is not equal temperament."""
    assert 1000 / fret_distance_mm(1000, 1) == pytest.approx(17.817, abs=0.0005)


@given(SCALES, FRETS, FRETS, FRETS)
def test_reach_is_a_distance(scale_mm, one, two, three):
    """Reach has no sign, is nothing from a fret to itself, and adds up along the neck."""
    assert reach_mm(scale_mm, one, two) == reach_mm(scale_mm, two, one) >= 0
    assert reach_mm(scale_mm, one, one) == 0
    low, middle, high = sorted((one, two, three))
    along = reach_mm(scale_mm, low, middle) + reach_mm(scale_mm, middle, high)
    assert reach_mm(scale_mm, low, high) == pytest.approx(along, abs=1e-9)


@given(SCALES, FRETS, FRETS, st.integers(0, 12))
def test_a_capo_only_moves_the_hand_up(scale_mm, one, two, capo):
    """Frets counted from a capo are as far apart as the same frets counted from the nut."""
    assert reach_mm(scale_mm, one, two, capo) == pytest.approx(reach_mm(scale_mm, one + capo, two + capo))
    assert reach_mm(scale_mm, one, two, capo) <= reach_mm(scale_mm, one, two) + 1e-9
