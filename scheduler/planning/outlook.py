"""An outlook says how many of some cards would come clean at a later moment, with the range of that number."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

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
    weights = np.array(memory.weights())
    found = []
    for at_days in moments:
        believed = [memory.believed(skills, at_days) for skills in asked]
        recalls = np.array([recall for recall, _ in believed])
        chances = np.array([members for _, members in believed]).reshape(len(asked), len(weights)).T
        # Each member moved by what the player's correction moves their mean: `Memory.corrected_recalls`.
        means = np.clip(chances + (recalls - weights @ chances), 0.0, 1.0).sum(axis=1)
        expected = math.fsum(recalls)
        variance = float((recalls * (1.0 - recalls)).sum() + weights @ (means - expected) ** 2)
        reach = Z95 * math.sqrt(variance)
        low, high = math.floor(expected - reach), math.ceil(expected + reach)
        found.append(Outlook(expected, max(0, low), min(len(asked), high), len(asked)))
    return found
