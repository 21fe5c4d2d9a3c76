"""Mixing: a score becomes samples that start quietly, stay below a ceiling and end in silence.

Ears come first (drills/RULES.md, E): whatever the volume knob says, the first half second is
soft unless it is a count-in, no peak passes the ceiling, and nothing breaks off. The mix is made in blocks, so that
a track of an hour needs no more memory than one of ten seconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import TYPE_CHECKING

from drills.errors import SoundError
from drills.sound.envelope import half_cosine
from drills.sound.score import Score, Tone
from drills.sound.voices import samples_of, sounded

if TYPE_CHECKING:
    from drills.sound.envelope import Samples

__all__ = ["CEILING", "LEAD_IN_S", "RATE", "blocks", "total_samples"]

RATE = 44_100
"""Samples a second (that of the compact disc, IEC 60908)."""

CEILING = 0.5
"""Largest absolute sample of anything the tool plays, full scale being 1: 6 dB below full."""

LEAD_IN_S = 0.06
"""Silence before time zero of the score, in seconds."""

# From time zero the gain rises to 1 over half a second. It does not begin at nothing, or the
# first click of a count-in would not be heard: a fifth is 14 dB below full.
_FIRST_GAIN, _GAIN_RISE_S = 0.2, 0.5
# Silence at the end, for players that drop their last buffer.
_TAIL_S = 0.05
_BLOCK_S = 10


def total_samples(score: Score, rate: int = RATE) -> int:
    """Return the length of the mixed score in samples, lead-in and closing silence included."""
    return round((LEAD_IN_S + score.length_s + _TAIL_S) * rate)


def blocks(score: Score, *, rate: int = RATE, ceiling: float = CEILING, volume: float = 1.0) -> Iterator[Samples]:
    """Yield the mixed score as float32 blocks of at most ten seconds, in order.

    ceiling: above 0 to `CEILING`; a mix that would pass it is made softer as a whole, so
    that nothing is distorted. volume: 0 to 1, below the ceiling. Raises SoundError.
    """
    import numpy as np

    for field, value, most in (("ceiling", ceiling, CEILING), ("volume", volume, 1.0)):
        if not (isfinite(value) and 0 <= value <= most):
            raise SoundError(f"sound: {field} must be from 0 to {most:g}, not {value!r}")
    peak = max((float(np.abs(block).max()) for block in _raw(score, rate)), default=0.0)
    gain = volume * (min(1.0, ceiling / peak) if peak > 0 else 1.0)
    first = 0
    for block in _raw(score, rate):
        last = first + len(block)
        # After the ceiling, so that a loud mix made softer still begins softer than it goes on.
        block *= gain * _opening(score, first, last, rate)
        # Rounding may lift a sample that lies on the ceiling by one part in ten million.
        yield np.clip(block, -ceiling, ceiling).astype(np.float32)
        first = last


def _raw(score: Score, rate: int) -> Iterator[Samples]:
    """Yield the sum of the tones with the closing gain, not yet held to a ceiling."""
    import numpy as np

    total = total_samples(score, rate)
    waiting = [(round((LEAD_IN_S + each.start_s) * rate), each) for each in score.tones]
    waiting.reverse()
    sounding: list[tuple[int, int, Tone]] = []
    for first in range(0, total, _BLOCK_S * rate):
        last = min(first + _BLOCK_S * rate, total)
        while waiting and waiting[-1][0] < last:
            onset, tone = waiting.pop()
            sounding.append((onset, onset + samples_of(tone, rate), tone))
        block = np.zeros(last - first)
        for onset, end, tone in sounding:
            begin, stop = max(onset, first), min(end, last)
            block[begin - first : stop - first] += sounded(tone, rate, begin - onset, stop - onset)
        sounding = [entry for entry in sounding if entry[1] > last]
        yield block * _closing(score, first, last, rate)


def _opening(score: Score, first: int, last: int, rate: int) -> Samples | float:
    """The soft beginning; a count-in has none, whose "one" must be heard, and whose clicks are short and soft."""
    if score.count_in_s > 0:
        return 1.0
    lead_in, rise = round(LEAD_IN_S * rate), round(_GAIN_RISE_S * rate)
    if first >= lead_in + rise:
        return 1.0
    return _FIRST_GAIN + (1 - _FIRST_GAIN) * half_cosine(first - lead_in, last - lead_in, rise)


def _closing(score: Score, first: int, last: int, rate: int) -> Samples | float:
    end, fall = round((LEAD_IN_S + score.length_s) * rate), round(score.fade_out_s * rate)
    if fall == 0 or last < end - fall:
        return 1.0
    return half_cosine(end - last, end - first, fall)[::-1]
