"""An ordinal probit of four grades: what one grade teaches about terms that add up to a strength.

A latent strength z + N(0, 1) falls between two cuts; each term of z has a
normal belief (mean, variance) and a known factor. One grade moves them by
the moments of the truncated normal (assumed-density filtering: L and X are
the mean and the shrinkage of a normal cut to an interval, after Johnson,
Kotz and Balakrishnan 1994, section 13.10).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

__all__ = ["normal_chance", "normal_quantile", "ordinal_step"]

_ROOT_2 = math.sqrt(2.0)
_DENSITY_0 = 1.0 / math.sqrt(2.0 * math.pi)
_LEAST = 1e-9
normal_quantile = NormalDist().inv_cdf
"""The strength at which a standard normal has the given chance below it; needs a chance inside (0, 1)."""


def normal_chance(z: float) -> float:
    """Chance that a standard normal lies below z."""
    return 0.5 * math.erfc(-z / _ROOT_2)


def _density(z: float) -> float:
    return _DENSITY_0 * math.exp(-0.5 * z * z) if abs(z) < 38.0 else 0.0


def ordinal_step(strength: float, variance: float, low: float, high: float) -> tuple[float, float]:
    """(L, X) for a grade between the cuts `low` and `high`, which may be infinite.

    strength: z. variance: V, that of the terms plus 1. A term with variance
    s^2 and factor x then gains s^2 x L / sqrt V in its mean, and its variance
    is multiplied by 1 - s^2 x^2 X / V.
    """
    root = math.sqrt(variance)
    a, b = (low - strength) / root, (high - strength) / root
    # The smaller tail keeps its digits.
    inside = normal_chance(b) - normal_chance(a) if a < 0.0 else normal_chance(-a) - normal_chance(-b)
    if inside < _LEAST:
        # So far out that the normal is all but a point at the nearer cut.
        step = a if a > 0.0 else b
        return step, 1.0
    at_a, at_b = _density(a), _density(b)
    step = (at_a - at_b) / inside
    weighed = (b * at_b if math.isfinite(b) else 0.0) - (a * at_a if math.isfinite(a) else 0.0)
    return step, min(1.0, step * step + weighed / inside)


def total(factors: Sequence[float], values: Sequence[float]) -> float:
    """Sum of products, in order."""
    return sum([f * v for f, v in zip(factors, values, strict=True)])
