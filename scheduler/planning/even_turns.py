"""How long a card has waited weighs its gain for members with a power curve, and new cards wait while others are weak.

Simulated players who forget by a power curve learn nearly as much from plain rotation over the right number of cards
as from any planner, and a planner that goes by gain alone repeats the weakest cards too often. So members with a
power curve weigh each card by how long it has waited. Who forgets slowly learns most by even turns of all cards met;
who forgets most of a new card by the next day learns most from few cards, each in its own time. The constants were
chosen by the recall of simulated players, see `scheduler.evaluate`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["FAST_BELOW_DAYS", "held_back", "own_gaps_waited", "turns_waited"]

Floats = npt.NDArray[np.float64]

FAST_BELOW_DAYS = 1.0
"""A member whose first half-life is below this has forgotten most of a new card by the next day."""

_CARDS_A_DAY = 25.0
"""Cards in ten minutes at 24 seconds a card, misses among them."""

_LEAST_TURNS, _MOST_TURNS = 0.05, 3.0
"""A card just played keeps a twentieth of its gain, and one left for long counts no more than three turns."""

_LEAST_GAP = 0.5
"""The shortest gap a card is given, in practice days: it comes once a day, never twice."""

_HELD_BELOW = 0.35
"""New cards are held back while the mean recall of the cards met, some days ahead, is below this."""

_HELD_EXPONENT = 3.0


def turns_waited(ages_days: Floats, every_days: float) -> Floats:
    """How long each card has waited, in turns of all cards met, .05 to 3; 1 for a card never met.

    ages_days: days since each card was played, nan for one never met. every_days: days from one practice day to the
    next. A turn is the time in which every card met comes once, and never less than one practice day.
    """
    met = ~np.isnan(ages_days)
    turn = every_days * max(1.0, float(met.sum()) / _CARDS_A_DAY)
    return _waited(ages_days, turn)


def own_gaps_waited(ages_days: Floats, half_lives_days: Floats, every_days: float) -> Floats:
    """How long each card has waited, in half-lives of its own, .05 to 3; 1 for a card never met.

    half_lives_days: of each card's own skill, to each member [members, cards]. A half-life under half a practice day
    counts as that.
    """
    return _waited(ages_days, np.maximum(half_lives_days, _LEAST_GAP * every_days))


def _waited(ages_days: Floats, gap_days: float | Floats) -> Floats:
    met = ~np.isnan(ages_days)
    return np.where(met, np.clip(ages_days / gap_days, _LEAST_TURNS, _MOST_TURNS), 1.0)


def held_back(recall_soon: Floats) -> Floats:
    """What the gain of a card never met counts for, 0 to 1, to members that share nothing.

    recall_soon: each member's mean recall of the cards met, a day or two ahead. Nothing carries a new card to a
    member without sharing, so that each one more makes all others come more seldom.
    """
    held: Floats = np.minimum(1.0, recall_soon / _HELD_BELOW) ** _HELD_EXPONENT
    return held
