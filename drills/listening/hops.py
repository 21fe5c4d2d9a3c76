"""Cuts sound into hops of one length, however it comes in, so that everything after it is the same to the last bit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from drills.listening.heard import Frame, Samples

__all__ = ["HOP_S", "Hops", "hop_size"]

HOP_S = 0.005
"""Seconds between two looks at the sound: half of the 10 ms within which two plucks are heard as one."""

_LOST_S = 0.02
"""A jump of the capture time by more than this means that sound was lost on the way."""


def hop_size(rate: int) -> int:
    """Samples in one hop at a rate in samples a second."""
    return round(rate * HOP_S)


@dataclass(frozen=True, slots=True, eq=False)
class Hops:
    """Sound that has not filled a hop yet.

    rate: samples a second. rest: samples waiting. taken: samples that have gone on in hops. lost: how often the
    capture time jumped. late_s: how far it has jumped in all.
    """

    rate: int
    rest: Samples
    taken: int = 0
    lost: int = 0
    late_s: float = 0.0

    @classmethod
    def start(cls, rate: int) -> Hops:
        """Nothing taken yet."""
        return cls(rate, np.zeros(0))

    def take(self, frame: Frame) -> tuple[Hops, Iterator[Samples]]:
        """What waits after a frame, and the hops that the frame has filled."""
        size = hop_size(self.rate)
        late = frame.at_s - (self.taken + len(self.rest)) / self.rate
        jumped = abs(late - self.late_s) > _LOST_S
        samples = np.concatenate((self.rest, np.asarray(frame.samples, dtype=np.float64)))
        whole = len(samples) // size
        hops = (samples[start : start + size].copy() for start in range(0, whole * size, size))
        rest, taken = samples[whole * size :].copy(), self.taken + whole * size
        return Hops(self.rate, rest, taken, self.lost + jumped, late if jumped else self.late_s), hops
