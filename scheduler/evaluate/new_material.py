"""The limits on new material in a session, held by the rivals as the rules hold them for the planner."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from scheduler.card import kind_of
from scheduler.evaluate.simulated_deck import SimulatedDeck

__all__ = ["NewMaterial"]


class NewMaterial:
    """Which cards of a deck are closed in a session, since they would bring more that is new than the limits allow.

    limits: kind of skill -> most new skills of that kind in a session.
    """

    def __init__(self, deck: SimulatedDeck, limits: Mapping[str, int]) -> None:
        self._limits = limits
        self._skills = [tuple(skill for skill in card.skills if kind_of(skill) in limits) for card in deck.cards]
        self._met: set[str] = set()
        self.begin()

    def begin(self) -> None:
        """A new session begins."""
        self._begun: Counter[str] = Counter()

    def closed(self) -> frozenset[int]:
        """Numbers of the cards with too much that is new."""
        full = []
        for number, skills in enumerate(self._skills):
            needs = Counter(kind_of(skill) for skill in skills if skill not in self._met)
            if any(self._begun[kind] + count > self._limits[kind] for kind, count in needs.items()):
                full.append(number)
        return frozenset(full)

    def record(self, card: int) -> None:
        """A card was played; its skills are met."""
        for skill in self._skills[card]:
            if skill not in self._met:
                self._met.add(skill)
                self._begun[kind_of(skill)] += 1
