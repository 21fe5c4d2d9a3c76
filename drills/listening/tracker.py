"""Pitch by a trained tracker that follows one pitch at a time: what it hears after an onset and did not before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.engine import Pitched
from drills.listening.resample import at_one_level, resampled
from drills.theory.note import midi_of_hz

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["Tracker"]

_RATE, _STEP = 16_000, 256
"""Samples a second that the model takes, and samples between two of its answers."""
_REACH = 2816
"""Samples that an answer depends on, on either side: so much silence follows what is given."""
_MOST_S = 0.5
_SETTLED_S = 0.03
_VOICED = 0.5
"""From here on an answer is a pitch (the model's own calibration)."""
_NEAR = 0.5
"""Semitones within which two answers are one pitch."""
_STEADY = (0.3, 0.8)
"""Share of the answers that agree on the pitch: none of a note, and all of one."""


@dataclass(frozen=True, slots=True)
class Tracker:
    """An engine over a trained model, for notes from G1 to C7: the model reaches from 46.9 to 2093.8 Hz.

    model: the pitch in Hz and how surely there is one, 0 to 1, for each 256 samples at 16,000 a second.
    """

    model: Callable[[Samples], tuple[Samples, Samples]]
    name: str = "tracker"
    version: int = 1
    lowest: int = 31
    highest: int = 96

    def pitch_of(self, before: Samples, after: Samples, rate: int) -> Pitched | None:
        """See `Engine.pitch_of`. A string that rings on hides a new one: what was there before is no answer."""
        levelled = at_one_level(before, after, round(_MOST_S * rate))
        if levelled is None:
            return None
        before, after = levelled
        sound = resampled(np.concatenate((before, after)), rate, _RATE)
        hz, voiced = self.model(np.concatenate((sound, np.zeros(_REACH))))
        at = np.arange(len(hz)) * _STEP / _RATE - len(before) / rate
        now = (at > _SETTLED_S) & (at < len(after) / rate)
        found = _steady(hz[now], voiced[now])
        if found is None:
            return None
        then = at < -_SETTLED_S
        earlier = _steady(hz[then], voiced[then])
        if earlier is not None and earlier.sure > 0 and abs(earlier.pitch - found.pitch) <= _NEAR:
            return None
        return found


def _steady(hz: Samples, voiced: Samples) -> Pitched | None:
    """The middle of the pitches, surer the more of the answers lie near it; None where none is a pitch."""
    pitches = np.array([midi_of_hz(float(one)) for one in hz[voiced >= _VOICED]])
    if not len(pitches):
        return None
    middle = float(np.median(pitches))
    share = float((np.abs(pitches - middle) <= _NEAR).sum()) / len(hz)
    none, whole = _STEADY
    return Pitched(middle, min(1.0, max(0.0, (share - none) / (whole - none))))
