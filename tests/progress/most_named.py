"""How often a true difference between two shares can be named at all, whatever the test.

    python -m tests.progress.most_named [TRIES ...]

For so many tries a side (40 and 41): how often .75 against .45 is named by the bound the program uses, by Boschloo's
exact test at its best level, and by the best of all tests, each of which errs in at most 5 of 100 players who are the
same in both groups, whatever their chance. A test is a choice of the outcomes it names; the best one is found by a
linear programme over all outcomes (J. Neyman and E. S. Pearson 1933; with a choice by lot allowed, so that it bounds
every test). R. D. Boschloo (1970), "Raised conditional level of significance for the 2 x 2-table when testing the
equality of two probabilities", Statistica Neerlandica 24, 1-35.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from functools import cache
from statistics import NormalDist
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.stats import binom, hypergeom

from scheduler.statistics.counts import Count
from scheduler.statistics.difference import NAMED_SHARES, lowest_difference

__all__ = ["best_of_all", "boschloo", "named_by", "own_outcomes"]

Floats = Any
"""An array of floats: which outcomes a test names, as [clean of the higher, clean of the lower]."""

FIRST_LOOK_Z = NormalDist().inv_cdf(1 - 0.045 * 0.96 / 2)
"""The bound of the program's first look at two groups (`scheduler.statistics.claims`)."""

CHANCES = np.linspace(0.01, 0.99, 197)
"""Chances at which a test must not err too often."""


def own_outcomes(tries: int, z: float) -> Floats:
    """The outcomes that the program names, with a bound at the normal quantile `z`."""
    counts = [Count(clean, tries) for clean in range(tries + 1)]
    return np.array([[float(lowest_difference(one, two, z) > 0) for two in counts] for one in counts])


def named_by(outcomes: Floats, tries: int) -> tuple[float, float]:
    """How often a test names `NAMED_SHARES`, and how often it errs, either way, at the worst chance."""
    low, high = (_chances(tries, share) for share in NAMED_SHARES)
    both = outcomes + outcomes.T
    errs = max(float(one @ both @ one) for one in (_chances(tries, chance) for chance in CHANCES))
    return float(high @ outcomes @ low), errs


def boschloo(tries: int, error: float) -> Floats:
    """The outcomes of Boschloo's test: the conditional level raised as far as `error` allows at every chance."""
    clean = np.arange(tries + 1)
    tail = np.array([[hypergeom.sf(a - 1, 2 * tries, a + b, tries) for b in clean] for a in clean])
    found = np.zeros_like(tail)
    for level in np.unique(tail[tail < 4 * error]):
        outcomes = (tail <= level * (1 + 1e-9)).astype(float)
        if named_by(outcomes, tries)[1] > error:
            break
        found = outcomes
    return found


def best_of_all(tries: int, error: float) -> float:
    """The most often that any test names `NAMED_SHARES` which errs in at most `error`, either way, at every chance."""
    low, high = (_chances(tries, share) for share in NAMED_SHARES)
    above = np.tril_indices(tries + 1, -1)
    errs = [2.0 * np.outer(one, one)[above] for one in (_chances(tries, chance) for chance in CHANCES)]
    found = linprog(-np.outer(high, low)[above], A_ub=errs, b_ub=[error] * len(errs), bounds=(0, 1), method="highs")
    return float(-found.fun)


@cache
def _chances(tries: int, chance: float) -> Floats:
    return binom.pmf(np.arange(tries + 1), tries, chance)


def main(sides: Sequence[int], error: float = 0.05, z: float = FIRST_LOOK_Z) -> None:
    """Prints the table."""
    print(
        "| tries a side | test | .75 against .45 named, of 100 | false at the worst chance, of 100 |\n|---|---|---|---|"
    )
    for tries in sides:
        for name, outcomes in (("the program's", own_outcomes(tries, z)), ("Boschloo's", boschloo(tries, error))):
            named, errs = named_by(outcomes, tries)
            print(f"| {tries} | {name} | {100 * named:.2f} | {100 * errs:.2f} |")
        print(
            f"| {tries} | the best of all tests | {100 * best_of_all(tries, error):.2f} | {100 * error:g} |", flush=True
        )


if __name__ == "__main__":
    main([int(one) for one in sys.argv[1:]] or [40, 41])
