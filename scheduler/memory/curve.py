"""The forgetting curves say how much of a skill is left, to every member of the committee at once.

A log is learned from one skill at a time, and there plain numbers cost half of what arrays cost. Plans ask for all
skills at once: `scheduler.planning.gain` has the same curves for arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp2, sqrt

__all__ = ["retained"]


def retained(past_days: float, half_lives_days: Sequence[float], powers_from: int, floor: float) -> list[float]:
    """Recall of one skill to every member, from `floor` to 1; it is 1 before any time has passed.

    floor: what recall never falls below. powers_from: members before it forget by 2^-x, x half-lives after, the
    others by (1 + 3x)^-1/2 (Wickelgren 1974; Wixted and Ebbesen 1997).
    """
    ago, above = -past_days if past_days > 0.0 else 0.0, 1.0 - floor
    thrice = -3.0 * ago
    found = [floor + above * exp2(ago / half) for half in half_lives_days[:powers_from]]
    found += [floor + above / sqrt(1.0 + thrice / half) for half in half_lives_days[powers_from:]]
    return found
