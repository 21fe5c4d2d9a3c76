"""What may be claimed of counts: each rule against its source, and by simulation."""

from __future__ import annotations

from math import comb, log
from random import Random
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.statistics.claims import ERROR, MARK, ClaimWord, judge
from scheduler.statistics.counts import Count
from scheduler.statistics.difference import information, information_needed, lowest_difference
from scheduler.statistics.mark import side_of
from tests.progress.most_named import best_of_all, boschloo, own_outcomes

PAIR_Z = NormalDist().inv_cdf(1 - 0.045 * 0.96 / 2)
"""The bound of the first look where two groups are all there is, shared by both."""


def binomial(tries: int, chance: float) -> list[float]:
    """The chance of each number of clean tries."""
    return [comb(tries, n) * chance**n * (1 - chance) ** (tries - n) for n in range(tries + 1)]


def named_chance(tries: int, high: float, low: float) -> float:
    """How often the lower of two groups, so many tries each, is named at the first look, summed over all outcomes."""
    first, second = binomial(tries, high), binomial(tries, low)
    return sum(
        first[a] * second[b]
        for a in range(tries + 1)
        for b in range(a)
        if lowest_difference(Count(a, tries), Count(b, tries), PAIR_Z) > 0
    )


def test_a_difference_is_bounded_as_published():
    """Agresti and Caffo (2000) for 56 of 70 against 48 of 80, the example of Newcombe (1998), table II, row a: his
    method 10 gives .0524 to .3339."""
    both = lowest_difference(Count(56, 70), Count(48, 80), 1.959963984540054)
    p, q = 57 / 72, 49 / 82
    added = p - q - 1.959963984540054 * (p * (1 - p) / 72 + q * (1 - q) / 82) ** 0.5
    assert both == pytest.approx(min(added, 0.0524), abs=1e-4)


def test_forty_tries_a_side_name_a_true_difference_four_times_of_five_and_a_false_one_once_in_twenty():
    """Summed over all outcomes: .75 against .45 is named in 79 of 100; equal chances in less than 5 of 100, both ways.

    With 40 and 40 tries the next looser bound names 80 and errs in 5.5 of 100 at a chance of .45: one outcome more.
    No test of any kind names more than 79.65 (tests/progress/flat_players.md)."""
    assert information_needed(PAIR_Z) == information(40, 40) == 20
    assert named_chance(40, 0.75, 0.45) >= 0.79
    for chance in (0.3, 0.45, 0.6, 0.75, 0.9):
        assert 2 * named_chance(40, chance, chance) <= ERROR


def test_no_test_at_all_names_more_of_forty_tries_a_side():
    """The linear programme over all outcomes: within a hundredth of what is named here, and under four of five."""
    most = best_of_all(40, ERROR)
    assert named_chance(40, 0.75, 0.45) < most < 0.80
    assert most - named_chance(40, 0.75, 0.45) < 0.01
    # Boschloo's test names two outcomes more, 5 against none and 40 against 35: no chance is likely to bring either.
    assert [tuple(one) for one in np.argwhere(own_outcomes(40, PAIR_Z) != boschloo(40, ERROR))] == [(5, 0), (40, 35)]


@given(st.integers(0, 200), st.integers(1, 200), st.integers(0, 200), st.integers(1, 200))
def test_a_bound_lies_below_the_difference_and_falls_with_certainty(clean, tries, other, more):
    """The surer, the lower; never above what the counts show, pulled in by the added tries; no tries, no bound."""
    one, two = Count(min(clean, tries), tries), Count(min(other, more), more)
    seen = one.clean / tries - two.clean / more
    bounds = [lowest_difference(one, two, z) for z in (1.0, 2.0, 3.0)]
    assert bounds == sorted(bounds, reverse=True)
    assert all(bound <= max(seen, 0.0) + 1e-12 for bound in bounds)
    assert lowest_difference(Count(), two, 2.0) == lowest_difference(one, Count(), 2.0) == -1.0


def paths_that_cross(mark: float, alpha: float, tries: int) -> float:
    """How likely a chance that equals the mark is ever said to lie off it within so many tries, path by path."""
    inside, crossed = {0: 1.0}, 0.0
    for made in range(1, tries + 1):
        grown: dict[int, float] = {}
        for clean, weight in inside.items():
            grown[clean] = grown.get(clean, 0.0) + weight * (1 - mark)
            grown[clean + 1] = grown.get(clean + 1, 0.0) + weight * mark
        inside = {}
        for clean, weight in grown.items():
            if side_of(Count(clean, made), mark, alpha):
                crossed += weight
            else:
                inside[clean] = weight
    return crossed


@pytest.mark.parametrize("mark", [0.5, 0.75, 0.9])
@pytest.mark.parametrize("alpha", [0.05, 0.2])
def test_looking_after_every_try_errs_no_oftener_than_said(mark, alpha):
    """Ville (1939), Robbins (1970): over three hundred looks the error stays under alpha; it is not empty either."""
    assert 0.02 * alpha < paths_that_cross(mark, alpha, 300) <= alpha


def test_a_mark_is_passed_in_both_directions():
    """All clean, all missed, and between them nothing; no tries say nothing. 1/alpha is passed by hand at a tail."""
    assert [side_of(Count(n, 40), 0.75, 0.05) for n in (0, 15, 30, 40)] == [-1, -1, 0, 1]
    assert side_of(Count(), 0.75, 0.05) == 0
    # All of n clean: the likelihood averaged over all chances is 1/(n + 1), that of the mark .75 ** n.
    n = next(n for n in range(1, 100) if -log(n + 1) - n * log(0.75) >= -log(0.05))
    assert [side_of(Count(k, k), 0.75, 0.05) for k in (n - 1, n)] == [0, 1]


def days(*counts: tuple[int, int], first: int = 1) -> dict[int, Count]:
    """First tries, clean of so many, day after day."""
    return {first + number: Count(*count) for number, count in enumerate(counts)}


def words(families, period=1, memory=None) -> list[tuple[ClaimWord, str]]:
    """What is claimed, and of which group."""
    return [(claim.word, str(claim.group)) for claim in judge(families, period, memory).claims]


def test_under_forty_tries_a_side_two_groups_are_not_compared_and_what_is_missing_is_said():
    """39 against 39, one all clean, say nothing of one another; one more on each side and the lower is named."""
    few = {"all": {"a": days((39, 39)), "b": days((13, 39))}}
    assert not {ClaimWord.WEAKEST, ClaimWord.TO_WATCH} & {word for word, _ in words(few)}
    assert judge(few, 1).missing.tries == 1
    enough = {"all": {"a": days((39, 39), (1, 1)), "b": days((13, 39), (0, 1))}}
    (found,) = [claim for claim in judge(enough, 1).claims if claim.word is ClaimWord.WEAKEST]
    assert (found.group, found.count, found.other) == ("b", Count(13, 40), Count(40, 40))
    assert judge(enough, 1).missing is None


def test_a_verdict_stands_between_looks_and_is_withheld_when_the_counts_have_caught_up():
    """The next look comes at eighty a side. Until then what was named stays named while the counts still show it."""
    then = {"a": [(30, 40)], "b": [(18, 40)]}
    still = {"all": {"a": days(*then["a"], (7, 10)), "b": days(*then["b"], (5, 10))}}
    assert (ClaimWord.WEAKEST, "b") in words(still)
    caught_up = {"all": {"a": days(*then["a"], (0, 5)), "b": days(*then["b"], (15, 15))}}
    assert not words(caught_up)
    # Never named at a look, however far apart the counts have come since.
    late = {"all": {"a": days((24, 40), (30, 30)), "b": days((24, 40), (0, 30))}}
    assert (ClaimWord.WEAKEST, "b") not in words(late)


def test_weakest_lies_below_each_other_group_and_to_watch_below_all_of_them_together():
    """With a second group as low, neither is the weakest; both are to be watched."""
    well = {name: days((46, 60)) for name in "cdefgh"}
    alone = {"all": {"a": days((10, 60)), **well}}
    assert (ClaimWord.WEAKEST, "a") in words(alone)
    two = {"all": {"a": days((20, 60)), "b": days((22, 60)), **well}}
    assert {pair for pair in words(two) if pair[0] in (ClaimWord.WEAKEST, ClaimWord.TO_WATCH)} == {
        (ClaimWord.TO_WATCH, "a"), (ClaimWord.TO_WATCH, "b"),
    }  # fmt: skip


def test_what_surely_goes_well_is_not_to_be_watched():
    """185 of 200 lie surely above three of four, though they lie as surely below 400 of 400."""
    assert words({"all": {"a": days((185, 200)), "b": days((400, 400))}}) == [
        (ClaimWord.GOING_WELL, "a"), (ClaimWord.GOING_WELL, "b"),
    ]  # fmt: skip


def test_the_memory_and_the_count_are_told_side_by_side_where_they_disagree():
    """Firm needs both. Where one says yes and the other no, that is what is claimed."""
    good, bad, unclear = days((60, 60)), days((20, 60)), days((45, 60))
    for word, count, said in (
        ("firm", good, ClaimWord.FIRM), ("", good, ClaimWord.GOING_WELL), ("forming", good, ClaimWord.DISAGREE),
        ("fading", good, ClaimWord.DISAGREE), ("firm", bad, ClaimWord.DISAGREE), ("", bad, ClaimWord.NOT_YET),
        ("forming", bad, ClaimWord.NOT_YET), ("firm", unclear, None),
    ):  # fmt: skip
        found = judge({"all": {"a": count}}, 1, {("all", "a"): word}).claims
        assert [claim.word for claim in found] == ([said] if said else [])


def test_stronger_sets_a_period_against_the_one_before():
    """10 of 40 in four weeks, 50 of 60 in the next: stronger. The first period has nothing to be set against."""
    grown = {"all": {"a": {**days((10, 40)), **days((50, 60), first=30)}}}
    found = [claim for claim in judge(grown, 29).claims if claim.word is ClaimWord.STRONGER]
    assert [(claim.count, claim.other) for claim in found] == [(Count(50, 60), Count(10, 40))]
    assert ClaimWord.STRONGER not in {word for word, _ in words(grown, 1)}
    fallen = {"all": {"a": {**days((38, 40)), **days((10, 60), first=30)}}}
    assert ClaimWord.STRONGER not in {word for word, _ in words(fallen, 29)}


@settings(max_examples=30)
@given(st.integers(0, 10**6))
def test_what_is_claimed_follows_from_the_counts_alone(seed):
    """The order in which groups are given changes nothing; every claim shows its group's own count and the rest."""
    rng = Random(seed)
    groups = {
        name: days(*((sum(rng.random() < chance for _ in range(9)), 9) for _ in range(9)))
        for name, chance in zip("abcd", (0.3, 0.8, 0.9, 0.7), strict=True)
    }
    turned = {"all": dict(reversed(groups.items()))}
    one, two = judge({"all": groups}, 1), judge(turned, 1)
    assert sorted(map(str, one.claims)) == sorted(map(str, two.claims))
    total = sum((count for own in groups.values() for count in own.values()), Count())
    for claim in one.claims:
        own = sum(groups[str(claim.group)].values(), Count())
        assert claim.count == own and claim.other in (None, Count(total.clean - own.clean, total.tries - own.tries))


def test_the_mark_is_three_of_four():
    """Going well and not yet are judged against MARK: 90 of 100 and 60 of 100 lie surely on its two sides."""
    assert MARK == 0.75
    assert words({"all": {"a": days((180, 200))}}) == [(ClaimWord.GOING_WELL, "a")]
    assert words({"all": {"a": days((120, 200))}}) == [(ClaimWord.NOT_YET, "a")]
