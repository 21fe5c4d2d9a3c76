"""The sealed players obey their published equations. Nothing here says how any way of choosing fares with them."""

from __future__ import annotations

import copy
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.evaluate.sealed_players import SEALED, Fluctuation, Multiscale, PredictivePerformance
from scheduler.evaluate.simulated_deck import material
from scheduler.evaluate.simulated_players import FAMILIES, OUTSIDE, SECOND_TRY

DECK = material(2, 1, 3)

families = st.sampled_from(list(SEALED.values()))
sharings = st.sampled_from([0.0, 0.45, 0.9, 1.0])
histories = st.lists(
    st.tuples(st.floats(0.0001, 9.0), st.integers(0, DECK.count - 1), st.booleans()), min_size=1, max_size=20
)


def player(family, sharing=0.45, known=0.0, seed=100):
    return family(DECK, np.random.default_rng(seed), sharing, known)


def practised(one, history):
    """The moment of the last practice, in days."""
    at = 0.0
    for gap, card, clean in history:
        at += gap
        one.practise(card, clean, at)
    return at


def test_their_names_are_theirs_alone():
    """A case names its family, so no name may stand for two."""
    assert not set(SEALED) & {*FAMILIES, *OUTSIDE, *SECOND_TRY}


@settings(max_examples=60, deadline=None)
@given(families, sharings, st.sampled_from([0.0, 0.4]), st.integers(0, 99), histories)
def test_recall_is_a_chance_and_falls_with_time(family, sharing, known, seed, history):
    """Whatever was played, recall lies in 0 to 1, and without practice it never rises."""
    one = player(family, sharing, known, seed)
    at = practised(one, history)
    seen = [one.recalls(at + later) for later in (0.01, 0.5, 1.0, 3.0, 10.0, 60.0, 700.0)]
    for recalls in seen:
        assert ((recalls >= 0.0) & (recalls <= 1.0)).all()
    for sooner, later in pairwise(seen):
        assert (later <= sooner + 1e-12).all()


@settings(max_examples=60, deadline=None)
@given(families, sharings, st.integers(0, 99), histories, st.integers(0, DECK.count - 1), st.floats(0.01, 30.0))
def test_what_is_foreseen_comes_true(family, sharing, seed, history, card, horizon):
    """`ahead` says of every skill of a card what the card's practice then leaves, clean or missed, or none at all."""
    one = player(family, sharing, 0.3, seed)
    at = practised(one, history) + 0.2
    base, good, bad = one.ahead(at, horizon)
    assert base == pytest.approx(one.values(at + horizon), abs=1e-12)
    skills = DECK.skill_of[card]
    for clean, foreseen in ((True, good), (False, bad)):
        other = copy.deepcopy(one)
        other.practise(card, clean, at)
        after = other.values(at + horizon)
        assert after[skills] == pytest.approx(foreseen[skills], rel=1e-9, abs=1e-12)
        rest = np.setdiff1d(np.arange(one.size), skills)
        assert after[rest] == pytest.approx(base[rest], abs=1e-12)


def test_what_is_foreseen_comes_true_when_old_practices_are_left_out():
    """The 65th practice pushes out the first, in the foresight as in what happens."""
    one = player(PredictivePerformance)
    for number in range(70):
        one.practise(0, True, number * 0.3)
    foreseen = one.ahead(22.0, 4.0)[1]
    one.practise(0, True, 22.0)
    assert one.values(26.0)[DECK.skill_of[0]] == pytest.approx(foreseen[DECK.skill_of[0]], rel=1e-12)


@pytest.mark.parametrize("family", SEALED.values())
@pytest.mark.parametrize("seed", range(8))
def test_spaced_practice_lasts_longer_than_massed(family, seed):
    """Three clean tries a day apart beat three within a minute, a week and a month after the last (Cepeda et al. 2006).

    All three equations were written to say so.
    """
    spaced, massed = player(family, 0.0, seed=seed), player(family, 0.0, seed=seed)
    for number in range(3):
        spaced.practise(0, True, float(number))
        massed.practise(0, True, 2.0 - (2 - number) / 2880.0)
    for later in (7.0, 30.0):
        assert spaced.recalls(2.0 + later)[0] > massed.recalls(2.0 + later)[0]


@pytest.mark.parametrize("family", SEALED.values())
@pytest.mark.parametrize("sharing", [0.0, 0.45, 0.9])
def test_practice_helps_and_reaches_others_only_by_what_they_share(family, sharing):
    """Nothing is known before it was met; with sharing 0 a practice leaves every other card as it was."""
    one = player(family, sharing)
    assert one.recalls(1.0).max() < 0.05
    before = one.recalls(1.01)
    one.practise(0, True, 1.0)
    after = one.recalls(1.01)
    assert after[0] > before[0]
    others = [card for card in range(1, DECK.count) if set(DECK.skill_of[card]) & set(DECK.skill_of[0])]
    assert others
    if sharing:
        assert all(after[card] > before[card] for card in others)
    else:
        assert after[1:] == pytest.approx(before[1:], abs=1e-12)


@pytest.mark.parametrize("family", SEALED.values())
def test_what_is_known_at_the_start_is_recalled(family):
    """A player who knows every skill recalls more than half of the deck on the first day."""
    assert player(family, 0.45, known=1.0).recalls(0.0).mean() > 0.5


def test_predictive_performance_term_by_term():
    """M = N^.1 T^-d with T the age weighed by t^-.6 and d by the gaps, in plain loops (Walsh et al. 2018)."""
    one = player(PredictivePerformance)
    days = (0.0, 1.0, 3.5, 3.6)
    for day in days:
        one.practise(0, True, day)
    skill, now = int(one.skill_of[0, -1]), 9.0
    ages = [(now - day) * 86400.0 for day in days]
    weights = [age**-0.6 for age in ages]
    elapsed = sum(w * age for w, age in zip(weights, ages, strict=True)) / sum(weights)
    lags = [(b - a) * 86400.0 for a, b in pairwise(days)]
    decay = one.stable + one.unstable[skill] * sum(1.0 / math.log(lag + math.e) for lag in lags) / len(lags)
    assert one.values(now)[skill] == pytest.approx(4**0.1 * elapsed**-decay, rel=1e-12)
    card = one.chance(one.values(now)[one.skill_of])[0]
    shared = one.values(now)[one.skill_of[0, :-1]] @ [0.4, 0.4, 0.2]
    mixed = 0.45 * shared + 0.55 * one.values(now)[skill]
    assert card == pytest.approx(1.0 / (1.0 + math.exp((one.threshold - mixed) / one.noise)), rel=1e-12)


def test_multiscale_pools_term_by_term():
    """Each pool leaks by its own constant and learns what the pools up to it do not hold (Mozer et al. 2009)."""
    one = player(Multiscale)
    skill, pools, last = int(one.skill_of[0, -1]), [0.0] * Multiscale.POOLS, 0.0
    for day, clean in ((0.0, False), (1.0, True), (4.0, False)):
        pools = [x * math.exp(-(day - last) * rate) for x, rate in zip(pools, one.rates, strict=True)]
        held = [sum(one.gamma[j] * pools[j] for j in range(i + 1)) / sum(one.gamma[: i + 1]) for i in range(len(pools))]
        rate = one.missed[skill] * (one.recalled if clean else 1.0)
        pools = [x + rate * max(0.0, 1.0 - s) for x, s in zip(pools, held, strict=True)]
        one.practise(0, clean, day)
        last = day
    expected = sum(g * x * math.exp(-2.5 * rate) for g, x, rate in zip(one.gamma, pools, one.rates, strict=True))
    assert one.values(6.5)[skill] == pytest.approx(expected, rel=1e-12)
    assert sum(one.gamma) == pytest.approx(1.0)


def test_fluctuation_follows_its_differential_equation():
    """Tied elements change places between active and inactive at a steady rate, in small steps (Estes 1955)."""
    one = player(Fluctuation)
    one.practise(0, False, 0.0)
    one.practise(0, True, 1.0)
    skill, step = int(one.skill_of[0, -1]), 1e-4
    inside = outside = 0.0
    for number in range(30_000):
        if number in (0, 10_000):
            inside += (one.shown if number == 0 else one.tied) * (1.0 - inside)
        # An active element leaves at (1 - A) rate and an inactive one comes at A rate, so that the share stays A.
        moved = one.rate[skill] * step * (outside - inside)
        inside, outside = inside + (1.0 - one.active) * moved, outside - one.active * moved
    assert one.values(3.0)[skill] == pytest.approx(inside, abs=1e-3)
