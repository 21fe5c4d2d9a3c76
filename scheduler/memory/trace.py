"""What is kept of one skill: when it was last practised and how slowly each expert thinks it fades."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Trace"]


class Trace(NamedTuple):
    """The state of one skill after its last practice; replaced, never changed.

    last_days: time of the last practice, days since 1970-01-01 UTC.
    half_lives_days: one a member of the committee, in its order.
    tries, clean: first attempts at cards that need the skill.
    first_days: time of the first practice.
    """

    last_days: float
    half_lives_days: tuple[float, ...]
    tries: int
    clean: int
    first_days: float
