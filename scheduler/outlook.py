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

    cards: the skills of each, its own last. The range holds both chance (a sum of independent tries at what the memory
    expects) and how far the members of the committee differ about the sum, taken together as normal.
    """
    weights = memory.weights()
    by_member = [0.0] * len(weights)
    recalls = []
    known: dict[str, list[float]] = {}
    for skills in cards:
        for skill in skills:
            if skill not in known:
                known[skill] = memory.skill_recalls(skill, at_days)
        recalls.append(memory.recall(skills, at_days))
        for member, recall in enumerate(memory.member_recalls(skills, at_days, [known[skill] for skill in skills])):
            by_member[member] += recall
    expected, count = math.fsum(recalls), len(recalls)
    mean = math.fsum(w * m for w, m in zip(weights, by_member, strict=True))
    apart = math.fsum(w * (m - mean) ** 2 for w, m in zip(weights, by_member, strict=True))
    reach = Z95 * math.sqrt(math.fsum(p * (1.0 - p) for p in recalls) + apart)
    return Outlook(expected, max(0, math.floor(expected - reach)), min(count, math.ceil(expected + reach)), count)
