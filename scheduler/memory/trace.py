"""What is kept of one skill: when it was last practised, how slowly it fades, how often it was played."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Trace"]


class Trace(NamedTuple):
    """The state of one skill after its last practice; replaced, never changed.

    last_days: time of the last practice, days since 1970-01-01 UTC.
    half_lives_days: one for each curve of the committee.
    clean_counts, try_counts: clean first attempts and all first attempts at
        cards that need the skill, faded by each time window, as of `last_days`.
    tries, clean: the same as whole numbers. first_days: the first practice.
    """

    last_days: float
    half_lives_days: tuple[float, ...]
    clean_counts: tuple[float, ...]
    try_counts: tuple[float, ...]
    tries: int
    clean: int
    first_days: float
