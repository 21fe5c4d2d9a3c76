"""A planner for anything practised in short cards: it knows ids, skills, grades and time.

Cards share skills, skills fade, and a sitting is short; the planner answers
one question, `next`: what is the best use of the coming half minute? Nothing
in this package knows what a card is about. A deck of verbs, for example::

    >>> from datetime import datetime, timedelta, timezone
    >>> from scheduler import CardSpec, Grade, Planner, Review
    >>> verbs = [
    ...     CardSpec("sing/past", skills=("pattern:i-a-u", "tense:past")),
    ...     CardSpec("ring/past", skills=("pattern:i-a-u", "tense:past")),
    ...     CardSpec("keep/past", skills=("pattern:ee-e-e", "tense:past")),
    ... ]
    >>> planner = Planner(verbs, seed=7)
    >>> at = datetime(2024, 3, 4, 18, 0, tzinfo=timezone.utc)
    >>> card = planner.next(at)
    >>> card == planner.next(at)
    True
    >>> before = planner.recall(card, at + timedelta(days=1))
    >>> planner.record(Review(card, Grade.CLEAN, at, seconds=6.0))
    >>> planner.recall(card, at + timedelta(days=1)) > before
    True
    >>> planner.next(at + timedelta(seconds=20)) == card
    False

Names are imported on first use, so that ``import scheduler`` costs nothing.
"""

from __future__ import annotations

import importlib

__all__ = [
    "CardSpec",
    "Constants",
    "Grade",
    "Planner",
    "Reasons",
    "Review",
    "ReviewLog",
    "SchedulerError",
    "TeachingRules",
]

_HOMES = {
    "CardSpec": "scheduler.card",
    "Constants": "scheduler.memory.constants",
    "Grade": "scheduler.grade",
    "Planner": "scheduler.planning.planner",
    "Reasons": "scheduler.planning.reasons",
    "Review": "scheduler.review",
    "ReviewLog": "scheduler.log.review_log",
    "SchedulerError": "scheduler.errors",
    "TeachingRules": "scheduler.planning.rules",
}


def __getattr__(name: str) -> object:
    """Import a public name when it is first asked for."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'scheduler' has no attribute {name!r}")
    return getattr(importlib.import_module(home), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
