"""How many of some cards would come clean at a moment to come, with the range of that number."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from scheduler.intervals import Z95
from scheduler.memory.committee import Memory

__all__ = ["Outlook", "outlook"]


class Outlook(NamedTuple):
    """expected: how many of the `cards` would come clean at a first try. low, high: 95 % range of that number."""

    expected: float
    low: int
    high: int
    cards: int


def outlook(memory: Memory, cards: Iterable[Sequence[str]], at_days: float) -> Outlook:
    """The outlook if nothing is played until `at_days`, days since 1970 UTC. Asking changes nothing.

    cards: the skills of each, its own last. The range holds both chance (a sum of independent tries) and how far the
    models of the committee differ, by the law of total variance, taken as normal.
    """
    weights = memory.weights()
    means, expected, inside, count = [0.0] * len(weights), 0.0, 0.0, 0
    for skills in cards:
        count += 1
        recall = memory.recall(skills, at_days)
        expected += recall
        inside += recall * (1.0 - recall)
        for member, chance in enumerate(memory.corrected_recalls(skills, at_days)):
            means[member] += chance
    variance = inside + math.fsum([w * (m - expected) ** 2 for w, m in zip(weights, means, strict=True)])
    reach = Z95 * math.sqrt(variance)
    return Outlook(expected, max(0, math.floor(expected - reach)), min(count, math.ceil(expected + reach)), count)
