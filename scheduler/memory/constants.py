"""The few global constants of the memory and the planner."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.errors import RulesError

__all__ = ["Blend", "Constants", "Curve"]


class Curve(NamedTuple):
    """A way of forgetting: recall after x half-lives is 2^-x, or (1 + 3x)^-1/2.

    first_half_life_days: half-life after the first practice.
    power: True for the power curve (Wickelgren 1974; Wixted and Ebbesen 1997).
    """

    first_half_life_days: float
    power: bool


class Blend(NamedTuple):
    """A way in which a card rests on its skills.

    sharing: how much its shared skills carry, 0 to 1. weakest: False for
    1 - (1 - sharing x product of shared) (1 - own), True for
    sharing x weakest shared + (1 - sharing) x own.
    """

    sharing: float
    weakest: bool


@dataclass(frozen=True, slots=True)
class Constants:
    """Constants common to all skills; `scheduler.refit` fits some to one player's log.

    curves, blends: the committee is every curve with every blend, and one
        member that counts practice in time windows.
    growth, growth_exponent: a clean try multiplies a half-life by
        1 + growth (1 - recall)^exponent.
    shrink: a miss takes this part of the half-life of the skill to blame.
    shrink_floor: never below this part of the first half-life.
    weight_memory: how much of the evidence on each member is kept a review.
    windows_days, window_weights: the windows practice is counted in (Lindsey
        et al. 2014), as exponential kernels, and how much each counts.
    counts_prior, counts_spread: mean and variance of the counting member's
        five weights before the first review: bias, own clean, own tries,
        shared clean, shared tries.
    unmet_recall: recall of a skill never met, before this player shows theirs.
    found_credit: how much of a clean try a found one teaches, 0 to 1.
    in_time_credit: the same for one in time, 1 or more.
    slip_elsewhere: what blame is left to skills a slip does not name, 0 to 1.
    horizons_days, horizon_weights: when the gain of a practice is read.
    utility_floor: recall counts as log(recall + floor): small for the weakest
        cards first, large for the most recall.
    partner_floor: least strength credited to the other shared skills of a
        card, so that hard cards are begun at all.
    leave_out_below: members of less weight are left out of planning.

    Raises RulesError when a value is out of range.
    """

    curves: tuple[Curve, ...] = (Curve(0.4, False), Curve(1.2, False), Curve(1.5, True))
    blends: tuple[Blend, ...] = (
        Blend(0.0, False),
        Blend(0.5, False),
        Blend(0.9, False),
        Blend(0.9, True),
    )
    growth: float = 1.6
    growth_exponent: float = 0.8
    shrink: float = 0.5
    shrink_floor: float = 0.3
    weight_memory: float = 0.995
    windows_days: tuple[float, ...] = (1.0 / 24.0, 1.0, 7.0, 30.0, math.inf)
    window_weights: tuple[float, ...] = (0.1, 0.3, 0.5, 0.4, 0.2)
    counts_prior: tuple[float, ...] = (-1.2, 0.5, 0.5, 0.5, 0.5)
    counts_spread: tuple[float, ...] = (1.0, 0.3, 0.3, 0.3, 0.3)
    counts_drift: float = 0.0002
    calibration_spread: tuple[float, ...] = (0.1, 0.05)
    calibration_drift: float = 0.001
    unmet_recall: float = 0.1
    found_credit: float = 0.3
    in_time_credit: float = 1.1
    slip_elsewhere: float = 0.3
    horizons_days: tuple[float, ...] = (0.5, 1.5, 4.0, 12.0)
    horizon_weights: tuple[float, ...] = (1.0, 1.0, 1.0, 1.0)
    utility_floor: float = 0.4
    partner_floor: float = 0.3
    leave_out_below: float = 0.03

    def __post_init__(self) -> None:
        for curve in self.curves:
            if not curve.first_half_life_days > 0:
                raise RulesError(f"constants, curves: expected half-lives above 0 days, got {curve!r}")
        for blend in self.blends:
            if not 0 <= blend.sharing < 1:
                raise RulesError(f"constants, blends: expected sharing from 0 to under 1, got {blend!r}")
        if not (self.curves and self.blends):
            raise RulesError("constants: expected at least one curve and one blend")
        if len(self.windows_days) != len(self.window_weights):
            raise RulesError(
                f"constants, window_weights: expected {len(self.windows_days)} of them, "
                f"one a window, got {len(self.window_weights)}"
            )
        if len(self.horizons_days) != len(self.horizon_weights):
            raise RulesError(
                f"constants, horizon_weights: expected {len(self.horizons_days)} of them, "
                f"one a horizon, got {len(self.horizon_weights)}"
            )
        for name in ("growth", "growth_exponent", "unmet_recall", "utility_floor"):
            if not getattr(self, name) > 0:
                raise RulesError(f"constants, {name}: expected a number above 0, got {getattr(self, name)!r}")
