"""How long asking, learning, rebuilding and opening take, and how each grows with the deck and with the log."""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from random import Random

from scheduler.evaluate.figures import Figures
from scheduler.evaluate.simulated_deck import SimulatedDeck, material
from scheduler.grade import Grade
from scheduler.planning.planner import Planner
from scheduler.review import Review

__all__ = ["measure", "some_reviews"]

_DECKS = {144: (4, 3), 504: (14, 3), 1008: (14, 6), 10080: (60, 14)}
_ROUNDS = 15
_START = datetime(2020, 1, 1, 18, tzinfo=UTC)


def some_reviews(deck: SimulatedDeck, count: int, seed: int = 1) -> list[Review]:
    """Reviews of a deck's cards by chance, thirty a day."""
    rng = Random(seed)
    found = []
    for number in range(count):
        card = rng.choice(deck.cards)
        at = _START + timedelta(days=number // 30, seconds=20 * (number % 30))
        grade = rng.choice((*Grade, Grade.CLEAN, Grade.CLEAN))
        found.append(
            Review(card.id, grade, at, 5.0, skills=card.skills, spent=18.0, session=f"s{number // 30}", id=f"{number}")
        )
    return found


def _median_ms(work: Callable[[], object], rounds: int = _ROUNDS) -> float:
    taken = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return round(statistics.median(taken) * 1000.0, 3)


def _restore(planner: Planner, saved: str) -> None:
    planner.restore(json.loads(saved))


def measure(cards: int, quick: bool = False) -> Figures:
    """Times one deck beside logs of growing length, in milliseconds, and the rate at which a log is learned again.

    `next_ms` is the card after a grade: a review recorded just before.
    """
    deck = material(*_DECKS[cards])
    lengths = [1_000] if quick else [1_000, 10_000] if cards != 1008 else [1_000, 10_000, 100_000]
    reviews = some_reviews(deck, lengths[-1] + 100)
    planner = Planner(deck.cards)
    rows, seconds, done = [], 0.0, 0
    for length in lengths:
        begin = time.perf_counter()
        for review in reviews[done:length]:
            planner.record(review)
        seconds, done = seconds + time.perf_counter() - begin, length
        at = reviews[length - 1].at + timedelta(days=1)
        planner.next(at)
        more = iter(reviews[length:])
        record_ms, asked = [], []
        for _ in range(_ROUNDS):
            review = next(more)
            begin = time.perf_counter()
            planner.record(review)
            middle = time.perf_counter()
            planner.next(at)
            record_ms.append((middle - begin) * 1000.0)
            asked.append((time.perf_counter() - middle) * 1000.0)
        for review in reviews[length : length + _ROUNDS]:
            planner.undo(review.id)
        saved = json.dumps(planner.export())
        fresh = Planner(deck.cards)
        rows.append(
            {
                "reviews": length,
                "record_ms": round(statistics.median(record_ms), 3),
                "next_ms": round(statistics.median(asked), 3),
                "recall_ms": _median_ms(partial(planner.recall, deck.cards[0].id, at)),
                "a_second": round(length / seconds),
                "saved_bytes": len(saved),
                "restore_ms": _median_ms(partial(_restore, fresh, saved), 3),
            }
        )
    return {"cards": cards, "rows": rows}
