"""All global constants: those that learning rests on, and those that only the choice of cards reads.

A change to the second kind leaves alone what a log has taught, so the two
kinds stand apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduler.errors import RulesError
from scheduler.memory.learning_constants import Expert, LearningConstants

__all__ = ["Constants", "Expert"]


@dataclass(frozen=True, slots=True)
class Constants(LearningConstants):
    """The constants of learning, and these of choosing.

    horizons_days: when the gain of a practice is read, in practice days.
    utility_floors: recall counts as log(recall + floor), to members with an
        exponential curve and to those with a power curve; small lifts the
        weakest cards first, large counts all recall alike.
    new_skill_discount_days: a first half-life, in days. A member with a
        shorter one counts only a part of the gain of a skill never met: the
        square root of its own first half-life over this one. What fades fast
        is lost unless it is played again soon, so skills already begun go
        first. A power curve never falls to nothing, and other cards keep a
        shared skill up; a member with a power curve and sharing counts the
        whole gain.

    Raises RulesError when a value is out of range.
    """

    horizons_days: tuple[float, ...] = (0.5, 1.5, 4.0, 12.0)
    utility_floors: tuple[float, float] = (0.3, 0.02)
    new_skill_discount_days: float = 10.0

    def new_skill_discount(self, expert: Expert) -> float:
        """What the gain of a skill never met counts for to a member, 0 to 1."""
        if expert.power and expert.sharing > 0.0:
            return 1.0
        return min(1.0, math.sqrt(expert.first_half_life_days / self.new_skill_discount_days))

    def __post_init__(self) -> None:
        # A dataclass with slots is made anew, so that `super()` without arguments would not find it.
        LearningConstants.__post_init__(self)
        if not self.horizons_days:
            raise RulesError("constants, horizons_days: expected at least one, got none")
        if not all(floor > 0.0 for floor in self.utility_floors):
            raise RulesError(f"constants, utility_floors: expected two above 0, got {self.utility_floors!r}")
        if not self.new_skill_discount_days > 0.0:
            raise RulesError(
                f"constants, new_skill_discount_days: expected days above 0, got {self.new_skill_discount_days!r}"
            )
