"""The ways to choose the next card: by the planner, by a placement, or in a fixed order."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

from scheduler.planning.placement import PlacementEstimate
from scheduler.planning.planner import Planner

__all__ = ["Chooser", "from_planner", "in_order", "most_telling"]

Chooser = Callable[[datetime, frozenset[str]], "str | None"]
"""The id of the card to ask at a moment, never one of those skipped; None when there is none."""


def from_planner(planner: Planner) -> Chooser:
    """The planner's own choice. A skipped card stays away for the rest of the session; it is not rested."""
    return planner.next


def most_telling(planner: Planner, minutes: float) -> Chooser:
    """The card that tells most about a player who may already know much, each once; None when enough has been told."""

    def choose(now: datetime, skipped: frozenset[str]) -> str | None:
        found: PlacementEstimate = planner.placement(now, minutes)
        return None if found.enough else next((card for card in found.cards if card not in skipped), None)

    return choose


def in_order(cards: Iterable[str], planner: Planner) -> Chooser:
    """Cards one after another until each has been graded in this session; a lesson is followed by its own card."""
    order = tuple(cards)

    def choose(now: datetime, skipped: frozenset[str]) -> str | None:
        graded = {played.card for played in planner.session_so_far(now).played if played.first}
        return next((card for card in order if card not in skipped and card not in graded), None)

    return choose
