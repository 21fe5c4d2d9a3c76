"""Where the hand is easiest, by hand: frets 5 to 10 of a 648 mm guitar and frets as wide elsewhere (B8, 5 and 6)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drills.cards.deck import find_deck, read_deck
from drills.cards.demand import demand_of, easiest_frets
from drills.cards.material import EASY_FIRST, gather
from drills.neck.neck import Neck
from scheduler.card import EASY, HARD, HARDEST, USUAL

FIRST = read_deck(find_deck("first", None))


@pytest.mark.parametrize(
    ("scale_mm", "capo", "frets"),
    [
        (648.0, 0, (5, 10)),
        (648.0, 2, (3, 8)),  # two frets up every fret is narrower, so that easy ones begin two frets nearer
        (864.0, 0, (10, 15)),  # a bass of 34 inches: a fret is a third wider, five frets
        (350.0, 0, (1, 6)),  # a small ukulele: narrower everywhere
    ],
)
def test_the_easiest_frets_are_as_wide_as_those_of_a_guitar(scale_mm, capo, frets):
    """Fret n of a scale L is L x 2^(-n/12) x (2^(1/12) - 1) wide; the widths agree to half a fret."""
    neck = Neck(scale_mm=scale_mm, capo=capo)
    assert easiest_frets(neck) == frets
    if frets[0] > 1:
        assert neck.reach_mm(frets[0], frets[0] - 1) == pytest.approx(Neck().reach_mm(5, 4), rel=0.03)


@pytest.mark.parametrize(
    ("call", "strings", "demand"),
    [
        ("Cmaj7", "6-5-4", EASY),  # root at fret 8
        ("Dmaj7", "6-5-4", EASY),  # 10, the last
        ("Amaj7", "6-5-4", EASY),  # 5, the first
        ("Abmaj7", "6-5-4", USUAL),  # 4
        ("Ebmaj7", "6-5-4", USUAL),  # 11
        ("Gmaj7", "6-5-4", HARD),  # 3
        ("Fmaj7", "6-5-4", HARD),  # 1, with the open A (rule G9)
        ("Fmaj7", "4-3-2", HARDEST),  # 119 mm
        ("Gmaj7", "4-3-2", HARDEST),  # 106 mm at fret 5
        ("Bbmaj7", "4-3-2", EASY),  # 89 mm at fret 8
    ],
)
def test_a_card_demands_by_root_open_string_and_stretch(call, strings, demand):
    """Of the first deck on a guitar."""
    card = next(c for c in gather(FIRST, Neck()).cards.values() if (c.call, str(c.strings)) == (call, strings))
    assert card.demand == demand


def test_a_teacher_who_names_roots_means_them():
    """Where a deck names its roots every card is easy, whatever its stretch."""
    named = replace(FIRST, blocks=tuple(replace(b, roots=(c.own_chord.root,)) for b in FIRST.blocks
                                        for c in [next(iter(gather(FIRST, Neck()).cards.values()))]))  # fmt: skip
    cards = gather(named, Neck()).cards.values()
    assert cards
    assert {card.demand for card in cards} == {EASY}


def test_the_planner_is_told_demand_and_set():
    """Demand and string set of each card reach the planner, and a form's first three questions are to be easy."""
    found = gather(FIRST, Neck())
    assert [(spec.demand, spec.area) for spec in found.specs()] == [
        (card.demand, card.own_strings.id) for card in found.cards.values()
    ]
    assert found.rules().easy_first == EASY_FIRST == {"form": 3}


def test_an_open_string_is_hard_wherever_the_root_is():
    """An open string breaks the movable form."""
    found = gather(FIRST, Neck())
    for card in found.cards.values():
        shape = found.answer(card)
        if shape.lowest_fret == 0:
            assert demand_of(shape, Neck()) == HARD
