"""Where the frets lie, in millimetres, by equal temperament."""

from __future__ import annotations

import math
from functools import lru_cache

__all__ = ["fret_distance_mm", "reach_mm"]


@lru_cache(maxsize=1024)
def fret_distance_mm(scale_mm: float, fret: int) -> float:
    """Distance of a fret from the nut: L (1 - 2^(-n/12)), so that fret 12 halves the string."""
    return scale_mm * (1.0 - math.pow(2.0, -fret / 12.0))


def reach_mm(scale_mm: float, fret: int, other: int, capo: int = 0) -> float:
    """Distance between two frets counted from the capo (0: the nut), without sign."""
    return abs(fret_distance_mm(scale_mm, fret + capo) - fret_distance_mm(scale_mm, other + capo))
