"""Practice changes a half-life: a clean try makes it grow, and a miss makes it shrink. Every memory here uses this."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

__all__ = ["grown", "shrunk"]

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
