"""The skills a player has not met yet, by card, kept in step with the memory and not looked for at every choice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scheduler.card import CardSpec, kind_of
from scheduler.memory.committee import Memory

__all__ = ["UnmetSkills"]


class UnmetSkills:
    """What is new about each card of a deck.

    of_card: card id -> its shared skills not met yet, in the card's order; cards with none are left out.
    kinds_of: card id -> the kinds of those skills, in the same order.
    memory: what was learned; another memory needs another of these.
    """

    def __init__(self, cards: Sequence[CardSpec], memory: Memory) -> None:
        self.memory = memory
        self.of_card: dict[str, tuple[str, ...]] = {}
        self.kinds_of: dict[str, tuple[str, ...]] = {}
        self._users: dict[str, list[CardSpec]] = {}
        kinds: dict[str, str] = {}
        for card in cards:
            for skill in card.skills:
                self._users.setdefault(skill, []).append(card)
                kinds.setdefault(skill, kind_of(skill))
        self._kinds: Mapping[str, str] = kinds
        self._met = {skill for skill in self._users if skill in memory.skills}
        for card in cards:
            self._look(card)

    def touch(self, skill: str) -> None:
        """Take notice that the memory of a skill has changed."""
        if (skill in self.memory.skills) != (skill in self._met):
            self._met ^= {skill}
            for card in self._users.get(skill, ()):
                self._look(card)

    def _look(self, card: CardSpec) -> None:
        new = tuple(skill for skill in card.skills if skill not in self.memory.skills)
        if new:
            self.of_card[card.id] = new
            self.kinds_of[card.id] = tuple(self._kinds[skill] for skill in new)
        else:
            self.of_card.pop(card.id, None)
            self.kinds_of.pop(card.id, None)
