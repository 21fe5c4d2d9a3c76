"""The skills a player has not met yet, by card, kept in step with the memory and not looked for at every choice."""

from __future__ import annotations

from scheduler.card import CardSpec, kind_of
from scheduler.memory.committee import Memory
from scheduler.planning.preferences import DeckIndex

__all__ = ["UnmetSkills"]


class UnmetSkills:
    """What is new about each card of a deck.

    of_card: card id -> its shared skills not met yet, in the card's order; cards with none are left out.
    kinds_of: card id -> the kinds of those skills, in the same order.
    memory: what was learned; another memory needs another of these.
    """

    def __init__(self, deck: DeckIndex, memory: Memory) -> None:
        self.memory = memory
        self.of_card: dict[str, tuple[str, ...]] = {}
        self.kinds_of: dict[str, tuple[str, ...]] = {}
        self._deck = deck
        self._met = {skill for skill in deck.users if skill in memory.skills}
        for card in deck.cards:
            self._look(card)

    def touch(self, skill: str) -> None:
        """Take notice that the memory of a skill has changed."""
        if (skill in self.memory.skills) != (skill in self._met):
            self._met ^= {skill}
            for row in self._deck.users.get(skill, ()):
                self._look(self._deck.cards[row])

    def _look(self, card: CardSpec) -> None:
        new = tuple(skill for skill in card.skills if skill not in self.memory.skills)
        if new:
            self.of_card[card.id] = new
            self.kinds_of[card.id] = tuple(map(kind_of, new))
        else:
            self.of_card.pop(card.id, None)
            self.kinds_of.pop(card.id, None)
