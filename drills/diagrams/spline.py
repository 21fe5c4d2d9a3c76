"""A smooth way through points, as many short straight ones."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["smooth"]

_STEPS = 5
"""Straight pieces from one point to the next."""


def smooth(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Points on the spline of E. Catmull and R. Rom 1974 through two or more points, with its ends doubled."""
    padded = [points[0], *points, points[-1]]
    found: list[tuple[float, float]] = []
    for four in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        across, down = zip(*four, strict=True)
        found += [(_between(step / _STEPS, *across), _between(step / _STEPS, *down)) for step in range(_STEPS)]
    return [*found, points[-1]]


def _between(t: float, before: float, start: float, end: float, after: float) -> float:
    return 0.5 * (
        2 * start + (end - before) * t + (2 * before - 5 * start + 4 * end - after) * t**2
        + (3 * start - before - 3 * end + after) * t**3
    )  # fmt: skip
