"""An ordinal probit: what a grade above or below a cut teaches about terms that add up to a strength.

A try's strength is z + N(0, 1); each term of z has a normal belief (mean,
variance) and a known factor. One grade moves them by the moments of the
truncated normal (assumed-density filtering: L and X are the mean and the
shrinkage of a normal cut off on one side, after Johnson, Kotz and
Balakrishnan 1994, section 13.10).
"""

from __future__ import annotations

import math
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


def ordinal_step(strength: float, variance: float, cut: float, above: bool) -> tuple[float, float]:
    """(L, X) for a grade above a cut, or below it.

    strength: z. variance: V, that of the terms plus 1. A term with variance
    s^2 and factor x then gains s^2 x L / sqrt V in its mean, and its variance
    is multiplied by 1 - s^2 x^2 X / V.
    """
    edge = (cut - strength) / math.sqrt(variance)
    # The smaller tail keeps its digits.
    inside = 1.0 - normal_chance(edge) if above and edge < 0.0 else normal_chance(-edge if above else edge)
    if inside < _LEAST:
        # So far out that the normal is all but a point at the cut.
        return edge, 1.0
    density = _DENSITY_0 * math.exp(-0.5 * edge * edge)
    step = density / inside if above else -density / inside
    weighed = edge * density / inside
    return step, min(1.0, step * step - weighed if above else step * step + weighed)
