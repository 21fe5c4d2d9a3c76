"""The one group of skills that explains misses: the chance is exact, and slips that say otherwise are heard."""

from __future__ import annotations

from itertools import permutations
from math import exp, log
from random import Random

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from scheduler.statistics.cause_sign import FIRST_SLIP, sign_of
from scheduler.statistics.causes import CLASS_ERROR, CLASS_SIZE, Tried, found_cause, named_mostly
from scheduler.statistics.counts import Count

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


@given(st.lists(st.lists(st.integers(0, 3), min_size=3, max_size=3), min_size=6, max_size=6), st.integers(1, 62))
@settings(max_examples=4)
@example([[0, 2, 1], [0, 1, 2], [3, 0, 0], [2, 1, 0], [3, 0, 0], [1, 0, 0]], 7)
def test_the_chance_is_the_share_of_all_orders_of_the_cards_whose_sign_is_as_strong(records, cards):
    """All 720 orders of six cards' records (Fisher 1935, section 21) give the chance that the permutations estimate."""
    assume(sum(map(sum, records)))
    needed = [[bool(cards >> number & 1) for number in range(6)], [number < 3 for number in range(6)]]
    fitting = [[FIRST_SLIP], []]

    def strength(rows):
        most = max(scores := sign_of(rows, needed, fitting, 0.0).scores)
        return most + log(sum(exp(score - most) for score in scores))

    orders = [strength(order) for order in permutations(records)]
    own = strength(records)
    share = sum(other >= own - 1e-9 for other in orders) / len(orders)
    chance = sign_of(records, needed, fitting, 1.0).chance
    assert abs(chance - share) < 0.035  # four standard errors of 4,000 draws
    assert chance > 0


def test_what_is_likelier_with_a_cause_scores_and_what_is_not_does_not():
    """Misses inside with fitting slips score above nothing; the same misses outside score below it."""
    inside, outside = [2, 1, 3], [6, 0, 0]
    needed = [[True, True, False, False], [False, False, True, True]]
    scores = sign_of([inside, inside, outside, outside], needed, [[FIRST_SLIP], [FIRST_SLIP]], 1.0).scores
    assert scores[0] > 0 > scores[1]


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
    weak = tries("c" * 36 + "m" * 14, "c" * 42 + "m" * 8)
    chance = found_cause(weak, WORDS, error=1.0).chance
    assert CLASS_ERROR / CLASS_SIZE == 0.0025 < chance < CLASS_ERROR
    assert found_cause(weak, WORDS) is None and found_cause(weak, WORDS, error=CLASS_ERROR) is not None


def test_slips_that_fit_make_a_cause_surer_and_others_less_sure():
    """Counts that name nothing by themselves do with slips named slid; those that do by themselves do not with other
    slips."""
    rest = "c" * 42 + "d" * 8
    named, unnamed = (found_cause(tries("c" * 38 + letter * 12, rest), WORDS) for letter in ("s", "m"))
    assert named is not None and named.groups == (LEFT,) and unnamed is None
    silent, other = (found_cause(tries("c" * 36 + letter * 14, rest), WORDS) for letter in ("m", "d"))
    assert silent is not None and silent.groups == (LEFT,) and other is None


def test_too_few_tries_name_nothing():
    """Eleven tries of a group are not spoken of, though all were missed and named."""
    assert found_cause(tries("s" * 11, "c" * 60), WORDS) is None
    assert found_cause(tries("s" * 12, "c" * 60), WORDS) is not None


def test_tries_at_one_card_count_for_less_than_tries_at_many():
    """One card alone that always fails is a card, and no group: its tries are drawn together."""
    spread = tries("c" * 40 + "m" * 20, "c" * 48 + "m" * 12)
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
