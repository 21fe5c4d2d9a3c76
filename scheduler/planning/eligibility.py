"""Which cards the teaching rules leave open now, and which they put first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence

from scheduler.card import CardSpec, kind_of
from scheduler.planning.rules import TeachingRules
from scheduler.planning.session_so_far import SessionSoFar

__all__ = ["apart_from", "open_cards"]

_OTHERS_BETWEEN = 3
"""A card is not asked again before this many others, as far as the deck allows (handbook, section B7)."""


def _shown_today(rules: TeachingRules, new: Collection[str], met_today: Callable[[str], bool]) -> bool:
    """Whether a look-alike of one of these new skills was first met today, or comes with it."""
    for skill in new:
        alikes = rules.look_alikes.get(skill, frozenset())
        if any(other != skill and (met_today(other) or other in new) for other in alikes):
            return True
    return False


def open_cards(
    cards: Sequence[CardSpec],
    rules: TeachingRules,
    sitting: SessionSoFar,
    new_of: Mapping[str, tuple[str, ...]],
    met_today: Callable[[str], bool],
    look_alikes: bool = True,
) -> list[CardSpec]:
    """Cards that rest, focus, limits, order of introduction and look-alikes allow.

    new_of: card id -> its shared skills not met yet; cards with none are
    left out. met_today: whether a skill was first met on this practice day.
    """
    limits = rules.new_per_session
    begun = Counter(kind_of(skill) for skill in sitting.new_skills())
    room = {kind: limit - begun[kind] for kind, limit in limits.items()}
    focus, rested = rules.focus, rules.rested
    if rested or focus is not None:
        cards = [c for c in cards if c.id not in rested and (focus is None or c.id in focus)]
    free = [card for card in cards if card.id not in new_of]
    unmet = [card for card in cards if card.id in new_of] if new_of else []
    if rules.in_stage_order:
        unmet.sort(key=lambda card: card.stage)
    fresh: list[CardSpec] = []
    for card in unmet:
        if fresh and rules.in_stage_order and card.stage > fresh[0].stage:
            break
        new = new_of[card.id]
        if limits:
            kinds = [kind_of(skill) for skill in new]
            if any(kinds.count(kind) > left for kind, left in room.items() if kind in kinds):
                continue
        if look_alikes and rules.look_alikes and _shown_today(rules, new, met_today):
            continue
        fresh.append(card)
    return free + fresh


def apart_from(
    cards: Sequence[CardSpec],
    asked: Sequence[str],
    by_id: Mapping[str, CardSpec],
    reach: int,
) -> list[CardSpec]:
    """The cards that share no `apart` tag with the last `reach` cards asked and were not asked just now.

    Falls back in steps when nothing is left: a shorter memory for the card
    itself first, then the tags, then (a deck of one card) nothing at all.
    """
    tags = {
        tag
        for card_id in (asked[-reach:] if reach else ())
        for tag in (by_id[card_id].apart if card_id in by_id else ())
    }
    for between in range(_OTHERS_BETWEEN, 0, -1):
        just = set(asked[-between:])
        left = [c for c in cards if c.id not in just and tags.isdisjoint(c.apart)]
        if left:
            return left
    for between in range(_OTHERS_BETWEEN, 0, -1):
        just = set(asked[-between:])
        left = [c for c in cards if c.id not in just]
        if left:
            return left
    return list(cards)
