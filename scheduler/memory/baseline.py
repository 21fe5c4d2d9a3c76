"""The simplest memory keeps one half-life for each card and shares nothing. The committee has to foresee better.

It forgets as one member of the committee does: by an exponential curve, with sharing 0 and the middle first
half-life. Its constants are those of the first version of the memory. It uses plain numbers, so that a hundred
thousand reviews are replayed in a moment.
"""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.log.events import as_us
from scheduler.memory.growth import grown, shrunk
from scheduler.review import Review

__all__ = ["FIRST_HALF_LIFE_US", "UNMET_RECALL", "after_clean", "after_miss", "baseline_recalls", "plain_recall"]

_DAY_US = 86_400_000_000.0

FIRST_HALF_LIFE_US = 1.2 * _DAY_US
"""Half-life of a card first met, in microseconds."""

UNMET_RECALL = 0.1
"""Recall of a card never met."""

_GROWTH, _EXPONENT, _SHRINK, _FLOOR = 1.6, 0.8, 0.5, 0.3


def plain_recall(half_life_us: float, past_us: float) -> float:
    """Chance of a clean first try some time after a card was last played, 0 to 1."""
    if past_us <= 0:
        return 1.0
    left: float = 2.0 ** (-past_us / half_life_us)
    return left


def after_clean(half_life_us: float, recall: float) -> float:
    """The half-life after a clean first try that had this chance: the longer the gap, the more it grows."""
    return grown(half_life_us, recall, _GROWTH, _EXPONENT)


def after_miss(half_life_us: float) -> float:
    """The half-life after a first try that was not clean."""
    return max(shrunk(half_life_us, 1.0, _SHRINK), FIRST_HALF_LIFE_US * _FLOOR)


def baseline_recalls(reviews: Iterable[Review]) -> list[float]:
    """The recall of each review's card just before it, reviews in the order of the log.

    First tries teach; a repeat only begins the half-life of a card never met.
    """
    cards: dict[str, tuple[int, float]] = {}
    found = []
    for review in reviews:
        clock_us = as_us(review.at)
        known = cards.get(review.card)
        recall = plain_recall(known[1], clock_us - known[0]) if known else UNMET_RECALL
        found.append(recall)
        if known is None:
            cards[review.card] = clock_us, FIRST_HALF_LIFE_US
        elif review.attempt == "first":
            half_life_us = after_clean(known[1], recall) if review.grade.clean else after_miss(known[1])
            cards[review.card] = max(clock_us, known[0]), half_life_us
    return found
