"""The teaching rules leave some cards open to be asked now, and put some of these first.

Every reason why a card may not be asked now stands here. Two of them hold at
any time, rest and focus: `TeachingRules.allows` decides on these.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import NamedTuple

from scheduler.card import CardSpec, kind_of
from scheduler.days.practice_day import practice_day_of_days
from scheduler.memory.committee import Memory
from scheduler.planning.rules import TeachingRules
from scheduler.planning.session_so_far import SessionSoFar

__all__ = ["RETURNS", "Asking", "apart_from", "choices_now", "open_cards"]

RETURNS = "returns"
"""The rule that a card looked up comes back in the same session; it leaves nothing to choose."""

_OTHERS_BETWEEN = 3
"""A card is not asked again before this many others, as far as the deck allows."""

_GAP_SHARE = 0.8
"""A firm skill is put first from this part of the longest gap on, so that it is played before the gap is full."""

_GAP_ALIKE_DAYS = 0.5
"""Cards whose gaps differ by no more than this are equally due."""


class Asking(NamedTuple):
    """What the rules look at when a card is asked for.

    at_days: days since 1970-01-01 UTC. offset_seconds: local time minus UTC.
    sitting: the session so far. memory, missed_on: what was learned, see
    `Learner`. new_of: card id -> its shared skills not met yet; cards with
    none are left out.
    """

    at_days: float
    offset_seconds: float
    sitting: SessionSoFar
    memory: Memory
    missed_on: Mapping[str, int]
    new_of: Mapping[str, tuple[str, ...]]


def choices_now(
    cards: Sequence[CardSpec], by_id: Mapping[str, CardSpec], rules: TeachingRules, now: Asking
) -> tuple[list[CardSpec], str | None]:
    """The cards to choose from by gain, and the rule that put them first (see `Reasons.rule`) or None.

    When rules exclude every card, the tags kept apart are relaxed first, then
    look-alikes; never rest, focus or limits.
    """
    day = practice_day_of_days(now.at_days, now.offset_seconds, rules.day_starts_at_hour)

    def met_today(skill: str) -> bool:
        kept = now.memory.skills.get(skill)
        if kept is None:
            return False
        return practice_day_of_days(kept.first_days, now.offset_seconds, rules.day_starts_at_hour) == day

    choices = open_cards(cards, rules, now.sitting, now.new_of, met_today)
    if not choices and rules.look_alikes:
        choices = open_cards(cards, rules, now.sitting, now.new_of, met_today, look_alikes=False)
    if not choices:
        return [], None
    asked = now.sitting.asked()
    choices = apart_from(choices, asked, by_id, rules.apart_reach)
    if rules.miss_returns_after is not None:
        open_by_id = {card.id: card for card in choices}
        for card_id in now.sitting.returning(rules.miss_returns_after):
            if card_id in open_by_id:
                return [open_by_id[card_id]], RETURNS
    # Rules put only every second card first, so that gain chooses the other half of a session.
    if not asked or len(asked) % 2 == 1:
        if due := _after_longest_gap(choices, rules, now):
            return due, "gap"
        if rules.ask_again_next_day and (due := [c for c in choices if now.missed_on.get(c.id, day) < day]):
            return due, "again"
    return choices, None


def _after_longest_gap(choices: Sequence[CardSpec], rules: TeachingRules, now: Asking) -> list[CardSpec]:
    """The cards with the firm skill that has gone longest without practice, when that is nearly too long."""
    if not rules.longest_gap_kinds:
        return []
    from scheduler.memory.states import is_firm

    limit = rules.longest_gap_days * _GAP_SHARE
    gaps = {
        skill: now.at_days - kept.last_days
        for skill, kept in now.memory.skills.items()
        if now.at_days - kept.last_days > limit
        and kind_of(skill) in rules.longest_gap_kinds
        and is_firm(now.memory, skill)
    }
    if not gaps:
        return []
    longest = {c.id: max((gaps.get(s, 0.0) for s in c.skills), default=0.0) for c in choices}
    top = max(longest.values())
    return [c for c in choices if longest[c.id] >= top - _GAP_ALIKE_DAYS] if top > 0.0 else []


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
    if rules.rested or rules.focus is not None:
        cards = [card for card in cards if rules.allows(card.id)]
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
