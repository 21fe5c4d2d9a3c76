"""Practice changes a half-life: a clean try makes it grow, and a miss makes it shrink. Every memory here uses this."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

__all__ = ["all_grown", "all_shrunk", "grown", "shrunk"]

Value = TypeVar("Value", float, "npt.NDArray[np.float64]")


def grown(half_life: Value, recall: Value, growth: float, exponent: float) -> Value:
    """The half-life after a clean try, in the unit it is given in.

    recall: the chance of the clean try just before it, 0 to 1. A try that was
    likely to fail teaches most: this is the spacing effect (Cepeda et al. 2006).
    """
    unlikely: Value = (1.0 - recall) ** exponent
    return half_life * (1.0 + growth * unlikely)


def shrunk(half_life: Value, blame: Value, shrink: float) -> Value:
    """The half-life after a miss, in the unit it is given in.

    blame: how far the skill is at fault, 0 to 1. shrink: the part that is lost at full blame, 0 to 1.
    """
    return half_life * (1.0 - shrink * blame)


def all_grown(
    half_lives: Sequence[float], recalls: Sequence[float], growth: float, exponent: float
) -> tuple[float, ...]:
    """The same for one skill to every member of a committee, in plain numbers."""
    return tuple([h * (1.0 + growth * (1.0 - r) ** exponent) for h, r in zip(half_lives, recalls, strict=True)])


def all_shrunk(
    half_lives: Sequence[float],
    recalls: Sequence[float],
    failed: Sequence[float],
    shrink: float,
    least: Sequence[float],
) -> tuple[float, ...]:
    """The same for one skill to every member, by its blame for the miss of a card.

    recalls: of the skill. failed: how likely the card was to fail, above 0. Blame is the chance that the skill failed
    over that, at most 1. None falls below its least; one that is there already stays.
    """
    return tuple(
        [
            h
            if h <= low
            else low
            if (new := h * (1.0 - shrink * ((1.0 - r) / p if 1.0 - r < p else 1.0))) < low
            else new
            for h, r, p, low in zip(half_lives, recalls, failed, least, strict=True)
        ]
    )
