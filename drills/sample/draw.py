"""Draws the cards of a blind sample: by chance alone, from the cards thought firm."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from random import Random

from drills.errors import DeckError
from scheduler.planning.planner import Planner
from scheduler.statistics.counts import FEWEST_TRIES

__all__ = ["SAMPLE_CARDS", "Draw", "draw_sample"]

SAMPLE_CARDS = 20
"""Cards drawn: at fifteen seconds each, five minutes."""


@dataclass(frozen=True, slots=True)
class Draw:
    """The ids drawn, in the order to ask them, from how many thought `firm`.

    The order is by chance too, so that what was asked when a player stops early is a sample still.
    """

    cards: tuple[str, ...]
    firm: int


def draw_sample(
    planner: Planner, cards: Iterable[str], now: datetime, day: date, owner: str, count: int = SAMPLE_CARDS
) -> Draw:
    """Draws without putting back; the same player, day and cards give the same draw.

    owner: tells one player's draws from another's, such as the random id of the log. Cards that the
    rules do not allow, rested ones above all, are left out.
    Raises DeckError when fewer than five cards are thought firm.
    """
    allowed = planner.rules.allows
    firm = sorted(card for card in cards if allowed(card) and planner.card_state(card, now) == "firm")
    if len(firm) < FEWEST_TRIES:
        few = "1 card is firm" if len(firm) == 1 else f"{len(firm)} cards are firm"
        so_far = f"{few}, and a sample draws from {FEWEST_TRIES} or more" if firm else "No card is firm yet"
        raise DeckError(f"{so_far}. Come back after some weeks.")
    chosen = Random(f"{owner} {day.isoformat()}").sample(firm, min(count, len(firm)))
    return Draw(tuple(chosen), len(firm))
