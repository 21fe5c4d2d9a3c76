"""The laws a memory of practice obeys, as figures; `tests/scheduler/test_laws.py` holds the memory to them."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from scheduler.card import CARD_KIND
from scheduler.evaluate.figures import Figures
from scheduler.evaluate.prediction import log_loss
from scheduler.grade import Grade
from scheduler.memory import Constants, Memory
from scheduler.memory.learner import days_of
from scheduler.planning.planner import Planner
from scheduler.review import Review

__all__ = [
    "CARD", "CEPEDA_BEST_GAPS", "best_gap", "figures", "learned", "recall", "review", "shuffled_cost", "spacing",
]  # fmt: skip

CARD = ("form:a", "root:b", "card:c")
"""The skills of one card, its own last."""

CEPEDA_BEST_GAPS = {7.0: 3.0, 35.0: 8.0, 70.0: 12.0}
"""Days until a test -> best days between two sessions.

Cepeda, Vul, Rohrer, Wixted and Pashler (2008), "Spacing effects in learning: a temporal ridgeline of optimal
retention", Psychological Science 19, 1095-1102: over 1,350 people.
"""

LESSON_DAYS = 5.0 / 1440.0

_GAPS_DAYS = [0.02 * 1.1**step for step in range(95)]
_EPOCH = datetime(2024, 1, 1, tzinfo=UTC)


def review(skills: Sequence[str], grade: Grade, at_days: float) -> Review:
    """A first attempt at a card. skills: of the card, its own last. at_days: since the first attempt of all."""
    card = skills[-1].removeprefix(f"{CARD_KIND}:")
    return Review(card, grade, _EPOCH + timedelta(days=at_days), 5.0, skills=tuple(skills[:-1]))


def learned(
    constants: Constants | None, attempts: Iterable[tuple[float, Grade]], skills: Sequence[str] = CARD
) -> Memory:
    """The memory after a lesson at one card, five minutes before day 0, and attempts at it: (days, grade) each.

    The lesson says that the card was new: who plays clean what was never shown knew it before.
    """
    planner = Planner((), constants=constants)
    planner.record(replace(review(skills, Grade.CLEAN, -LESSON_DAYS), attempt="repeat"))
    for at_days, grade in attempts:
        planner.record(review(skills, grade, at_days))
    return planner.memory


def recall(memory: Memory, at_days: float, skills: Sequence[str] = CARD) -> float:
    """Recall of a card some days after the first attempt of all."""
    return memory.recall(skills, days_of(_EPOCH) + at_days)


def _expected(constants: Constants | None, gap_days: float, retention_days: float) -> float:
    """Recall at the test, over clean and missed second sessions as likely as the memory itself holds them."""
    first = (0.0, Grade.CLEAN)
    clean = recall(learned(constants, [first]), gap_days)
    return sum(
        chance * recall(learned(constants, [first, (gap_days, grade)]), gap_days + retention_days)
        for grade, chance in ((Grade.CLEAN, clean), (Grade.LOOKED, 1.0 - clean))
    )


def best_gap(retention_days: float, constants: Constants | None = None) -> float:
    """The gap in days between two practices after which a test `retention_days` later goes best."""
    return max(_GAPS_DAYS, key=lambda gap: _expected(constants, gap, retention_days))


def spacing(days: float = 7.0, constants: Constants | None = None) -> tuple[float, float, float]:
    """Recall `days` after the last of: two clean practices a day apart, two a minute apart, one."""
    found = []
    for times in ((0.0, 1.0), (0.0, 1.0 / 1440.0), (0.0,)):
        memory = learned(constants, [(at, Grade.CLEAN) for at in times])
        found.append(recall(memory, times[-1] + days))
    return found[0], found[1], found[2]


def shuffled_cost(seed: int = 0, days: int = 40, cards: int = 48, constants: Constants | None = None) -> float:
    """The log-loss that is added when the memory is told of shared skills that are not there.

    A player in whom nothing is shared is predicted twice: by a memory that is told of each card's own skill alone,
    and by one that is told shared skills dealt out by chance. The second minus the first, in nats a review.
    """
    rng = random.Random(seed)
    dealt = {n: (f"form:{rng.randrange(8)}", f"root:{rng.randrange(12)}", f"card:{n}") for n in range(cards)}
    half = {n: 0.0 for n in range(cards)}
    last = {n: 0.0 for n in range(cards)}
    losses = []
    told: dict[str, Callable[[int], Sequence[str]]] = {
        "alone": lambda n: (f"card:{n}",),
        "shuffled": lambda n: dealt[n],
    }
    reviews = []
    for day in range(days):
        for number in range(24):
            n, at = rng.randrange(cards), day + number / 3000.0
            chance = 2.0 ** (-(at - last[n]) / half[n]) if half[n] else 0.1
            clean = rng.random() < chance
            half[n] = (half[n] * (1.0 + 1.6 * (1.0 - chance) ** 0.8) if clean else half[n] * 0.6) if half[n] else 1.0
            half[n] = max(half[n], 0.4)
            last[n] = at
            reviews.append((n, clean, at))
    for skills in told.values():
        planner, predicted = Planner((), constants=constants), []
        for n, clean, at in reviews:
            predicted.append(recall(planner.memory, at, skills(n)))
            planner.record(review(skills(n), Grade.CLEAN if clean else Grade.LOOKED, at))
        losses.append(log_loss(predicted[200:], [clean for _, clean, _ in reviews][200:]))
    return losses[1] - losses[0]


def figures() -> Figures:
    """The figures of the laws, as the report shows them."""
    spaced, massed, single = spacing()
    return {
        "spacing": {"spaced": spaced, "massed": massed, "single": single},
        "shuffled": [shuffled_cost(seed) for seed in range(3)],
        "best_gaps": {str(days): best_gap(days) for days in CEPEDA_BEST_GAPS},
    }
