"""A refit fits a few global constants of the memory to one player's log.

It looks for the maximum a posteriori by coordinate search.
Every constant that is fitted is multiplied by a factor whose logarithm is
normal around 0 before the log is seen. The prior holds the spacing constant
closest, because the spacing in a log is not by chance: the scheduler chose it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from scheduler.atomic_write import write_whole
from scheduler.card import CARD_KIND
from scheduler.errors import ReviewError, RulesError
from scheduler.memory.constants import Constants
from scheduler.memory.learner import Learner, days_of
from scheduler.review import Review

__all__ = ["FEWEST_REVIEWS", "SPREADS", "VERSION", "Refit", "read_refit", "refit", "scaled", "write_refit"]

VERSION = 1
"""The version of the stored result. A result of another version is not read."""

FEWEST_REVIEWS = 300
"""A fit to fewer first attempts than this says more about chance than about the player."""

EARLIER = 0.7
"""The constants are fitted on this share of the log and judged on what comes after."""

SPREADS: dict[str, float] = {
    "first_half_lives_days": 0.5,
    "unmet_recall": 0.5,
    "growth": 0.3,
    "growth_exponent": 0.1,
}
"""Constant -> standard deviation of the log of its factor before the log is seen.

The exponent is the spacing constant: how much more a difficult recall teaches than an easy one.
"""

_STEPS = (0.8, 0.4, 0.2)
"""Steps of the search, in standard deviations, each halving the last."""

_SURE = 1e-6

_NAMED_BEFORE = {"ease_variance": "difficulty_variance", "begin_days": "new_skill_discount_days"}
"""Names that constants had in files written by earlier versions -> the names they have now."""


@dataclass(frozen=True, slots=True)
class Refit:
    """A fit and what it was worth.

    factors: constant -> what it was multiplied by. fitted_on, judged_on: first
    attempts. before, after: log-loss on the later ones, in nats.
    """

    factors: Mapping[str, float]
    fitted_on: int
    judged_on: int
    before: float
    after: float

    @property
    def better(self) -> bool:
        """Whether the later reviews were foreseen better with it than without."""
        return self.after < self.before

    @property
    def constants(self) -> Constants:
        """The usual constants with the factors applied."""
        return scaled(Constants(), self.factors)


def scaled(constants: Constants, factors: Mapping[str, float]) -> Constants:
    """The constants with some multiplied; of a tuple, every number.

    Raises RulesError for a constant that does not exist or leaves its range.
    """
    known = {field.name for field in fields(constants)}
    changes: dict[str, Any] = {}
    for name, factor in factors.items():
        if name not in known:
            raise RulesError(f"constants, {name!r}: expected one of {', '.join(sorted(known))}, got another")
        value = getattr(constants, name)
        changes[name] = tuple(one * factor for one in value) if isinstance(value, tuple) else value * factor
    return replace(constants, **changes)


def fitted_names() -> list[str]:
    """The constants this memory has that are fitted."""
    return [field.name for field in fields(Constants) if field.name in SPREADS]


def losses(reviews: Iterable[Review], constants: Constants, blame: Mapping[str, str], since: int = 0) -> float:
    """Log-loss, in nats, of all first attempts but the first `since`, each foreseen and then learned from."""
    learner = Learner(blame=blame, constants=constants)
    total, seen = 0.0, 0
    for review in reviews:
        if review.attempt == "first":
            if seen >= since:
                skills = (*review.skills, f"{CARD_KIND}:{review.card}")
                p = learner.memory.recall(skills, days_of(review.at))
                p = min(max(p, _SURE), 1.0 - _SURE)
                total -= math.log(p if review.grade.clean else 1.0 - p)
            seen += 1
        learner.record(review)
    return total


def search(loss: Callable[[Mapping[str, float]], float], names: Sequence[str]) -> dict[str, float]:
    """The factors that make loss plus prior least, by coordinate search from 1; deterministic."""
    logs = dict.fromkeys(names, 0.0)

    def worth(found: Mapping[str, float]) -> float:
        prior = sum((found[name] / SPREADS[name]) ** 2 / 2.0 for name in names)
        return loss({name: math.exp(value) for name, value in found.items()}) + prior

    best = worth(logs)
    for step in _STEPS:
        for name in names:
            for way in (1.0, -1.0):
                moved = False
                while True:
                    trial = {**logs, name: logs[name] + way * step * SPREADS[name]}
                    if abs(trial[name]) > 3.0 * SPREADS[name] or (found := worth(trial)) >= best:
                        break
                    logs, best, moved = trial, found, True
                if moved:
                    break
    return {name: math.exp(value) for name, value in logs.items()}


def refit(reviews: Iterable[Review], blame: Mapping[str, str], told: Callable[[], None] = lambda: None) -> Refit:
    """Fits the constants on the earlier part of a log and judges them on the later part alone.

    reviews: in the order of the log. blame: slip -> the kind of skill it blames. told: called after each try.
    Raises ReviewError when there are fewer than FEWEST_REVIEWS first attempts.
    """
    kept = list(reviews)
    firsts = sum(review.attempt == "first" for review in kept)
    if firsts < FEWEST_REVIEWS:
        raise ReviewError(
            f"refit: expected at least {FEWEST_REVIEWS} first attempts in the log, got {firsts}; play on and try later"
        )
    border = round(firsts * EARLIER)
    seen, earlier = 0, []
    for review in kept:
        seen += review.attempt == "first"
        if seen > border:
            break
        earlier.append(review)

    def loss(factors: Mapping[str, float]) -> float:
        told()
        return losses(earlier, scaled(Constants(), factors), blame)

    factors = search(loss, fitted_names())
    later = firsts - border
    before = losses(kept, Constants(), blame, border) / later
    after = losses(kept, scaled(Constants(), factors), blame, border) / later
    return Refit(factors, border, later, before, after)


def write_refit(path: Path, found: Refit) -> None:
    """Stores a fit, whole or not at all; raises OSError when it cannot."""
    document = {
        "version": VERSION,
        "usual": repr(Constants()),
        "factors": dict(found.factors),
        "fitted_on": found.fitted_on,
        "judged_on": found.judged_on,
        "before": found.before,
        "after": found.after,
    }
    write_whole(path, json.dumps(document, indent=1) + "\n", private=True)


def read_refit(path: Path) -> Refit | None:
    """The stored fit, or None when there is none, it cannot be read, or it was made for other constants."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        usual = document["usual"]
        for before, now in _NAMED_BEFORE.items():
            usual = usual.replace(f" {before}=", f" {now}=")
        if document["version"] != VERSION or usual != repr(Constants()):
            return None
        found = Refit(*(document[field.name] for field in fields(Refit)))
        if not all(isinstance(factor, float) and 0.0 < factor < 100.0 for factor in found.factors.values()):
            return None
        found.constants  # noqa: B018 - refuses names and values that are no constants
        return found
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
