"""A teacher's preferences weigh against gain: each rule is a factor on what playing a card gains."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from scheduler.card import CARD_KIND, HARD, CardSpec, kind_of
from scheduler.days.practice_day import practice_day_of_days
from scheduler.memory.committee import Memory
from scheduler.planning.gain import Floats
from scheduler.planning.rules import TeachingRules
from scheduler.planning.session_so_far import SessionSoFar

__all__ = ["Asking", "DeckIndex", "weigh"]

ORDER, AGAIN, RETURNS = "order", "again", "returns"
LOOK_ALIKES, APART, AREA, DEMAND, GAP = "look_alikes", "apart", "area", "demand", "gap"
FRAGILE, BEGIN = "fragile", "begin"

_MOST_STAGES = 6
"""From so many stages ahead on, new material is no farther off: the end of a long deck is not closed for ever."""

_GAP_SHARE = 0.8
"""A firm skill gains more from this part of the longest gap on, so that it is played before the gap is full."""

_SURE = 0.25
"""An area is sure enough for the next one when the mean chance of its cards tomorrow is this."""

_LIKELY = 0.7
"""A card surer than this is no better a beginning."""

_FEW = 24
"""So many cards, spread over those met of an area, tell how sure it is."""

_LEAST_RECALL = 0.01
"""Cards surely forgotten are equally fragile: a chance under a hundredth counts little less than none."""

_RUN_ON = 2
"""So many times in a session a card may follow one alike, however short the session: a new shape at three roots."""

_NONE: frozenset[str] = frozenset()

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
        self.areas: dict[str, list[int]] = {}
        self.hard = [row for row, card in enumerate(cards) if card.demand >= HARD]
        self.owns = [f"{CARD_KIND}:{card.id}" for card in cards]
        for row, card in enumerate(cards):
            for skill in card.skills:
                self.users.setdefault(skill, []).append(row)
            if card.area:
                self.areas.setdefault(card.area, []).append(row)
            for tag in card.alike:
                self.alike.setdefault(tag, []).append(row)
        self._of_kinds: dict[frozenset[str], list[str]] = {}
        self._mixed: tuple[Mapping[str, frozenset[str]], list[int]] = ({}, [])

    def skills_of(self, kinds: Collection[str]) -> list[str]:
        """The skills of some kinds that the deck needs; looked up once for the same kinds."""
        asked = frozenset(kinds)
        if asked not in self._of_kinds:
            self._of_kinds[asked] = [skill for skill in self.users if kind_of(skill) in asked]
        return self._of_kinds[asked]

    def taken_for_one_another(self, look_alikes: Mapping[str, frozenset[str]]) -> list[int]:
        """Rows of the cards that need two skills easily taken for one another; looked up once for the same mapping."""
        if self._mixed[0] is not look_alikes:
            rows = [
                row
                for row, card in enumerate(self.cards)
                if any(not look_alikes.get(skill, _NONE).isdisjoint(card.skills) for skill in card.skills)
            ]
            self._mixed = (look_alikes, rows)
        return self._mixed[1]


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
        AREA: _area(deck, rules, now, day),
        DEMAND: _demand(deck, rules, now),
        GAP: _gap(deck, rules, now),
        FRAGILE: (now.recalls + _LEAST_RECALL) ** -rules.fragile_weight if rules.fragile_weight else None,
        BEGIN: None if any(played.first for played in now.so_far.played) else _sure_first(rules, now),
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
    for row in deck.taken_for_one_another(rules.look_alikes):
        new = now.new_of.get(deck.cards[row].id, ())
        if any(not rules.look_alikes.get(skill, _NONE).isdisjoint(new) for skill in new):
            factor[row] = lowered
    return factor


def _apart(deck: DeckIndex, rules: TeachingRules, now: Asking) -> Floats | None:
    asked = [deck.rows[card_id] for card_id in now.so_far.asked() if card_id in deck.rows]
    if not rules.apart_weight or not asked:
        return None
    tags = [frozenset(deck.cards[row].alike) for row in asked]
    had = sum(not before.isdisjoint(after) for before, after in pairwise(tags))
    factor = np.ones(len(deck.cards))
    lowered = math.exp(-rules.apart_weight) if had < max(_RUN_ON, rules.apart_share * len(asked)) else _LAST
    for tag in tags[-1]:
        factor[deck.alike[tag]] = lowered
    return factor


def _area(deck: DeckIndex, rules: TeachingRules, now: Asking, day: int) -> Floats | None:
    """New areas, one after another, the more the less doubt there is whether what was met before today lasts."""
    if not rules.area_weight or len(deck.areas) < 2:
        return None
    skills = now.memory.skills
    met = [rows for rows in deck.areas.values() if any(deck.owns[row] in skills for row in rows)]
    closed = [rows for rows in deck.areas.values() if rows not in met]
    if not (met and closed):
        return None
    doubt = max(0.0, 1.0 - min(_sure(deck, rows, rules, now, day) for rows in met) / _SURE)
    nearest = min(closed, key=lambda rows: int(deck.stages[rows].min()))
    factor = np.ones(len(deck.cards))
    for rows in closed:
        factor[rows] = math.exp(-rules.area_weight * (doubt if rows is nearest else 1.0))
    return factor


def _sure(deck: DeckIndex, rows: Sequence[int], rules: TeachingRules, now: Asking, day: int) -> float:
    """The mean chance, a practice day from now, of those of some cards that were met before today; 0 without any."""
    met = []
    for row in rows:
        kept = now.memory.skills.get(deck.owns[row])
        if kept and practice_day_of_days(kept.first_days, now.offset_seconds, rules.day_starts_at_hour) < day:
            met.append((*deck.cards[row].skills, deck.owns[row]))
    tomorrow = now.at_days + rules.practice_every_days
    some = met[:: max(1, len(met) // _FEW)]
    return sum(now.memory.recall(skills, tomorrow) for skills in some) / len(some) if some else 0.0


def _demand(deck: DeckIndex, rules: TeachingRules, now: Asking) -> Floats | None:
    """Cards not met yet that demand much, while a skill of theirs is not firm and few practice days have passed."""
    if not (rules.hard_weight and rules.easy_first and deck.hard):
        return None
    from scheduler.memory.states import lasts_a_week

    skills = now.memory.skills
    began = min((kept.first_days for kept in skills.values()), default=now.at_days)
    if now.at_days - began >= rules.hard_after_days * rules.practice_every_days:
        return None
    loose = {skill for skill in deck.skills_of(rules.easy_first) if not lasts_a_week(now.memory, skill)}
    factor = np.ones(len(deck.cards))
    for row in deck.hard:
        if deck.owns[row] not in skills and not loose.isdisjoint(deck.cards[row].skills):
            factor[row] = math.exp(-rules.hard_weight)
    return factor


def _sure_first(rules: TeachingRules, now: Asking) -> Floats | None:
    """The first question of a session, the surer the better; after an absence the most fragile come first instead."""
    if not rules.begin_weight or rules.fragile_weight:
        return None
    factor: Floats = np.exp(rules.begin_weight * np.minimum(now.recalls, _LIKELY))
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
