"""Smooth beginnings and endings, so that no sound starts or stops with a step."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any

    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.floating[Any]]
    """Samples of a sound or of a gain, one dimension."""

__all__ = ["half_cosine", "ramp"]


def half_cosine(first: int, last: int, length: int) -> Samples:
    """Return samples `first` to `last` of a rise from 0 to 1 over `length` samples.

    Before the rise the value is 0, after it 1; the slope is 0 at both ends, so no edge is
    heard. float64, one dimension.
    """
    import numpy as np

    place = (np.arange(first, last) + 0.5) / max(length, 1)
    return 0.5 - 0.5 * np.cos(pi * np.clip(place, 0.0, 1.0))


def ramp(sound: Samples, rise: int, fall: int) -> None:
    """Shape the first `rise` and last `fall` samples of `sound` in place; each at most half."""
    half = len(sound) // 2
    rise, fall = min(rise, half), min(fall, half)
    if rise:
        sound[:rise] *= half_cosine(0, rise, rise)
    if fall:
        sound[-fall:] *= half_cosine(0, fall, fall)[::-1]
