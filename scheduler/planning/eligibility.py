"""Which cards may be asked now, and which may not be asked.

`open_cards` goes by rest, focus, limits and order, then `apart_from` by what was just asked.

These rules never give way to gain. `Planner.choice` asks both; between them `paced` (first_meetings) leaves out what
would hurry new material. Placement, rounds and samples choose for themselves and ask only `TeachingRules.allows`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from scheduler.card import CardSpec, kind_of
from scheduler.planning.rules import TeachingRules
from scheduler.planning.session_so_far import SessionSoFar

__all__ = ["apart_from", "open_cards", "returns_after"]

_OTHERS_BETWEEN = 3
"""A card is not asked again before this many others, as far as the deck allows (common practice)."""

_ORDER_KNOWN_BY = 5
"""So many cards in the same order as before in a session could be played by heart (common practice)."""


def open_cards(
    cards: Sequence[CardSpec], rules: TeachingRules, so_far: SessionSoFar, new_kinds: Mapping[str, tuple[str, ...]]
) -> list[CardSpec]:
    """Cards that rest, focus, limits and a teacher's own order of introduction allow.

    new_kinds: card id -> the kinds of its shared skills not met yet; cards with none are left out.
    """
    begun = Counter(kind_of(skill) for skill in so_far.new_skills())
    room = {kind: limit - begun[kind] for kind, limit in rules.new_per_session.items()}
    if rules.rested or rules.focus is not None:
        cards = [card for card in cards if rules.allows(card.id)]
    if not new_kinds:
        return list(cards)
    full = {
        kinds
        for kinds in set(new_kinds.values())
        if any(kinds.count(kind) > left for kind, left in room.items() if kind in kinds)
    }
    free = [card for card in cards if card.id not in new_kinds]
    fresh = [card for card in cards if card.id in new_kinds and new_kinds[card.id] not in full]
    if rules.in_stage_order:
        first = min((card.stage for card in fresh), default=0)
        fresh = [card for card in fresh if card.stage == first]
    return free + fresh


def returns_after(drawn: int, others_open: int) -> int:
    """How many different others come before a card looked up or shown is asked again in a session.

    drawn: the number drawn for this return. others_open: how many other cards may be asked; where they are fewer than
    drawn, it is each of them once. At least one comes between.
    """
    return max(1, min(drawn, others_open))


def apart_from(
    cards: Sequence[CardSpec],
    asked: Sequence[str],
    by_id: Mapping[str, CardSpec],
    reach: int,
    waiting: frozenset[str] = frozenset(),
) -> list[CardSpec]:
    """The cards that share no `apart` tag with the last `reach` asked, were not asked just now and repeat no order.

    waiting: ids held back until more others have been played.
    It falls back in steps while nothing is left: cards held back come first,
    then five cards in the order of before, then the tags, and for a deck of
    one card nothing holds at all. Before each step fewer others must lie
    between a card and itself. Tags give way sooner than one card is asked
    every second time.
    """
    tags = frozenset(
        tag
        for card_id in (asked[-reach:] if reach else ())
        for tag in (by_id[card_id].apart if card_id in by_id else ())
    )
    by_heart = _next_by_heart(asked)
    nothing: frozenset[str] = frozenset()
    steps = ((waiting | by_heart, tags, 2), (by_heart, tags, 2), (nothing, tags, 2), (nothing, nothing, 1))
    for held, kept_apart, fewest in steps:
        for between in range(_OTHERS_BETWEEN, fewest - 1, -1):
            closed = held.union(asked[-between:])
            left = [c for c in cards if c.id not in closed and kept_apart.isdisjoint(c.apart)]
            if left:
                return left
    return list(cards)


def _next_by_heart(asked: Sequence[str]) -> frozenset[str]:
    """The cards that followed before, in this session, on the same four that were asked last."""
    before = _ORDER_KNOWN_BY - 1
    last = list(asked[-before:])
    return frozenset(
        asked[start + before]
        for start in range(len(asked) - before)
        if len(last) == before and list(asked[start : start + before]) == last
    )
