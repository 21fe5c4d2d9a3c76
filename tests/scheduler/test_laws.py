"""The laws of a memory of practice: forgetting, spacing, sharing, for any history; the ordinal update derived again.

Sources: Wickelgren (1974) and Wixted and Ebbesen (1997) for forgetting; Cepeda et al. (2008) for the best gap; the
ordinal update's check values are derived here by scipy's integration.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from scheduler.card import CARD_KIND, CardSpec
from scheduler.evaluate.laws import CARD, CEPEDA_BEST_GAPS, best_gap, learned, recall, review, shuffled_cost, spacing
from scheduler.grade import Grade
from scheduler.memory.ordinal import ordinal_step
from scheduler.planning.planner import Planner

EPOCH = datetime(2024, 1, 1, tzinfo=UTC)
HORIZONS = (0.0, 1 / 24, 0.5, 1.0, 3.0, 7.0, 14.0, 30.0, 90.0, 365.0)
CARDS = tuple((f"form:{n % 3}", f"root:{n % 4}", f"spell:{n % 5}", f"{CARD_KIND}:{n}") for n in range(12))
ROUNDING = 1e-12


def pasts() -> st.SearchStrategy[list[tuple[tuple[str, ...], Grade, float]]]:
    """Histories: (skills of a card, grade, days), at most some weeks, in the order of time."""
    gap = st.sampled_from((0.0005, 0.01, 0.4, 1.0, 3.0, 20.0))
    step = st.tuples(st.sampled_from(CARDS), st.sampled_from(list(Grade)), gap)

    def timed(steps):
        at, found = 0.0, []
        for skills, grade, after in steps:
            at += after
            found.append((skills, grade, at))
        return found

    return st.lists(step, max_size=25).map(timed)


def planned(past) -> Planner:
    """A planner that has learned a history."""
    planner = Planner([CardSpec(skills[-1].removeprefix(f"{CARD_KIND}:"), skills[:-1]) for skills in CARDS])
    for skills, grade, at in past:
        planner.record(review(skills, grade, at))
    return planner


# ---- forgetting


@settings(max_examples=150)
@given(past=pasts(), skills=st.sampled_from(CARDS))
def test_recall_falls_with_time_and_stays_a_chance(past, skills):
    """After any history, recall of any card only falls while nothing is played, and never leaves 0 to 1."""
    memory = planned(past).memory
    last = past[-1][2] if past else 0.0
    found = [recall(memory, last + horizon, skills) for horizon in HORIZONS]
    assert all(0.0 <= one <= 1.0 for one in found)
    assert all(b <= a + ROUNDING for a, b in zip(found, found[1:], strict=False))


@settings(max_examples=150)
@given(past=pasts(), skills=st.sampled_from(CARDS), grade=st.sampled_from([Grade.CLEAN, Grade.IN_TIME]))
def test_a_first_success_never_lowers_recall(past, skills, grade):
    """A card met for the first time and played clean is recalled no worse for it, at any horizon up to a month."""
    past = [one for one in past if one[0] != skills]
    planner = planned(past)
    at = (past[-1][2] if past else 0.0) + 0.01
    before = [recall(planner.memory, at + horizon, skills) for horizon in HORIZONS if horizon <= 30.0]
    planner.record(review(skills, grade, at))
    after = [recall(planner.memory, at + horizon, skills) for horizon in HORIZONS if horizon <= 30.0]
    assert all(b >= a - ROUNDING for a, b in zip(before, after, strict=True))


@settings(max_examples=150)
@given(past=pasts(), skills=st.sampled_from(CARDS))
def test_a_better_grade_never_teaches_less(past, skills):
    """Of two grades the better leaves recall of the card at least as high, at the same moment and a day later."""
    at = (past[-1][2] if past else 0.0) + 0.5
    for horizon in (0.01, 1.0):
        found = []
        for grade in Grade:
            planner = planned(past)
            planner.record(review(skills, grade, at))
            found.append(recall(planner.memory, at + horizon, skills))
        assert all(b >= a - ROUNDING for a, b in zip(found, found[1:], strict=False)), found


# ---- spacing


def test_spaced_practice_beats_massed_and_massed_beats_single():
    """Seven days on, two practices a day apart leave more than two a minute apart, and those more than one."""
    spaced, massed, single = spacing()
    assert spaced > massed > single


def test_the_best_gap_is_that_of_people_and_grows_with_the_interval():
    """For tests after 7, 35 and 70 days the best gap lies within a factor of three of 3, 8 and 12 days, in order."""
    found = {days: best_gap(days) for days in CEPEDA_BEST_GAPS}
    print(f"\n  best gaps: {', '.join(f'{gap:.1f} d for {days:g} d' for days, gap in found.items())}")
    assert list(found.values()) == sorted(set(found.values()))
    for days, published in CEPEDA_BEST_GAPS.items():
        assert published / 3.0 <= found[days] <= published * 3.0


def test_in_time_spaced_practice_beats_massed_and_massed_is_no_worse_than_single():
    """The same with both tries in time: spaced clearly first."""
    grade = Grade.IN_TIME
    found = [
        recall(learned(None, [(at, grade) for at in times]), times[-1] + 7.0)
        for times in ((0.0, 1.0), (0.0, 1.0 / 1440.0), (0.0,))
    ]
    assert found[0] > 1.5 * found[1]
    assert found[1] > found[2]


# ---- sharing


@settings(max_examples=100)
@given(past=pasts(), skills=st.sampled_from(CARDS), grade=st.sampled_from(list(Grade)))
def test_a_review_changes_no_skill_it_does_not_name(past, skills, grade):
    """What every member holds of the skills a review does not name is, to the last bit, what it was."""
    planner = planned(past)
    before = dict(planner.memory.skills)
    planner.record(review(skills, grade, (past[-1][2] if past else 0.0) + 1.0))
    after = planner.memory.skills
    assert {skill: trace for skill, trace in after.items() if skill not in skills} == {
        skill: trace for skill, trace in before.items() if skill not in skills
    }


def test_practice_reaches_cards_that_share_a_skill():
    """After practice of one card, another with its form is recalled better than one that shares nothing."""
    kin, stranger = ("form:a", "root:z", "card:k"), ("form:y", "root:z", "card:s")
    memory = learned(None, [(0.0, Grade.CLEAN), (1.0, Grade.CLEAN), (3.0, Grade.CLEAN)])
    assert recall(memory, 3.5, CARD) > recall(memory, 3.5, kin) > recall(memory, 3.5, stranger)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_skills_that_are_not_there_cost_next_to_nothing(seed):
    """Told shared skills that were dealt by chance, the memory loses less than .005 nats a review."""
    assert shuffled_cost(seed) < 0.005


# ---- the planner


@settings(max_examples=25)
@given(past=pasts(), after=st.sampled_from([0.01, 1.0, 9.0]))
def test_choosing_changes_nothing_and_the_same_seed_plans_alike(past, after):
    """`next` is pure; the same seed and log give the same card and the same plan, another seed may not."""
    one, two = planned(past), planned(past)
    at = EPOCH + timedelta(days=(past[-1][2] if past else 0.0) + after)
    state = one.snapshot()
    assert one.next(at) == one.next(at) == two.next(at)
    assert one.plan(at, 4.0) == two.plan(at, 4.0)
    assert one.snapshot() == state


# ---- the ordinal update

OUTER, HALF = (1.5251, 0.8009), (0.7979, 0.6366)
"""(L, X) beyond a cut one standard deviation out, and beyond one in the middle, by integration."""


def moments(strength: float, variance: float, low: float, high: float) -> tuple[float, float]:
    """Mean and variance of N(strength, variance) cut to (low, high), by numerical integration."""
    normal = stats.norm(strength, math.sqrt(variance))
    span = strength - 12 * math.sqrt(variance), strength + 12 * math.sqrt(variance)
    bounds = max(low, span[0]), min(high, span[1])

    def integral(power: int, around: float = 0.0) -> float:
        return integrate.quad(lambda z: (z - around) ** power * normal.pdf(z), *bounds, epsabs=1e-12)[0]

    mass = integral(0)
    mean = integral(1) / mass
    return mean, integral(2, mean) / mass


@pytest.mark.parametrize(
    ("cut", "above", "step", "shrink"),
    [
        (-1.0, False, -OUTER[0], OUTER[1]),
        (0.0, False, -HALF[0], HALF[1]),
        (0.0, True, HALF[0], HALF[1]),
        (1.0, True, OUTER[0], OUTER[1]),
    ],
)
def test_the_ordinal_updates_check_values(cut, above, step, shrink):
    """With V = 1, z = 0 and cuts -1, 0, 1 a grade beyond a cut moves by these L and X."""
    assert ordinal_step(0.0, 1.0, cut, above) == pytest.approx((step, shrink), abs=6e-5)


@settings(max_examples=150)
@given(
    strength=st.floats(-2, 2),
    variance=st.floats(1.0, 4.0),
    cut=st.floats(-2, 2),
    above=st.booleans(),
)
def test_the_ordinal_update_is_that_of_a_normal_cut_off_on_one_side(strength, variance, cut, above):
    """L and X are those of the truncated normal's mean and variance, found by scipy's integration (quad)."""
    mean, spread = moments(strength, variance, *((cut, math.inf) if above else (-math.inf, cut)))
    step, shrink = ordinal_step(strength, variance, cut, above)
    assert strength + math.sqrt(variance) * step == pytest.approx(mean, abs=1e-6)
    assert variance * (1.0 - shrink) == pytest.approx(spread, abs=1e-6)


def test_far_out_the_ordinal_update_stays_finite():
    """However surprising a grade is, the step is finite and the variance never grows."""
    for strength in np.linspace(-60, 60, 25):
        for cut, above in ((-1.0, False), (1.0, False), (-1.0, True), (1.0, True)):
            step, shrink = ordinal_step(float(strength), 1.5, cut, above)
            assert math.isfinite(step) and 0.0 <= shrink <= 1.0
