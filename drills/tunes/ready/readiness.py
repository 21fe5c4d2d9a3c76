"""How ready the cards of a tune will be: by the planner's own sessions, played through in the believed memory."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from drills.cards.card import Card
from drills.cards.material import Material
from drills.tunes.ready.days_to_date import DaysTo
from scheduler.card import CARD_KIND, kind_of
from scheduler.planning.planner import Planner
from scheduler.planning.rehearsal import RehearsalOutcome, rehearse
from scheduler.statistics.claims import not_there_yet
from scheduler.statistics.counts import Count

__all__ = [
    "LIKELY",
    "UNLIKELY",
    "CardReadiness",
    "Narrower",
    "Readiness",
    "WeakJoint",
    "first_tries",
    "readiness",
    "weak_joint",
]  # fmt: skip

LIKELY, UNLIKELY = 0.8, 0.5
"""From the first on a card is called likely to come clean at a first try, below the second unlikely."""

KNOWS_NOTHING = 0.75
"""A range over more than this part of the cards says that nothing is known."""

WORTH_IT = 0.05
"""How much larger a part of it must come clean before a narrower choice is spoken of."""


@dataclass(frozen=True, slots=True)
class CardReadiness:
    """One card on the day. chance: of a clean first try; low, high: over the futures tried."""

    card: Card
    chance: float
    low: float
    high: float

    @property
    def likely(self) -> bool:
        """Whether it is called likely to come clean."""
        return self.chance >= LIKELY

    @property
    def unlikely(self) -> bool:
        """Whether it is called unlikely to come clean."""
        return self.chance < UNLIKELY


@dataclass(frozen=True, slots=True)
class WeakJoint:
    """The joint that came clean least often, over every tune and key: its card in this tune, tries, how many clean."""

    card: Card
    tries: int
    clean: int


@dataclass(frozen=True, slots=True)
class Narrower:
    """The same days spent on one path only: from a string, its cards, and the outcome over them."""

    string: int
    cards: int
    outcome: RehearsalOutcome


@dataclass(frozen=True, slots=True)
class Readiness:
    """How ready a tune will be.

    title: of the tune. days, minutes: what is practised until then. rows: every card, in the order of
    introduction. outcome: over all of them. evidence: first tries of any card the log holds.
    narrower: the best single path, where not all is likely and it alone would come cleaner.
    weak: see `weak_joint`.
    """

    title: str
    days: DaysTo
    minutes: float
    rows: tuple[CardReadiness, ...]
    outcome: RehearsalOutcome
    evidence: int
    narrower: Narrower | None = None
    weak: WeakJoint | None = None

    @property
    def known(self) -> bool:
        """Whether the range says anything: not when it takes in most of what there is."""
        return self.outcome.high - self.outcome.low <= KNOWS_NOTHING * len(self.rows)


def readiness(
    material: Material, planner: Planner, days: DaysTo, *, minutes: float, cards_minutes: float,
    paths: Mapping[int, frozenset[str]] | None = None,
) -> Readiness:  # fmt: skip
    """How ready the cards will be after the sessions to come, and what fewer cards would come to. Pure.

    planner: over the material's cards, brought forward. minutes: of a session; cards_minutes: of it
    without warm-up and music.
    paths: ids of the cards of each single path, by the string it starts from.
    """
    outcome = rehearse(planner, days.sessions, cards_minutes, days.at)
    rows = tuple(
        CardReadiness(card, outcome.chance(card.id), min(outcome.chances[card.id]), max(outcome.chances[card.id]))
        for card in material.cards.values()
    )
    tries, weak = first_tries(planner, days.at), weak_joint(material, planner, days.at)
    found = Readiness(material.deck.title, days, minutes, rows, outcome, tries, weak=weak)
    if days.sessions and paths and len(paths) > 1 and found.known and not all(row.likely for row in rows):
        less = _narrower(planner, days, cards_minutes, paths, {row.card.id: row.chance for row in rows})
        if less.outcome.expected / less.cards >= outcome.expected / len(rows) + WORTH_IT:
            found = replace(found, narrower=less)
    return found


def first_tries(planner: Planner, at: datetime) -> int:
    """How many first tries of any card the planner has learned from."""
    return sum(planner.state(skill, at).tries for skill in planner.met_skills if kind_of(skill) == CARD_KIND)


def _narrower(
    planner: Planner, days: DaysTo, cards_minutes: float, paths: Mapping[int, frozenset[str]],
    chances: Mapping[str, float],
) -> Narrower:  # fmt: skip
    """The path that already stands best, alone."""

    def mean(cards: frozenset[str]) -> float:
        return math.fsum(chances[card] for card in cards) / max(1, len(cards))

    string, cards = max(paths.items(), key=lambda item: (mean(item[1]), item[0]))
    outcome = rehearse(planner, days.sessions, cards_minutes, days.at, sorted(cards), focus=cards)
    return Narrower(string, len(cards), outcome)


def weak_joint(material: Material, planner: Planner, at: datetime) -> WeakJoint | None:
    """The joint of a tune that surely is not there yet, the one clean least often; None while none surely is.

    The rule is that of every page (`scheduler.statistics.claims`, "not yet"), with all joints of the tune looked at.
    """
    cards: dict[str, Card] = {}
    for card in material.cards.values():
        skill = next((skill for skill in card.skills if skill.startswith("joint:")), None)
        if skill is not None and (skill not in cards or card.weight > cards[skill].weight):
            cards[skill] = card
    states = {skill: planner.state(skill, at) for skill in cards}
    counts = {skill: Count(state.clean, state.tries) for skill, state in states.items()}
    for skill in not_there_yet(counts):
        return WeakJoint(cards[skill], counts[skill].tries, counts[skill].clean)
    return None
