"""How far one share of clean tries surely lies above another: a bound on the difference of two counts."""

from __future__ import annotations

import math

from scheduler.statistics.counts import Count, wilson

__all__ = ["NAMED_SHARES", "POWER_Z", "information", "information_needed", "lowest_difference"]

NAMED_SHARES = (0.45, 0.75)
"""A difference as large as this one is to be named in POWER of 100 (common practice: it changes what one practises)."""

POWER_Z = 0.8416212335729143
"""The 80 % quantile of the normal distribution: such a difference is named four times of five."""


def lowest_difference(higher: Count, lower: Count, z: float) -> float:
    """The lower bound of the share of `higher` less that of `lower`, -1 to 1.

    Two published bounds err on opposite sides where the counts differ in size and the shares are far from a half, so
    the lower of both is taken: A. Agresti and B. Caffo (2000), "Simple and effective confidence intervals for
    proportions and differences of proportions result from adding two successes and two failures", The American
    Statistician 54, 280-288; and R. G. Newcombe (1998), "Interval estimation for the difference between independent
    proportions", Statistics in Medicine 17, 873-890, method 10. z: normal quantile of the bound. Without tries on both
    sides the answer is -1.
    """
    if not higher.tries or not lower.tries:
        return -1.0
    n, m = higher.tries + 2, lower.tries + 2
    p, q = (higher.clean + 1) / n, (lower.clean + 1) / m
    added = p - q - z * math.sqrt(p * (1 - p) / n + q * (1 - q) / m)
    if added <= 0:
        return added
    p, q = higher.clean / higher.tries, lower.clean / lower.tries
    below, above = p - wilson(higher.clean, higher.tries, z)[0], wilson(lower.clean, lower.tries, z)[1] - q
    return min(added, p - q - math.hypot(below, above))


def information(tries: int, others: int) -> float:
    """How much two numbers of tries tell of a difference: half their harmonic mean, 20 for forty a side."""
    return tries * others / (tries + others) if tries and others else 0.0


def information_needed(z: float) -> int:
    """The information at which a difference of NAMED_SHARES passes a bound at `z` four times of five, rounded up.

    The usual sample size for two proportions (J. L. Fleiss, B. Levin and M. C. Paik 2003, "Statistical Methods for
    Rates and Proportions", section 4.2, without continuity correction).
    """
    low, high = NAMED_SHARES
    spread = (low * (1 - low) + high * (1 - high)) / 2
    return math.ceil(spread * (z + POWER_Z) ** 2 / (high - low) ** 2)
