"""The few global constants that learning rests on, and the committee they span."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Any, NamedTuple, Self

from scheduler.errors import RulesError

__all__ = ["Expert", "LearningConstants"]

_TO_ONE = ("shrink", "shrink_floor", "found_blame", "slip_elsewhere", "weight_memory", "unmet_recall")
_FROM_ZERO = (
    "growth", "growth_exponent", "in_time_growth", "unmet_count", "cut", "cut_variance", "player_variance",
    "slope_variance", "difficulty_variance", "player_drift", "slope_drift",
)  # fmt: skip


class Expert(NamedTuple):
    """One member of the committee.

    first_half_life_days: half-life after the first practice.
    power: True for a power curve, False for an exponential one.
    sharing: how much of a card its shared skills carry, 0 to under 1.
    """

    first_half_life_days: float
    power: bool
    sharing: float


@dataclass(frozen=True, slots=True)
class LearningConstants:
    """Constants shared by all skills; a refit may fit some to one player's log. Choosing cards adds its own.

    first_half_lives_days, curves, sharings: the committee is their product;
        curves: False is 2^-x, True (1 + 3x)^-1/2 of x = time over half-life
        (Wickelgren 1974; Wixted and Ebbesen 1997).
    growth, growth_exponent: a clean try multiplies a half-life by
        1 + growth (1 - recall)^exponent.
    shrink, shrink_floor: a miss takes this part of the half-life of the skill
        to blame, but never below this part of the first half-life.
    found_blame: how much of a miss a found one is. in_time_growth: growth of
        one in time beside a clean one.
    slip_elsewhere: blame left to skills a slip does not name.
    weight_memory: how much of the evidence on each member is kept a review;
        learning_weights: False freezes the committee at its prior.
    unmet_recall: recall of a skill never met before this player shows theirs;
        unmet_count: first meetings that prior is worth.
    cut, cut_variance: how far the strengths between Looked and Found it, and
        between Clean and In time, lie from that between Found it and Clean,
        before this player's grades show it, and how much that varies.
    player_variance, slope_variance, difficulty_variance: prior variances of the
        player's general term, of the slope of the committee's own odds, and
        of how difficult each skill is; 0 switches a term off.
    player_drift, slope_drift: variance added a review, so that old ones count less.
    Raises RulesError when a value is out of range.
    """

    first_half_lives_days: tuple[float, ...] = (0.35, 1.2, 9.0)
    curves: tuple[bool, ...] = (False, True)
    sharings: tuple[float, ...] = (0.0, 0.45, 0.9)
    growth: float = 1.6
    growth_exponent: float = 0.8
    shrink: float = 0.3
    shrink_floor: float = 0.3
    found_blame: float = 0.6
    in_time_growth: float = 1.4
    slip_elsewhere: float = 0.3
    weight_memory: float = 0.995
    learning_weights: bool = True
    unmet_recall: float = 0.1
    unmet_count: float = 5.0
    cut: float = 0.9
    cut_variance: float = 0.5
    player_variance: float = 0.1
    slope_variance: float = 0.02
    difficulty_variance: float = 0.02
    player_drift: float = 0.0002
    slope_drift: float = 0.0002

    def only(self, member: int) -> Self:
        """The same with a committee of one, numbered as in `experts`."""
        one = self.experts[member]
        return replace(
            self,
            first_half_lives_days=(one.first_half_life_days,),
            curves=(one.power,),
            sharings=(one.sharing,),
        )

    @property
    def experts(self) -> tuple[Expert, ...]:
        """The committee in the order its states are stored: exponential curves first."""
        return tuple(
            Expert(first, power, sharing)
            for power in sorted(set(self.curves))
            for first in self.first_half_lives_days
            for sharing in self.sharings
        )

    def learning_values(self) -> dict[str, Any]:
        """The constants that learning rests on, by name, as a JSON value."""
        return {one.name: getattr(self, one.name) for one in fields(LearningConstants)}

    def __post_init__(self) -> None:
        for name in ("first_half_lives_days", "curves", "sharings"):
            if not getattr(self, name):
                raise RulesError(f"constants, {name}: expected at least one, got none")
        most = dict.fromkeys(_TO_ONE, 1.0)
        for name in (*_TO_ONE, *_FROM_ZERO):
            low, high = 0.0, most.get(name, math.inf)
            value = getattr(self, name)
            if not low <= value <= high:
                raise RulesError(f"constants, {name}: expected {low:g} to {high:g}, got {value!r}")
        halves = self.first_half_lives_days
        if not all(half > 0 for half in halves):
            raise RulesError(f"constants, first_half_lives_days: expected days above 0, got {halves!r}")
        if not all(0 <= sharing < 1 for sharing in self.sharings):
            raise RulesError(f"constants, sharings: expected 0 to under 1, got {self.sharings}")
