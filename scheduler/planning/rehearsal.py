"""The days to a date, played through in the model: what would come clean on that day, with its range.

The player may be as any member of the committee holds, so a few of them are taken, spread
evenly over their weights from the fastest forgetting to the slowest. Each plays the planner's
own sessions to the end: its own recall decides every outcome and says what is left on the day,
while the planner goes by the whole committee and learns as it would. So the range holds
chance and how little is known of this player.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from random import Random
from typing import NamedTuple

from scheduler.card import kind_of
from scheduler.grade import Grade
from scheduler.memory.committee import Memory
from scheduler.planning.gain import Gains
from scheduler.planning.planner import Planner
from scheduler.review import Review
from scheduler.statistics.intervals import Z95

__all__ = ["FUTURES", "RehearsalOutcome", "rehearse"]

FUTURES = 3
"""Players tried: a fast, a middling and a slow forgetter, a third of what is believed each."""

CARDS_BETWEEN = 8
"""Gains are worked out anew after so many cards, where a session does it after each: for speed.

A card just played counts for nothing until then.
"""

FASTEST_S = 8.0
"""Least seconds for a card, prompt to prompt: what a player who knows it takes (common practice)."""

_DAY_SECONDS = 86_400.0


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
    futures: int = FUTURES,
) -> RehearsalOutcome:  # fmt: skip
    """What would come clean at a moment after sessions to come. Pure; the same planner gives the same outcome.

    sessions: when each begins, rising. minutes: for cards in each. cards: ids to ask about at `at`,
    every card of the deck when left out. futures: 1 or more.
    Raises CardError for an id not in the deck.
    """
    asked = [card.id for card in planner.cards] if cards is None else list(cards)
    chances: dict[str, list[float]] = {card: [] for card in asked}
    means, inside = [], []
    for number, member in enumerate(_members(planner.memory, futures)):
        trial = _trial(planner)
        random = Random(f"{planner.seed}/{number}")
        for begins in sessions:
            _play(trial, begins, minutes, member, random)
        left = [_recall(trial, card, at, member) for card in asked]
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
    kept = probe.skill_recalls("probe:any", 7.0)
    order = sorted(range(len(kept)), key=lambda member: (kept[member], member))
    weights = memory.weights()
    chosen, summed, place = [], 0.0, 0
    for step in range(count):
        while place < len(order) - 1 and summed + weights[order[place]] < (step + 0.5) / count:
            summed += weights[order[place]]
            place += 1
        chosen.append(order[place])
    return chosen


def _trial(planner: Planner) -> Planner:
    trial = planner._copy()
    trial._gains = _Seldom(trial._gains or Gains(trial.cards, trial.memory))
    return trial


class _Seldom:
    """Gains that are worked out anew after every few cards."""

    def __init__(self, gains: Gains):
        self._gains, self._kept, self._left = gains, None, 0

    def per_card(self, at_days: float, paces: tuple[float, float], every_days: float):
        """As `Gains.per_card`, as it was some cards ago, what was played since put last."""
        if self._kept is None or self._left == 0:
            self._kept, self._left = self._gains.per_card(at_days, paces, every_days), CARDS_BETWEEN
        self._left -= 1
        return self._kept

    def touch(self, skill: str) -> None:
        """A skill was practised."""
        self._gains.touch(skill)

    def played(self, row: int) -> None:
        """The card in this row has just been played."""
        self._kept[0][row] = 0.0

    def forget(self) -> None:
        """A new session begins."""
        self._kept = None


def _recall(planner: Planner, card_id: str, at: datetime, member: int) -> float:
    """One member's chance of a clean first attempt."""
    return planner.memory.corrected_recalls(planner._skills(card_id), at.timestamp() / _DAY_SECONDS)[member]


def _play(trial: Planner, begins: datetime, minutes: float, member: int, random: Random) -> None:
    """One session of the planner's: lessons for what is new, then first attempts."""
    trial._gains.forget()
    trial._journal.clear()  # the rules read the session under way and no further back
    trial._before = ()
    trial.begin(f"rehearsal {begins.isoformat()}", begins)
    when, end = begins, begins + timedelta(minutes=minutes)
    while when < end and (card_id := trial.next(when)) is not None:
        lesson = any(kind_of(skill) in trial.rules.new_per_session for skill in trial.new_skills(card_id))
        lot = 1.0 if lesson else random.random()
        grade = Grade.FOUND if lesson else trial.memory.grade_of(_recall(trial, card_id, when, member), lot)
        spent = trial.pace.seconds(trial._card(card_id).seconds, float(grade.clean))
        when += timedelta(seconds=max(FASTEST_S, spent))
        trial.record(
            Review(card_id, grade, when, 5.0, "repeat" if lesson else "first", session=trial._begun, id="rehearsal")
        )
        trial._gains.played(trial._rows[card_id])
