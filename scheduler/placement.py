"""Placement: which few cards tell most about a player who may already know much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from scheduler.planner import Planner

__all__ = ["Placement", "placement"]


class Placement(NamedTuple):
    """What to ask first.

    cards: in the order to ask them. expected_clean: share of the whole deck
        the player is believed to play clean now. margin: one standard
        deviation of that share, 0 to 1. enough: whether more questions would
        move the estimate by less than a hundredth.
    """

    cards: tuple[str, ...]
    expected_clean: float
    margin: float
    enough: bool


def _doubt(p: float) -> float:
    """Variance of a yes-or-no answer."""
    return p * (1.0 - p)


def placement(planner: Planner, at: datetime, minutes: float = 3.0) -> Placement:
    """The most informative cards for the time given; ask again after each answer for the best order.

    A card is informative when its answer is uncertain and its skills serve
    many cards; each one taken lowers the worth of others with its skills.
    """
    rules = planner.rules
    cards = [
        c
        for c in planner.cards
        if c.id not in rules.rested and (rules.focus is None or c.id in rules.focus)
    ]
    recalls = {c.id: planner.recall(c.id, at) for c in cards}
    users: dict[str, int] = {}
    for card in cards:
        for skill in card.skills:
            users[skill] = users.get(skill, 0) + 1
    taken: dict[str, int] = {}
    for entry in planner.sitting(at).played:
        for skill in _skills_of(planner, entry.card):
            taken[skill] = taken.get(skill, 0) + 1
    asked = set(planner.sitting(at).asked())
    chosen: list[str] = []
    left = minutes * 60.0
    pool: Sequence = [c for c in cards if c.id not in asked]
    while pool and left > 0:
        best = max(
            pool,
            key=lambda c: (
                _doubt(recalls[c.id])
                * math.fsum(users[s] / (1.0 + taken.get(s, 0)) ** 2 for s in c.skills)
                + _doubt(recalls[c.id]),
                -planner._rank(c.id),
            ),
        )
        chosen.append(best.id)
        left -= planner.pace.seconds(best.seconds, recalls[best.id])
        for skill in best.skills:
            taken[skill] = taken.get(skill, 0) + 1
        pool = [c for c in pool if c.id != best.id]
    count = max(1, len(cards))
    mean = math.fsum(recalls.values()) / count
    tries = len(planner.sitting(at).played)
    margin = math.sqrt(mean * (1.0 - mean) / (tries + 3.0))
    return Placement(tuple(chosen), mean, margin, margin < 0.1)


def _skills_of(planner: Planner, card_id: str) -> tuple[str, ...]:
    return planner._skills(card_id)[:-1] if card_id in {c.id for c in planner.cards} else ()
