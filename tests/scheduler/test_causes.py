"""The one group of skills that explains misses: the chance is exact, and slips that say otherwise are heard."""

from __future__ import annotations

from itertools import combinations
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.statistics.causes import CLASS_ERROR, CLASS_SIZE, Tried, found_cause, named_mostly
from scheduler.statistics.counts import Count
from scheduler.statistics.draws import chance_of_score

LEFT, RIGHT, ALL = ("side", "left"), ("side", "right"), ("all", "")
WORDS = {LEFT: ("slid",), RIGHT: ("dropped",), ALL: ()}


def tries(left: str, right: str) -> list[Tried]:
    """Tries of two groups, a letter each: c clean, m missed, s missed and named slid, d missed and named dropped."""
    slips = {"s": "slid", "d": "dropped"}
    return [
        Tried(f"{group[1]} {number % 12}", frozenset({group, ALL}), letter == "c", slips.get(letter))
        for group, letters in ((LEFT, left), (RIGHT, right))
        for number, letter in enumerate(letters)
    ]


@given(
    st.lists(st.integers(0, 3), min_size=4, max_size=9),
    st.integers(1, 4),
    st.lists(st.floats(-2, 2), min_size=4, max_size=4),
    st.integers(0, 10_000),
)
def test_the_chance_is_the_share_of_all_choices_that_score_as_high(outcomes, drawn, scores, pick):
    """Every choice of as many tries, counted one by one (Fisher 1935, section 21), gives the same chance."""
    drawn = min(drawn, len(outcomes) - 1)
    sums = [sum(scores[outcomes[n]] for n in chosen) for chosen in combinations(range(len(outcomes)), drawn)]
    least = sums[pick % len(sums)]
    expected = sum(one >= least - 1e-9 for one in sums) / len(sums)
    whole = tuple(outcomes.count(kind) for kind in range(4))
    assert chance_of_score(whole, tuple(scores), drawn, least) == pytest.approx(expected, abs=1e-9)


def test_the_group_where_it_fails_is_named_with_its_counts():
    """Twenty of sixty against fifty of sixty, and most slips there say so."""
    cause = found_cause(tries("c" * 20 + "s" * 26 + "d" * 4 + "m" * 10, "c" * 50 + "m" * 10), WORDS)
    assert cause is not None and cause.groups == (LEFT,)
    assert (cause.inside, cause.outside, cause.named, cause.slips) == (Count(20, 60), Count(50, 60), 26, 30)
    assert cause.chance < 0.0025


def test_a_group_is_passed_over_where_the_slips_say_something_else():
    """The same counts, but everything was dropped on the left too: the left is not the cause."""
    assert found_cause(tries("c" * 20 + "d" * 40, "c" * 50 + "m" * 10), WORDS) is None
    assert found_cause(tries("c" * 20 + "m" * 40, "c" * 50 + "m" * 10), WORDS).groups == (LEFT,)


def test_what_comes_together_is_told_together_and_what_is_always_needed_is_no_cause():
    """Groups needed by the very same tries cannot be told apart; a group that every try needs explains nothing."""
    left = ("hand", "left")
    both = [Tried(one.card, one.groups | {left}, one.clean, one.slip) if LEFT in one.groups else one
            for one in tries("c" * 20 + "m" * 40, "c" * 50 + "m" * 10)]  # fmt: skip
    assert found_cause(both, {**WORDS, left: ()}).groups == (LEFT, left)
    assert found_cause(both, {ALL: ()}) is None


def test_a_sign_that_one_learner_of_a_class_would_show_by_chance_names_nothing():
    """Named is only what comes to one of four hundred without a cause: five in a hundred over a class of twenty."""
    weak = tries("c" * 30 + "m" * 20, "c" * 42 + "m" * 8)
    chance = found_cause(weak, WORDS, error=1.0).chance
    assert CLASS_ERROR / CLASS_SIZE == 0.0025 < chance < CLASS_ERROR
    assert found_cause(weak, WORDS) is None and found_cause(weak, WORDS, error=CLASS_ERROR) is not None


def test_slips_that_fit_make_a_cause_surer_and_others_less_sure():
    """The same counts with slips named slid, unnamed, and named dropped, in this order."""
    rest = "c" * 42 + "d" * 8
    fitting, silent, other = (
        found_cause(tries("c" * 30 + letter * 20, rest), WORDS, error=1.1) for letter in ("s", "m", "d")
    )
    assert fitting.chance < silent.chance
    assert other is None or silent.chance < other.chance


def test_too_few_tries_name_nothing():
    """Eleven tries of a group are not spoken of, though all were missed and named."""
    assert found_cause(tries("s" * 11, "c" * 60), WORDS) is None
    assert found_cause(tries("s" * 12, "c" * 60), WORDS) is not None


def test_tries_at_one_card_count_for_less_than_tries_at_many():
    """One card alone that always fails is a card, and no group (McCullagh and Nelder 1989, 4.5.2)."""
    spread = tries("c" * 24 + "m" * 36, "c" * 48 + "m" * 12)
    lumped = [
        Tried("left 0" if not one.clean else one.card, one.groups, one.clean) if LEFT in one.groups else one
        for one in spread
    ]
    chances = [found_cause(some, WORDS, error=1.1).chance for some in (spread, lumped)]
    assert chances[0] < chances[1]


@given(st.integers(0, 10_000))
def test_the_order_of_tries_and_groups_changes_nothing(seed):
    """The cause is a function of the tries as a set."""
    some = tries("c" * 24 + "s" * 20 + "d" * 6, "c" * 40 + "d" * 10)
    shuffled = Random(seed).sample(some, len(some))
    assert found_cause(shuffled, WORDS) == found_cause(some, WORDS)


def test_a_slip_is_mostly_named_only_when_that_is_sure():
    """44 of 46 are surely more than half; 12 of 18 may be chance, however often one looks (Robbins 1970)."""
    assert named_mostly(["root"] * 44 + ["time"] * 2) == ("root", Count(44, 46))
    assert named_mostly(["root"] * 12 + ["time"] * 6) is None
    assert named_mostly([]) is None
