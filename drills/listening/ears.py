"""Listens: frames of sound go in one by one, and what was heard comes out as soon as it is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.comb import Comb
from drills.listening.heard import Frame, Heard
from drills.listening.hops import Hops
from drills.listening.level import Level
from drills.listening.onsets import Onsets
from drills.listening.timbre import Timbre, timbre_of

if TYPE_CHECKING:
    from drills.listening.engine import Engine
    from drills.listening.heard import Samples

__all__ = ["Ears", "hear"]

_SKIP_S = 0.012
"""The noise of the plectrum, left out of the pitch."""
_LONGEST_S, _SHORTEST_S = 0.19, 0.06
"""How much sound a pitch is taken from: usually, and at least before the next onset."""
_CLEAR_S = 0.008
"""Distance of what sounded before from the onset."""
_FIRST_S = 0.1
"""Nothing is claimed of what begins before this: the device is only waking up."""


@dataclass(frozen=True, slots=True, eq=False)
class Ears:
    """All that is remembered of a take. Make one with `start`, and a new one with each `take`.

    waiting: onsets in seconds whose pitch is not known yet. heard: everything known so far, oldest first.
    timbres: what kind of sound the pitched ones were.
    """

    rate: int
    engine: Engine
    hops: Hops
    onsets: Onsets
    level: Level
    past: Samples
    longest_s: float
    waiting: tuple[float, ...] = ()
    heard: tuple[Heard, ...] = ()
    timbres: tuple[Timbre, ...] = ()

    @classmethod
    def start(cls, rate: int, engine: Engine | None = None, longest_s: float = _LONGEST_S) -> Ears:
        """Ears that have heard nothing.

        rate: samples a second, 16,000 to 192,000. longest_s: how much sound a pitch is taken from at most; the more,
        the finer and the later. Raises ValueError for another rate.
        """
        if not 16_000 <= rate <= 192_000:
            raise ValueError(f"rate {rate}: expected 16000 to 192000 samples a second")
        past = np.zeros(round((2 * longest_s + 0.3) * rate))
        return cls(rate, engine or Comb(), Hops.start(rate), Onsets.start(rate), Level.start(), past, longest_s)

    @property
    def now_s(self) -> float:
        """Seconds of sound taken in."""
        return self.hops.taken / self.rate

    def take(self, frame: Frame) -> Ears:
        """The ears after one more frame."""
        hops, cut = self.hops.take(frame)
        ears = self
        taken = self.hops.taken
        for hop in cut:
            taken += len(hop)
            ears = ears.after_hop(hop, taken)
        return replace(ears, hops=hops)

    def finish(self) -> Ears:
        """The ears after the last frame: what waits for more sound is decided with a silence after it."""
        silence = np.zeros(round((self.longest_s + 0.1) * self.rate))
        at = (self.hops.taken + len(self.hops.rest)) / self.rate
        ended = self.take(Frame(at, silence))
        return replace(ended, level=self.level, hops=replace(ended.hops, lost=self.hops.lost))

    def after_hop(self, hop: Samples, taken: int) -> Ears:
        """The ears after one more hop of sound, `taken` samples after the beginning of the take at its end."""
        onsets, found = self.onsets.take(hop)
        past = np.concatenate((self.past[len(hop) :], hop))
        waiting = (*self.waiting, found) if found is not None else self.waiting
        heard, timbres = self.heard, self.timbres
        now = taken / self.rate
        while waiting:
            following = waiting[1] if len(waiting) > 1 else None
            end = waiting[0] + _SKIP_S + self.longest_s
            if following is not None:
                end = min(end, following - _CLEAR_S)
            if now < end:
                break
            one, timbre = self._decided(waiting[0], end, past, now)
            heard, timbres = (*heard, one), (*timbres, timbre) if timbre else timbres
            waiting = waiting[1:]
        return replace(
            self, onsets=onsets, past=past, waiting=waiting, heard=heard, timbres=timbres, level=self.level.take(hop)
        )

    def _decided(self, onset: float, end: float, past: Samples, now: float) -> tuple[Heard, Timbre | None]:
        nothing = Heard(onset, None, 0.0, 0.0), None
        start = onset + _SKIP_S
        length = round((end - start) * self.rate)
        if onset < _FIRST_S or length < _SHORTEST_S * self.rate:
            return nothing
        first = len(past) - round((now - start) * self.rate)
        last_before = len(past) - round((now - onset + _CLEAR_S) * self.rate)
        if first < 0 or last_before - length < 0:
            return nothing
        after, before = past[first : first + length], past[last_before - length : last_before]
        found = self.engine.pitch_of(before, after, self.rate)
        if found is None:
            return nothing
        nearest = round(found.pitch)
        heard = Heard(onset, nearest, round((found.pitch - nearest) * 100, 3), found.sure)
        return heard, timbre_of(after, self.rate) if found.sure > 0 else None


def hear(frames: Iterable[Frame], rate: int, engine: Engine | None = None) -> Ears:
    """The ears after a whole take."""
    ears = Ears.start(rate, engine)
    for frame in frames:
        ears = ears.take(frame)
    return ears.finish()
