"""Simulated players against their published equations, worked out term by term."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scheduler.evaluate.simulated_deck import material
from scheduler.evaluate.simulated_players import FAMILIES, OUTSIDE, Traces, Windows

DECK = material(2, 1, 3)


def player(family, sharing=0.45, known=0.0):
    return family(DECK, np.random.default_rng(100), sharing, known)


def test_activation_is_the_sum_of_decaying_traces_and_nothing_else():
    """m = ln sum t^-d with d = c e^m + alpha, by hand (Pavlik and Anderson 2005, equations 1 and 3)."""
    one = player(Traces)
    skill, days = int(one.skill_of[0, -1]), (0.0, 1.0, 3.0)
    for day in days:
        one.practise(0, True, day)
    # Seconds on the practice clock: the first half hour after a session counts whole, the rest by .025.
    gap = [1800.0 + (b - a) * 86400.0 * 0.025 - 1800.0 * 0.025 for a, b in zip(days, (*days[1:], 4.0), strict=True)]
    clock = [0.0, gap[0], gap[0] + gap[1]]
    decays = []
    for k in range(3):
        strength = sum((clock[k] - clock[j]) ** -decays[j] for j in range(k))
        decays.append(float(one.c) * strength + float(one.alpha))
    now = clock[2] + gap[2]
    expected = math.log(sum((now - at) ** -decay for at, decay in zip(clock, decays, strict=True)))
    assert max(expected, Traces.FLOOR) + one.offset[skill] == pytest.approx(one.values(4.0)[skill], rel=1e-9)


@pytest.mark.parametrize("family", {**FAMILIES, **OUTSIDE}.values())
@pytest.mark.parametrize("sharing", (0.0, 0.45, 0.9))
def test_what_was_never_practised_is_hardly_recalled_and_practice_helps(family, sharing):
    """Nobody knows what they never played, a practised card is recalled better, and recall is a chance."""
    one = player(family, sharing)
    unmet = one.recalls(1.0)
    # A player of windows begins at an ability of -1.6 +- .4 against difficulties of 0 +- .5: under .7.
    assert unmet.max() < (0.7 if family is Windows else 0.15)
    for minute in range(3):
        one.practise(0, True, 1.0 + minute / 1440.0)
    after = one.recalls(1.0 + 3.0 / 1440.0)
    assert after[0] > unmet[0]
    assert ((after >= 0.0) & (after <= 1.0)).all()
    if sharing == 0.0:
        assert np.allclose(after[1:], unmet[1:], atol=1e-9)


def test_windows_count_what_lies_inside_them():
    """Counts in windows of an hour, a day, a week, a month and ever, by a plain count (Choffin et al. 2019)."""
    one = player(Windows)
    rng = np.random.default_rng(1)
    at, plain = 0.0, []
    for _ in range(60):
        at += float(rng.exponential(0.7))
        card, clean = int(rng.integers(DECK.count)), bool(rng.random() < 0.5)
        one.practise(card, clean, at)
        plain += [(at, int(skill), clean) for skill in DECK.skill_of[card]]
    for when in (at, at + 0.5, at + 3.0, at + 40.0):
        good, tries = one._counts(when)
        for w, window in enumerate(Windows.WINDOWS):
            for skill in range(len(DECK.names)):
                inside = [clean for t, s, clean in plain if s == skill and t > when - window]
                assert (good[w, skill], tries[w, skill]) == (sum(inside), len(inside))
