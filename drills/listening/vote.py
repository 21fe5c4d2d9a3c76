"""Pitch by a vote: two engines that agree are sure, and one alone is not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drills.listening.engine import Pitched

if TYPE_CHECKING:
    from drills.listening.comb import Comb
    from drills.listening.engine import Engine
    from drills.listening.heard import Samples

__all__ = ["AGREE_SEMITONES", "Vote"]

AGREE_SEMITONES = 0.5
"""Two pitches this near are one: the engines differ by a few cents on the same string."""
_COUNTS, _AGREED = 0.15, 0.5
"""From the first on an engine's answer counts; two that agree are at least as sure as the second."""
_ALONE = 0.1
"""As sure as one engine may be that nobody agrees with: too little for a pitch to be taken."""
_CONFIRMS, _CONFIRMED = 0.7, 0.3
"""From the first on the second engine confirms a pitch the comb takes for hardly a pluck, or none: of 38 such plucks of
the instruments and seeds that were tuned on 31 were, none as another pitch, and of 436 other onsets none. The pitch is
then taken, and is not sure enough to be held against a player."""


@dataclass(frozen=True, slots=True)
class Vote:
    """An engine over others: the comb, whose tuning is the steadiest, then those that are asked beside it.

    The last are asked only where two have not agreed. What the comb takes for no pluck is a note only where the first
    of the others is sure that the same pitch begins there: they were made to hear voices and other instruments too.
    """

    comb: Comb
    others: tuple[Engine, ...]
    name: str = "vote"
    version: int = 2

    @property
    def lowest(self) -> int:
        """That of the comb: what it does not hear is no note."""
        return self.comb.lowest

    @property
    def highest(self) -> int:
        """That of the comb."""
        return self.comb.highest

    def pitch_of(self, before: Samples, after: Samples, rate: int) -> Pitched | None:
        """See `Engine.pitch_of`."""
        first = self.comb.pitch_of(before, after, rate)
        if first is None:
            return None
        found, confirmed = [first], False
        for place, engine in enumerate(self.others):
            answer = engine.pitch_of(before, after, rate)
            if answer is not None:
                found.append(answer)
                confirmed |= place == 0 and _confirms(answer, first)
            if first.sure <= 0.0:
                break  # no pluck, so only the first of the others may speak for it
            if (agreed := _agreed(found)) is not None:
                return agreed
        return Pitched(first.pitch, _CONFIRMED if confirmed else min(first.sure, _ALONE))


def _confirms(answer: Pitched, weak: Pitched) -> bool:
    """Whether an answer makes a note of a pitch that was too weak to be one."""
    return weak.sure < _COUNTS and answer.sure >= _CONFIRMS and abs(answer.pitch - weak.pitch) <= AGREE_SEMITONES


def _agreed(found: Sequence[Pitched]) -> Pitched | None:
    """The pitch that two answers share, as the one that came first tells it; None where no two do."""
    counted = [one for one in found if one.sure >= _COUNTS]
    for place, one in enumerate(counted):
        for other in counted[place + 1 :]:
            if abs(one.pitch - other.pitch) <= AGREE_SEMITONES:
                return Pitched(one.pitch, max(_AGREED, one.sure, other.sure))
    return None
