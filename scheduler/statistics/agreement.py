"""A player's own grades against what a machine heard of the same attempts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.grade import Grade
from scheduler.log.events import Witness
from scheduler.review import Review
from scheduler.statistics.counts import wilson

__all__ = ["FEWEST_HEARD", "NOTHING_HEARD", "Agreement", "agreement_of"]

FEWEST_HEARD = 20
"""With fewer pairs nothing is said: the interval of 10 of 10 still reaches down to 72 in 100 (`wilson`)."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """Pairs of an own and a proposed grade: how many were the same, and where the own one lay higher or lower."""

    same: int = 0
    higher: int = 0
    lower: int = 0

    @property
    def pairs(self) -> int:
        """All of them."""
        return self.same + self.higher + self.lower

    @property
    def interval(self) -> tuple[float, float] | None:
        """What the share of the same is compatible with, 19 times in 20; None under FEWEST_HEARD pairs."""
        return wilson(self.same, self.pairs) if self.pairs >= FEWEST_HEARD else None


NOTHING_HEARD = Agreement()


def agreement_of(pairs: Iterable[tuple[Witness, Review]]) -> Agreement:
    """The pairs that tell something: first attempts with a proposal that the player saw and answered.

    A proposal taken without a word is no grade of the player's. What was done at the set pace and what was done
    slowly count as one, since a machine knows the pace only where it gave it.
    """
    counts = [0, 0, 0]
    for witness, review in pairs:
        if witness.proposed is None or witness.how == "accepted" or review.attempt != "first":
            continue
        own, heard = min(review.grade, Grade.CLEAN), min(witness.proposed, Grade.CLEAN)
        counts[(own > heard) - (own < heard)] += 1
    return Agreement(*counts)
