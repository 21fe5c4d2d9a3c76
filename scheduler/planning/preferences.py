"""A teacher's preferences weigh against gain: each rule is a factor on what playing a card gains."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from scheduler.card import CardSpec, kind_of
from scheduler.days.practice_day import practice_day_of_days
from scheduler.memory.committee import Memory
from scheduler.planning.gain import Floats
from scheduler.planning.rules import TeachingRules
from scheduler.planning.session_so_far import SessionSoFar

__all__ = ["AGAIN", "APART", "FRAGILE", "GAP", "LOOK_ALIKES", "ORDER", "RETURNS", "Asking", "DeckIndex", "weigh"]

ORDER, AGAIN, RETURNS = "order", "again", "returns"
LOOK_ALIKES, APART, GAP, FRAGILE = "look_alikes", "apart", "gap", "fragile"

_MOST_STAGES = 6
"""From so many stages ahead on, new material is no farther off: the end of a long deck is not closed for ever."""

_GAP_SHARE = 0.8
"""A firm skill gains more from this part of the longest gap on, so that it is played before the gap is full."""

_LEAST_RECALL = 0.01
"""Cards surely forgotten are equally fragile: a chance under a hundredth counts little less than none."""

_LAST = 1e-6
"""The factor of cards that wait until no other is open."""


class Asking(NamedTuple):
    """What the rules look at when a card is asked for.

    at_days: days since 1970-01-01 UTC. offset_seconds: local time minus UTC.
    so_far: the session so far. memory, missed_on: what was learned, see
    `Learner`. new_of: card id -> its shared skills not met yet; cards with
    none are left out. ready: ids looked up in this session that may return.
    recalls: the chance of a clean first try of each card of the deck, 0 to 1.
    """

    at_days: float
    offset_seconds: float
    so_far: SessionSoFar
    memory: Memory
    missed_on: Mapping[str, int]
    new_of: Mapping[str, tuple[str, ...]]
    recalls: Floats
    ready: Collection[str] = ()


class DeckIndex:
    """Where the cards of a deck stand: rows by id, by skill and by tag."""

    def __init__(self, cards: Sequence[CardSpec]) -> None:
        self.cards = cards
        self.rows = {card.id: row for row, card in enumerate(cards)}
        self.stages = np.array([card.stage for card in cards])
        self.users: dict[str, list[int]] = {}
        self.alike: dict[str, list[int]] = {}
        for row, card in enumerate(cards):
            for skill in card.skills:
                self.users.setdefault(skill, []).append(row)
            for tag in card.alike:
                self.alike.setdefault(tag, []).append(row)
        self._of_kinds: dict[frozenset[str], list[str]] = {}

    def skills_of(self, kinds: Collection[str]) -> list[str]:
        """The skills of some kinds that the deck needs; looked up once for the same kinds."""
        asked = frozenset(kinds)
        if asked not in self._of_kinds:
            self._of_kinds[asked] = [skill for skill in self.users if kind_of(skill) in asked]
        return self._of_kinds[asked]


def weigh(deck: DeckIndex, choices: Floats, rules: TeachingRules, now: Asking) -> dict[str, Floats]:
    """The factor of each rule that treats the choices unlike, one for each row of `choices`, by the rule's name."""
    day = practice_day_of_days(now.at_days, now.offset_seconds, rules.day_starts_at_hour)
    found = {
        ORDER: _order(deck, choices, rules, now),
        AGAIN: _raised(
            deck, rules.again_weight, [c for c, missed in now.missed_on.items() if missed < day and c in deck.rows]
        ) if rules.again_weight else None,
        RETURNS: _raised(deck, rules.return_weight, _returning(rules, now)) if rules.return_weight else None,
        LOOK_ALIKES: _look_alikes(deck, rules, now, day),
        APART: _apart(deck, rules, now),
        GAP: _gap(deck, rules, now),
        FRAGILE: (now.recalls + _LEAST_RECALL) ** -rules.fragile_weight if rules.fragile_weight else None,
    }  # fmt: skip
    factors = {rule: factor[choices] for rule, factor in found.items() if factor is not None}
    return {rule: factor for rule, factor in factors.items() if factor.min() < factor.max()}


def _raised(deck: DeckIndex, weight: float, ids: Collection[str]) -> Floats | None:
    if not ids:
        return None
    factor = np.ones(len(deck.cards))
    factor[[deck.rows[card_id] for card_id in ids]] = 1.0 + weight
    return factor


def _returning(rules: TeachingRules, now: Asking) -> Collection[str]:
    """Cards that may return now, unless returns have had their share of the session."""
    had = now.so_far.returned()
    return now.ready if not had or had < rules.return_share * len(now.so_far.asked()) else ()


def _order(deck: DeckIndex, choices: Floats, rules: TeachingRules, now: Asking) -> Floats | None:
    if not (rules.order_weight and now.new_of):
        return None
    fresh = np.zeros(len(deck.cards), dtype=bool)
    fresh[[deck.rows[card_id] for card_id in now.new_of]] = True
    new = choices[fresh[choices]]
    factor = np.ones(len(deck.cards))
    if len(new):
        ahead = np.unique(deck.stages[new], return_inverse=True)[1]
        factor[new] = np.exp(-rules.order_weight * np.minimum(ahead, _MOST_STAGES))
    return factor


def _look_alikes(deck: DeckIndex, rules: TeachingRules, now: Asking, day: int) -> Floats | None:
    if not (rules.look_alike_weight and rules.look_alikes and now.new_of):
        return None
    skills = now.memory.skills
    factor = np.ones(len(deck.cards))
    lowered = math.exp(-rules.look_alike_weight)

    def met_today(skill: str) -> bool:
        kept = skills.get(skill)
        return kept is not None and day == practice_day_of_days(
            kept.first_days, now.offset_seconds, rules.day_starts_at_hour
        )

    for skill, alikes in rules.look_alikes.items():
        if skill in deck.users and skill not in skills and any(other != skill and met_today(other) for other in alikes):
            factor[deck.users[skill]] = lowered
    for card_id, new in now.new_of.items():
        if len(new) > 1 and any(other in new for skill in new for other in rules.look_alikes.get(skill, ())):
            factor[deck.rows[card_id]] = lowered
    return factor


def _apart(deck: DeckIndex, rules: TeachingRules, now: Asking) -> Floats | None:
    asked = [deck.rows[card_id] for card_id in now.so_far.asked() if card_id in deck.rows]
    if not rules.apart_weight or not asked:
        return None
    tags = [frozenset(deck.cards[row].alike) for row in asked]
    had = sum(not before.isdisjoint(after) for before, after in pairwise(tags))
    factor = np.ones(len(deck.cards))
    lowered = math.exp(-rules.apart_weight) if had < rules.apart_share * len(asked) else _LAST
    for tag in tags[-1]:
        factor[deck.alike[tag]] = lowered
    return factor


def _gap(deck: DeckIndex, rules: TeachingRules, now: Asking) -> Floats | None:
    """Firm skills of the kinds named, the longer without practice the more."""
    if not (rules.gap_weight and rules.longest_gap_kinds):
        return None
    from scheduler.memory.states import lasts_a_week

    limit = rules.longest_gap_days * _GAP_SHARE
    fill: Floats | None = None
    for skill in deck.skills_of(rules.longest_gap_kinds):
        kept = now.memory.skills.get(skill)
        gap = now.at_days - kept.last_days if kept else 0.0
        if gap > limit and lasts_a_week(now.memory, skill):
            fill = np.zeros(len(deck.cards)) if fill is None else fill
            rows = deck.users[skill]
            fill[rows] = np.maximum(fill[rows], (gap - limit) / (rules.longest_gap_days - limit))
    return None if fill is None else np.exp(np.minimum(rules.gap_weight * fill, _MOST_LOG))


_MOST_LOG = 50.0
"""No factor is larger than the exponential of this, however long a gap."""
