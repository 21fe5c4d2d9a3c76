"""What a card's id says of it, also for cards of decks that are gone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

__all__ = ["CardParts", "card_parts"]


@dataclass(frozen=True, slots=True)
class CardParts:
    """The parts of a card's id, as text: see `drills.cards.card`."""

    tuning: str
    form: str
    root: str
    quality: str
    strings: str
    kind: str

    @property
    def strings_name(self) -> str:
        """As shown: ``6-5-4``."""
        return self.strings if "-" in self.strings else "-".join(self.strings)


@lru_cache(maxsize=16384)
def card_parts(card: str) -> CardParts | None:
    """The parts of a card's id, or None when it is not one of ours."""
    parts = card.split("/")
    return CardParts(*parts) if len(parts) == 6 else None
