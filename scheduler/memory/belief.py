"""A logistic regression that learns from one outcome at a time and knows how sure it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

__all__ = ["Belief", "logistic"]

_SPREAD = math.pi / 8.0
"""Mean of a logistic under a normal: divide by sqrt(1 + pi/8 variance) (MacKay 1992)."""


def logistic(x: float) -> float:
    """1 / (1 + e^-x), safe for any x."""
    if x >= 0.0:
        return 1.0 / (1.0 + math.exp(-min(x, 700.0)))
    e = math.exp(max(x, -700.0))
    return e / (1.0 + e)


class Belief(NamedTuple):
    """A normal belief over regression weights: mean, and covariance row by row."""

    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    @classmethod
    def prior(cls, mean: Sequence[float], variance: Sequence[float]) -> Belief:
        """Independent weights."""
        size = range(len(mean))
        return cls(
            tuple(mean), tuple(tuple(variance[i] if i == j else 0.0 for j in size) for i in size)
        )

    def chance(self, x: Sequence[float]) -> float:
        """Chance of a success with features x, the doubt about the weights averaged out."""
        z = sum([m * v for m, v in zip(self.mean, x)])
        variance = sum(
            [v * sum([c * w for c, w in zip(row, x)]) for v, row in zip(x, self.covariance)]
        )
        return logistic(z / math.sqrt(1.0 + _SPREAD * max(variance, 0.0)))

    def after(
        self, x: Sequence[float], success: bool, drift: Sequence[float]
    ) -> Belief:
        """The belief after one outcome: one step of an extended Kalman filter.

        drift: variance added to each weight, so that old outcomes count less.
        """
        spread = [sum([c * w for c, w in zip(row, x)]) for row in self.covariance]
        variance = max(sum([v * s for v, s in zip(x, spread)]), 0.0)
        z = sum([m * v for m, v in zip(self.mean, x)])
        p = logistic(z / math.sqrt(1.0 + _SPREAD * variance))
        information = p * (1.0 - p) + 1e-3
        gain = 1.0 / (1.0 / information + variance)
        step = gain * ((1.0 if success else 0.0) - p) / information
        mean = tuple([m + s * step for m, s in zip(self.mean, spread)])
        rows = []
        for i, row in enumerate(self.covariance):
            pull = gain * spread[i]
            new = [c - pull * s for c, s in zip(row, spread)]
            new[i] += drift[i]
            rows.append(tuple(new))
        return Belief(mean, tuple(rows))
