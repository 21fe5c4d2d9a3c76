"""An outlook says how many of some cards would come clean at a later moment, with the range of that number."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from scheduler.memory.committee import Memory
from scheduler.memory.curve import retention
from scheduler.planning.gain import Floats
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
    members = _Members(memory, asked)
    weights = np.array(memory.weights())
    found = []
    for at_days in moments:
        recalls = np.array([memory.recall(skills, at_days) for skills in asked])
        chances = members.chances(at_days)
        # Each member moved by what the player's correction moves their mean: `Memory.corrected_recalls`.
        means = np.clip(chances + (recalls - weights @ chances), 0.0, 1.0).sum(axis=1)
        expected = math.fsum(recalls)
        variance = float((recalls * (1.0 - recalls)).sum() + weights @ (means - expected) ** 2)
        reach = Z95 * math.sqrt(variance)
        low, high = math.floor(expected - reach), math.ceil(expected + reach)
        found.append(Outlook(expected, max(0, low), min(len(asked), high), len(asked)))
    return found


class _Members:
    """Gives each member's chance of each card. A skill that many cards share is worked out once."""

    def __init__(self, memory: Memory, cards: Sequence[Sequence[str]]) -> None:
        place = {skill: number for number, skill in enumerate(dict.fromkeys(s for card in cards for s in card))}
        kept = [memory.skills.get(skill) for skill in place]
        first = tuple(expert.first_half_life_days for expert in memory.experts)
        self._memory = memory
        self._met = np.array([one is not None for one in kept])
        self._half = np.array([one.half_lives_days if one else first for one in kept]).T
        self._last = np.array([one.last_days if one else 0.0 for one in kept])
        self._floor = np.array([one.floor if one else 0.0 for one in kept])
        self._sharing = np.array([expert.sharing for expert in memory.experts])[:, None]
        longest = max((len(card) for card in cards), default=1)
        # A card of few skills is filled up with a skill that is never forgotten, numbered last.
        self._shared = np.array(
            [[len(place)] * (longest - len(card)) + [place[skill] for skill in card[:-1]] for card in cards], dtype=int
        ).reshape(len(cards), longest - 1)
        self._has_one_skill = np.array([len(card) == 1 for card in cards], dtype=bool)
        self._own = np.array([place[card[-1]] for card in cards], dtype=int)

    def chances(self, at_days: float) -> Floats:
        """[members, cards]: the chance of a clean first try before the player's correction."""
        if not len(self._own):
            return np.zeros((len(self._sharing), 0))
        past = np.maximum(0.0, at_days - self._last)
        left = self._floor + (1.0 - self._floor) * retention(past / self._half, self._memory.powers_from)
        skills = np.where(self._met, left, self._memory.unmet_recall())
        shared = self._sharing * np.append(skills, np.ones((len(skills), 1)), axis=1)[:, self._shared].prod(axis=2)
        own = skills[:, self._own]
        chances: Floats = np.where(self._has_one_skill, own, 1.0 - (1.0 - shared) * (1.0 - own))
        return chances
