"""A placement asks the few cards that tell most about a player who may already know much."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, NamedTuple

from scheduler.memory.played import Played
from scheduler.statistics.counts import wilson

if TYPE_CHECKING:
    from scheduler.planning.planner import Planner

__all__ = ["MARGIN", "PlacementEstimate", "placement"]

MARGIN = 0.1
"""A tenth either way is enough to begin sessions with: what is asked in them tells the rest."""


class PlacementEstimate(NamedTuple):
    """What to ask first.

    cards: in the order to ask them. expected_clean: the share of the whole deck
        that the memory expects to come clean now. margin: half the width of
        Wilson's 95 % interval (1927) of the clean share of this session's
        first tries, and .5 before the first of them. enough: whether the
        margin is under MARGIN.

    Wilson's interval assumes cards drawn by chance, and these are chosen. They
    are spread over the skills, so that they represent the deck about as well.
    This was measured: the interval held for all of 58 simulated players, who
    knew some kinds of skill, or some cards by chance.
    """

    cards: tuple[str, ...]
    expected_clean: float
    margin: float
    enough: bool


def _uncertainty(p: float) -> float:
    """Variance of a yes-or-no answer."""
    return p * (1.0 - p)


def placement(planner: Planner, at: datetime, minutes: float = 3.0) -> PlacementEstimate:
    """The most informative cards for the time given; ask again after each answer for the best order.

    A card is informative when its answer is uncertain and its skills serve
    many cards; each one taken lowers the worth of others with its skills.
    """
    cards = [card for card in planner.cards if planner.rules.allows(card.id)]
    recalls = {c.id: planner.recall(c.id, at) for c in cards}
    users: dict[str, int] = {}
    for card in cards:
        for skill in card.skills:
            users[skill] = users.get(skill, 0) + 1
    taken: dict[str, int] = {}
    played = planner.session_so_far(at).played
    for entry in played:
        for skill in planner.card(entry.card).skills if planner.has(entry.card) else ():
            taken[skill] = taken.get(skill, 0) + 1
    asked = {entry.card for entry in played}
    chosen: list[str] = []
    left = minutes * 60.0
    pool = [c for c in cards if c.id not in asked]
    while pool and left > 0:
        best = max(
            pool,
            key=lambda c: (
                _uncertainty(recalls[c.id]) * math.fsum(users[s] / (1.0 + taken.get(s, 0)) ** 2 for s in c.skills)
                + _uncertainty(recalls[c.id]),
                -planner.rank(c.id),
            ),
        )
        chosen.append(best.id)
        left -= planner.pace.seconds(best.seconds, recalls[best.id])
        for skill in best.skills:
            taken[skill] = taken.get(skill, 0) + 1
        pool = [c for c in pool if c.id != best.id]
    count = max(1, len(cards))
    mean = math.fsum(recalls.values()) / count
    margin = _margin(played)
    return PlacementEstimate(tuple(chosen), mean, margin, margin < MARGIN)


def _margin(played: Iterable[Played]) -> float:
    """Half the width of Wilson's interval on the session's first tries, at most .5."""
    clean = [entry.clean for entry in played if entry.first]
    low, high = wilson(sum(clean), len(clean)) if clean else (0.0, 1.0)
    return (high - low) / 2.0
