"""One skill's memory holds when it was practised, its half-life to each member, and how difficult it is."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["SkillMemory"]


class SkillMemory(NamedTuple):
    """The state of one skill after its last practice; replaced, never changed.

    last_days: time of the last practice, days since 1970-01-01 UTC.
    half_lives_days: one for each member of the committee, in its order.
    tries, clean: first attempts at cards that need the skill.
    first_days: time of the first practice.
    floor: recall that the skill never falls below. If its first try was clean
        this is the recall it had unmet, else 0.
    difficulty, difficulty_variance: belief about how much harder the skill is
        than the committee thinks, in standard deviations of strength. The term
        and its unit are those of item-response research (Lord 1980).
    """

    last_days: float
    half_lives_days: tuple[float, ...]
    tries: int
    clean: int
    first_days: float
    floor: float
    difficulty: float
    difficulty_variance: float
