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
    means, inside, count = [0.0] * len(weights), [0.0] * len(weights), 0
    known: dict[str, list[float]] = {}
    for skills in cards:
        for skill in skills:
            if skill not in known:
                known[skill] = memory.skill_recalls(skill, at_days)
        count += 1
        for expert, recall in enumerate(memory._card_recalls([known[skill] for skill in skills])):
            means[expert] += recall
            inside[expert] += recall * (1.0 - recall)
    expected = math.fsum(w * m for w, m in zip(weights, means, strict=True))
    variance = math.fsum(w * (v + (m - expected) ** 2) for w, m, v in zip(weights, means, inside, strict=True))
    reach = Z95 * math.sqrt(variance)
    return Outlook(expected, max(0, math.floor(expected - reach)), min(count, math.ceil(expected + reach)), count)
