"""A player's own grades against what a machine heard of the same attempts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from scheduler.grade import Grade
from scheduler.log.events import Witness
from scheduler.review import Review
from scheduler.statistics.counts import wilson

__all__ = ["FEWEST_HEARD", "NOTHING_HEARD", "Agreement", "agreement_of", "mostly_same"]

FEWEST_HEARD = 20
"""With fewer pairs nothing is said: the interval of 10 of 10 still reaches down to 72 in 100 (`wilson`)."""

_LATELY, _MOSTLY = 20, 18


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
    for own, heard in _told(pairs):
        counts[(own > heard) - (own < heard)] += 1
    return Agreement(*counts)


def mostly_same(pairs: Sequence[tuple[Witness, Review]]) -> bool:
    """Whether of the last 20 pairs that tell something, oldest first, 18 or more are the same."""
    lately = list(_told(pairs))[-_LATELY:]
    return len(lately) == _LATELY and sum(own == heard for own, heard in lately) >= _MOSTLY


def _told(pairs: Iterable[tuple[Witness, Review]]) -> Iterator[tuple[Grade, Grade]]:
    """Own and proposed grade of each pair that tells something."""
    for witness, review in pairs:
        if witness.proposed is not None and witness.how != "accepted" and review.attempt == "first":
            yield min(review.grade, Grade.CLEAN), min(witness.proposed, Grade.CLEAN)
