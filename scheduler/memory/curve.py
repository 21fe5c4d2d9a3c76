"""The forgetting curves. They say how much of a skill is left, for every member of the committee at once."""

from __future__ import annotations

import numpy as np

__all__ = ["retention"]


def retention(x: np.ndarray, powers_from: int) -> np.ndarray:
    """What is left after x half-lives, 0 to 1; members along the first axis.

    powers_from: members before it forget by 2^-x, the others by
    (1 + 3x)^-1/2 (Wickelgren 1974; Wixted and Ebbesen 1997).
    """
    left = np.empty_like(x)
    left[:powers_from] = np.exp2(-x[:powers_from])
    left[powers_from:] = 1.0 / np.sqrt(1.0 + 3.0 * x[powers_from:])
    return left
