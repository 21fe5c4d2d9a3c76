"""Decks for the evaluation: cards made of forms, roots and spellings, which are only names of skills."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.card import CardSpec

__all__ = ["SimulatedDeck", "material"]


@dataclass(frozen=True)
class SimulatedDeck:
    """A deck and its skills as arrays.

    cards: as the planner sees them. skill_of: [cards, skills of a card],
    indices into `names`; the card's own skill is the last column.
    """

    cards: tuple[CardSpec, ...]
    names: tuple[str, ...]
    skill_of: NDArray[np.intp]

    @property
    def count(self) -> int:
        """How many cards there are."""
        return len(self.cards)


def material(qualities: int = 4, sets: int = 3, keys: int = 12) -> SimulatedDeck:
    """keys x qualities x sets cards.

    The first two sets share their forms, every further one has its own; roots
    are a key on a set, spellings a key and a quality.
    Cards of one root on one set are kept apart, and those of one quality on
    one set are alike, and every set is an area; the order of introduction goes by set, then quality.
    """
    cards: list[CardSpec] = []
    rows: list[list[int]] = []
    index: dict[str, int] = {}
    for s in range(sets):
        for q in range(qualities):
            for k in range(keys):
                skills = (f"form:q{q}-l{max(0, s - 1)}", f"root:k{k}-s{s}", f"spell:k{k}-q{q}")
                card = CardSpec(
                    f"k{k}/q{q}/s{s}", skills, stage=s * qualities + q, apart=skills[1:2], alike=(f"q{q}-s{s}",),
                    area=f"s{s}",
                )  # fmt: skip
                cards.append(card)
                rows.append([index.setdefault(n, len(index)) for n in (*skills, f"card:{card.id}")])
    return SimulatedDeck(tuple(cards), tuple(index), np.array(rows))
