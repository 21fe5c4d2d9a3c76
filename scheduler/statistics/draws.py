"""How likely tries drawn from all there are, without putting back, reach a score."""

from __future__ import annotations

import math

__all__ = ["Four", "chance_of_score"]

Four = tuple[float, float, float, float]
"""One number for each of four outcomes."""


def chance_of_score(whole: tuple[int, int, int, int], scores: Four, drawn: int, least: float) -> float:
    """The chance that so many tries, drawn from all without putting back, score at least so much together.

    whole: how many tries had each outcome. scores: what one of each outcome scores. Exact, by the multivariate
    hypergeometric distribution: every way to draw is added up.
    """
    first, second, third, fourth = whole
    total = _log_ways(sum(whole), drawn)
    found = 0.0
    for d in range(max(0, drawn - first - second - third), min(fourth, drawn) + 1):
        for c in range(max(0, drawn - d - first - second), min(third, drawn - d) + 1):
            left = drawn - d - c
            ways = _log_ways(fourth, d) + _log_ways(third, c) - total
            so_far = d * scores[3] + c * scores[2]
            for b in range(max(0, left - first), min(second, left) + 1):
                if so_far + b * scores[1] + (left - b) * scores[0] >= least - 1e-9:
                    found += math.exp(ways + _log_ways(second, b) + _log_ways(first, left - b))
    return min(1.0, found)


def _log_ways(size: int, drawn: int) -> float:
    """The natural logarithm of the number of ways to draw so many of so many."""
    return math.lgamma(size + 1) - math.lgamma(drawn + 1) - math.lgamma(size - drawn + 1)
