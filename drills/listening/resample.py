"""Sound made ready for a trained model: at one level, and at another rate by a polyphase filter.

The filter is a windowed sinc with one set of weights for each phase.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, gcd
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["at_one_level", "resampled"]

_CROSSINGS = 16
"""Zero crossings of the sinc on either side."""
_PASSED = 0.92
"""Share of the lower of the two bands that is kept; what lies above it would be heard as other pitches."""


@lru_cache(maxsize=8)
def _weights(rate: int, to_rate: int) -> Samples:
    """One row of weights for each phase between two samples that came."""
    up, share = to_rate // gcd(rate, to_rate), min(1.0, to_rate / rate)
    half = ceil(_CROSSINGS / share)
    at = np.arange(1 - half, half + 1)[None, :] - (np.arange(up) / up)[:, None]
    window = np.where(np.abs(at) < half, 0.5 + 0.5 * np.cos(np.pi * at / half), 0.0)
    rows = np.sinc(share * _PASSED * at) * window
    made: Samples = rows / rows.sum(axis=1, keepdims=True)
    return made


def resampled(samples: Samples, rate: int, to_rate: int) -> Samples:
    """Samples at `rate` a second as they would have been taken at `to_rate`; the first falls on the first.

    Beyond either end counts as silence. Bands up to .92 of the lower of the two Nyquist rates pass.
    """
    if rate == to_rate:
        return samples
    common = gcd(rate, to_rate)
    up, down = to_rate // common, rate // common
    weights = _weights(rate, to_rate)
    half = weights.shape[1] // 2
    places = np.arange(len(samples) * up // down) * down
    around = np.lib.stride_tricks.sliding_window_view(np.pad(samples, (half - 1, half + 1)), 2 * half)
    made: Samples = np.einsum("ij,ij->i", around[places // up], weights[places % up])
    return made


def at_one_level(before: Samples, after: Samples, most: int) -> tuple[Samples, Samples] | None:
    """The last and the first `most` samples around an onset, made so loud that the loudest is 1; None of silence."""
    before, after = before[-most:], after[:most]
    peak = max(float(np.abs(before).max()), float(np.abs(after).max()))
    return (before / peak, after / peak) if peak > 0.0 else None
