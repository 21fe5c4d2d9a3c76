"""The forgetting curves. They say how much of a skill is left, for every member of the committee at once.

They are told twice. A log is learned from one skill at a time, and there plain numbers cost half of what arrays cost.
Plans ask for all skills at once, and there arrays cost least.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp2, sqrt

import numpy as np

__all__ = ["retained", "retention"]


def retained(past_days: float, half_lives_days: Sequence[float], powers_from: int, floor: float) -> list[float]:
    """Recall of one skill to every member, from `floor` to 1; it is 1 before any time has passed.

    floor: what recall never falls below. powers_from: as in `retention`.
    """
    ago, above = min(0.0, -past_days), 1.0 - floor
    thrice = -3.0 * ago
    found = [floor + above * exp2(ago / half) for half in half_lives_days[:powers_from]]
    found += [floor + above / sqrt(1.0 + thrice / half) for half in half_lives_days[powers_from:]]
    return found


def retention(x: np.ndarray, powers_from: int) -> np.ndarray:
    """What is left after x half-lives, 0 to 1; members along the first axis.

    powers_from: members before it forget by 2^-x, the others by
    (1 + 3x)^-1/2 (Wickelgren 1974; Wixted and Ebbesen 1997).
    """
    left = np.empty_like(x)
    left[:powers_from] = np.exp2(-x[:powers_from])
    left[powers_from:] = 1.0 / np.sqrt(1.0 + 3.0 * x[powers_from:])
    return left
