"""A rehearsal plays the days to a date in the model. It says what would come clean on that day, with a range.

Any member of the committee may be right about the player, so a few members are tried. They are
spread evenly over the weights, from the fastest forgetting to the slowest. Each plays the
planner's own sessions to the end. The member's recall decides every outcome, and says what is left
on the day. The planner does not know which member it plays with: it goes by the whole committee
and learns as usual. The range therefore covers both chance and what is not known of the player.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from random import Random
from typing import NamedTuple

from scheduler.card import kind_of
from scheduler.days.practice_day import AWAY_DAYS
from scheduler.grade import Grade
from scheduler.memory.committee import Memory
from scheduler.memory.learner import days_of
from scheduler.planning.planner import Planner
from scheduler.planning.trial import Trial
from scheduler.statistics.counts import Z95

__all__ = ["FUTURES", "RehearsalOutcome", "rehearse"]

FUTURES = 3
"""Members tried: one that forgets fast, one in the middle and one that forgets slowly. Each stands for a third."""

CARDS_BETWEEN = 8
"""A rehearsal works out the gains after every so many cards, for speed. A session does so after each.

A card just played has no gain until then.
"""

FASTEST_S = 8.0
"""Least seconds for a card, prompt to prompt: what a player who knows it takes (common practice)."""


class RehearsalOutcome(NamedTuple):
    """What would come clean at a first try.

    chances: of each card in each future, in the order asked. expected: how many of the cards, on
    average. low, high: the 95 % range of that number. sessions: how many were played.
    """

    chances: dict[str, tuple[float, ...]]
    expected: float
    low: int
    high: int
    sessions: int

    def chance(self, card_id: str) -> float:
        """Of one card, averaged over the futures."""
        return math.fsum(self.chances[card_id]) / len(self.chances[card_id])


def rehearse(
    planner: Planner, sessions: Sequence[datetime], minutes: float, at: datetime, cards: Sequence[str] | None = None,
    futures: int = FUTURES, focus: frozenset[str] | None = None,
) -> RehearsalOutcome:  # fmt: skip
    """What would come clean at a moment after sessions to come. Pure; the same planner gives the same outcome.

    sessions: when each begins, rising. minutes: for cards in each. cards: ids to ask about at `at`,
    every card of the deck when left out. futures: 1 or more. focus: ids the sessions ask from, in place of those of
    the planner's rules.
    Raises CardError for an id not in the deck.
    """
    asked = [card.id for card in planner.cards] if cards is None else list(cards)
    chances: dict[str, list[float]] = {card: [] for card in asked}
    means, inside = [], []
    for number, member in enumerate(_members(planner.memory, futures)):
        after = _future(planner, sessions, minutes, member, Random(f"{planner.seed}/{number}"), focus)
        left = [_recall(after, card, at, member) for card in asked]
        for card, chance in zip(asked, left, strict=True):
            chances[card].append(chance)
        means.append(math.fsum(left))
        inside.append(math.fsum(p * (1.0 - p) for p in left))
    expected = math.fsum(means) / futures
    # The law of total variance: chance inside each future, and how far the futures lie apart.
    variance = math.fsum(inside) / futures + math.fsum((mean - expected) ** 2 for mean in means) / futures
    reach = Z95 * math.sqrt(variance)
    low, high = max(0, math.floor(expected - reach)), min(len(asked), math.ceil(expected + reach))
    return RehearsalOutcome({card: tuple(each) for card, each in chances.items()}, expected, low, high, len(sessions))


def _members(memory: Memory, count: int) -> list[int]:
    """Members of the committee at even steps of their summed weights, from fast to slow forgetting."""
    probe = Memory(memory.constants)
    probe.learn(("probe:any", "card:any"), Grade.CLEAN, 0.0)
    left = probe.skill_recalls("probe:any", AWAY_DAYS)
    order = sorted(range(len(left)), key=lambda member: (left[member], member))
    weights = memory.weights()
    chosen, summed, place = [], 0.0, 0
    for step in range(count):
        while place < len(order) - 1 and summed + weights[order[place]] < (step + 0.5) / count:
            summed += weights[order[place]]
            place += 1
        chosen.append(order[place])
    return chosen


def _recall(planner: Planner, card_id: str, at: datetime, member: int) -> float:
    """One member's chance of a clean first attempt."""
    return planner.memory.corrected(planner.skills_of(card_id), days_of(at))[1][member]


def _future(
    planner: Planner, sessions: Sequence[datetime], minutes: float, member: int, random: Random,
    focus: frozenset[str] | None,
) -> Planner:  # fmt: skip
    """A copy of the planner after sessions with lessons for what is new, and first attempts that one member decides."""
    trial = Trial(planner, focus, CARDS_BETWEEN)
    own = trial.planner

    def grade_of(card_id: str, when: datetime, _: int) -> Grade | None:
        if any(kind_of(skill) in own.rules.new_per_session for skill in own.new_skills(card_id)):
            return None
        return own.memory.grade_of(_recall(own, card_id, when, member), random.random())

    for begins in sessions:
        trial.begin(f"rehearsal {begins.isoformat()}", begins)
        trial.play(begins, minutes, grade_of, FASTEST_S)
    return own
