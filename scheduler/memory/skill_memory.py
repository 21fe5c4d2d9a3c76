"""What is kept of one skill: when it was last practised, how slowly each member thinks it fades, how easy it is."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["SkillMemory"]


class SkillMemory(NamedTuple):
    """The state of one skill after its last practice; replaced, never changed.

    last_days: time of the last practice, days since 1970-01-01 UTC.
    half_lives_days: one a member of the committee, in its order.
    tries, clean: first attempts at cards that need the skill.
    first_days: time of the first practice.
    floor: recall it never falls below: what it had unmet, if the first try was clean.
    ease, doubt: mean and variance of how much easier than the committee
        thinks, in standard deviations of strength.
    """

    last_days: float
    half_lives_days: tuple[float, ...]
    tries: int
    clean: int
    first_days: float
    floor: float
    ease: float
    doubt: float
