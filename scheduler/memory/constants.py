"""The few global constants of the memory, and the committee they span."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

__all__ = ["Constants", "Expert"]


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
class Constants:
    """Constants shared by all skills; `refit` may fit them to one player's log."""

    first_half_lives_days: tuple[float, ...] = (0.35, 1.2, 5.0)
    curves: tuple[bool, ...] = (False, True)
    sharings: tuple[float, ...] = (0.0, 0.45, 0.9)
    growth: float = 1.6
    growth_exponent: float = 0.8
    weight_memory: float = 0.995
    unmet_recall: float = 0.1
    horizons_days: tuple[float, ...] = (0.5, 1.5, 4.0, 12.0)
    utility_floor: float = 0.02

    @property
    def experts(self) -> tuple[Expert, ...]:
        """The committee, in the order its states are stored."""
        return tuple(
            Expert(first, power, sharing)
            for first in self.first_half_lives_days
            for power in self.curves
            for sharing in self.sharings
        )
