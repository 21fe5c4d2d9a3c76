"""Pitch by a model that hears many notes at once: the note that sounds after an onset and did not before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.comb import refined, spectrum_of
from drills.listening.engine import Pitched
from drills.listening.resample import at_one_level, resampled

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["Polyphonic"]

_RATE, _WINDOW, _STEP = 22_050, 43_844, 256
"""Samples a second and samples in one look of the model, and samples between two of its rows."""
_ONSET_AT = _RATE
"""Where in a look the onset is put: a second of room on either side."""
_LOWEST, _PARTS = 21, 3
"""The MIDI number of the first note of the model, A0, and parts of a semitone in its finer answer."""
_MOST_S = 0.5
"""No more sound than this is looked at before and after an onset."""
_SETTLED_S, _LONGEST_S, _SHORTEST_S = 0.03, 0.17, 0.06
"""From when on after an onset, and until when at most and at least, a note counts as sounding."""
_EARLIEST_S, _LATEST_S = -0.04, 0.07
"""Where its beginning is looked for, around the onset."""
_NEW, _BEGUN = (0.2, 0.4), (0.4, 0.7)
"""How much more likely a note sounds than before, and how likely it begins: no pluck, and surely one. On the
instruments and seeds that were tuned on 99.7 % of plucks had over .36 and .69, and of other onsets 95 % under .23 in
the first."""


@dataclass(frozen=True, slots=True)
class Polyphonic:
    """An engine over a trained model.

    model: what the model makes of one look of 43,844 samples at 22,050 a second: rows of how likely each of 88
    notes from A0 begins, how likely each sounds, and the same in thirds of a semitone.
    """

    model: Callable[[Samples], tuple[Samples, Samples, Samples]]
    name: str = "polyphonic"
    version: int = 1
    lowest: int = _LOWEST
    highest: int = _LOWEST + 87

    def pitch_of(self, before: Samples, after: Samples, rate: int) -> Pitched | None:
        """See `Engine.pitch_of`."""
        levelled = at_one_level(before, after, round(_MOST_S * rate))
        if levelled is None:
            return None
        before, after = levelled
        look = np.zeros(_WINDOW)
        then = resampled(before[::-1], rate, _RATE)[::-1]  # from the onset backwards, so that it ends there
        now = resampled(after, rate, _RATE)
        look[_ONSET_AT - len(then) : _ONSET_AT] = then
        look[_ONSET_AT : _ONSET_AT + len(now)] = now
        begins, sounds, thirds = self.model(look)
        at = (np.arange(len(sounds)) * _STEP - _ONSET_AT) / _RATE
        until = min(_LONGEST_S, max(_SHORTEST_S, len(after) / rate))
        sounding, earlier = (at > _SETTLED_S) & (at < until), (at > -_LONGEST_S + 0.02) & (at < -_SETTLED_S)
        new = np.maximum(sounds[sounding].mean(axis=0) - sounds[earlier].mean(axis=0), 0.0)
        best = int(new.argmax())
        begun = float(begins[(at > _EARLIEST_S) & (at < _LATEST_S), best].max())
        sure = _between(float(new[best]), *_NEW) * _between(begun, *_BEGUN)
        if sure <= 0.0:
            return None
        coarse = _LOWEST + _finer(thirds[sounding].mean(axis=0), best)
        size = 1 << int(np.ceil(np.log2(len(after) * 2)))
        return Pitched(refined(spectrum_of(after, size), coarse, rate, size), sure)


def _between(value: float, none: float, whole: float) -> float:
    """0 up to `none`, 1 from `whole` on, a straight line between."""
    return min(1.0, max(0.0, (value - none) / (whole - none)))


def _finer(thirds: Samples, note: int) -> float:
    """The note with its fraction, by the strengths of the thirds of a semitone around it."""
    parts = np.arange(max(0, note * _PARTS - 1), note * _PARTS + 2)
    weight = thirds[parts]
    return float((weight * parts).sum() / weight.sum()) / _PARTS if weight.sum() > 0 else float(note)
