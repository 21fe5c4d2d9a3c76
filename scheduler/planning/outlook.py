"""An outlook says how many of some cards would come clean at a later moment, with the range of that number."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from scheduler.memory.committee import Memory
from scheduler.statistics.counts import Z95

__all__ = ["Outlook", "outlooks"]


class Outlook(NamedTuple):
    """How many cards would come clean at a first try.

    expected: that number on average. low, high: its 95 % range. cards: how many were asked about.
    """

    expected: float
    low: int
    high: int
    cards: int


def outlooks(memory: Memory, cards: Iterable[Sequence[str]], moments: Iterable[float]) -> list[Outlook]:
    """The outlook for each moment if nothing is played until then. Asking changes nothing.

    cards: the skills of each, its own last. moments: in days since 1970 UTC. The range holds both chance (a sum of
    independent tries) and how far the models of the committee differ, by the law of total variance, taken as normal.
    """
    asked = [tuple(skills) for skills in cards]
    weights = memory.weights()
    found = []
    for at_days in moments:
        corrected = [memory.corrected(skills, at_days) for skills in asked]
        recalls = [recall for recall, _ in corrected]
        expected = math.fsum(recalls)
        means = [math.fsum(members[number] for _, members in corrected) for number in range(len(weights))]
        variance = math.fsum(p * (1.0 - p) for p in recalls)
        variance += math.fsum(w * (mean - expected) ** 2 for w, mean in zip(weights, means, strict=True))
        reach = Z95 * math.sqrt(variance)
        low, high = math.floor(expected - reach), math.ceil(expected + reach)
        found.append(Outlook(expected, max(0, low), min(len(asked), high), len(asked)))
    return found
