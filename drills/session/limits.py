"""Limits how many new skills a session brings, by the deck, the session's length and the cards there are."""

from __future__ import annotations

from collections.abc import Mapping

from scheduler.card import kind_of
from scheduler.planning.planner import Planner

__all__ = ["session_limits"]

USUAL_MINUTES = 10.0
"""What the limits on new material are meant for; shorter sessions have lower ones."""


def session_limits(planner: Planner, minutes: float) -> dict[str, int]:
    """Most new skills of each kind in a session of so many minutes; kinds not named are free."""
    return _with_room(_scaled(planner.rules.new_per_session, minutes), planner)


def _with_room(limits: dict[str, int], planner: Planner) -> dict[str, int]:
    """Limits that leave something to ask: what needs most at once, a joint of two new forms, may begin a deck.

    A limit of 0 is a teacher's word and stays.
    """
    needs: list[dict[str, int]] = []
    for card in planner.cards:
        if planner.rules.allows(card.id):
            kinds = [kind_of(skill) for skill in planner.new_skills(card.id)]
            needs.append({kind: kinds.count(kind) for kind in limits if kind in kinds})
            if all(count <= limits[kind] for kind, count in needs[-1].items()):
                return limits
    begun = [need for need in needs if all(limits[kind] for kind in need)]
    least = min(begun, key=lambda need: sum(need.values()), default=dict[str, int]())
    return {kind: max(limit, least.get(kind, 0)) for kind, limit in limits.items()}


def _scaled(limits: Mapping[str, int], minutes: float) -> dict[str, int]:
    """Limits on new shapes for a session this long; a longer one than usual gets no more.

    Other kinds keep their limits: with fewer new roots a first short session would have
    nothing to ask but one card again and again.
    """
    share = min(1.0, minutes / USUAL_MINUTES)
    return {kind: max(1, round(limit * share)) if kind == "form" and limit else limit for kind, limit in limits.items()}
