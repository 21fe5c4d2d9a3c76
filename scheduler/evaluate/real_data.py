"""Prediction on real learners: a file given by path, constants fitted on some learners and judged on the others.

The file is a CSV, gzipped or not, with the columns learner, t_epoch_s, item, skill and outcome (correct, incorrect
or study), one row a trial. Nothing of it is kept.
"""

from __future__ import annotations

import csv
import gzip
from collections import defaultdict
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import numpy as np

from scheduler.card import CARD_KIND
from scheduler.errors import ReviewError
from scheduler.evaluate.counters import Counters, fit_logistic
from scheduler.evaluate.figures import Figures, Floats
from scheduler.evaluate.prediction import area_under_curve, bin_sums, bins_error, log_loss
from scheduler.grade import Grade
from scheduler.memory import Constants
from scheduler.memory.learner import days_of
from scheduler.memory.refit import fitted_names, scaled, search
from scheduler.planning.planner import Planner
from scheduler.review import Review

__all__ = ["RecordedTrial", "judge", "read_trials"]

_COLUMNS = ("learner", "t_epoch_s", "item", "skill", "outcome")
_HELD_OUT = 3
"""Every third learner, by number in order of appearance, is held out."""

_SEARCHED = 40
"""Training learners the search for constants looks at; the final numbers are of the held-out ones."""


class RecordedTrial(NamedTuple):
    """One trial: right is None where the answer was only studied."""

    at: datetime
    item: str
    skill: str
    right: bool | None


def read_trials(path: Path) -> dict[str, list[RecordedTrial]]:
    """Trials by learner, in the order of the clock.

    Raises ReviewError for a missing column or a row that cannot be read.
    """
    found: dict[str, list[RecordedTrial]] = defaultdict(list)
    opened = gzip.open if path.suffix == ".gz" else open
    with opened(path, "rt", encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        missing = set(_COLUMNS) - set(rows.fieldnames or ())
        if missing:
            raise ReviewError(f"{path}: expected the columns {', '.join(_COLUMNS)}, found no {sorted(missing)[0]!r}")
        for row in rows:
            outcome = row["outcome"]
            if outcome not in ("correct", "incorrect", "study"):
                raise ReviewError(
                    f"{path}, line {rows.line_num}, outcome: expected correct, incorrect or study, got {outcome!r}"
                )
            right = None if outcome == "study" else outcome == "correct"
            try:
                at = datetime.fromtimestamp(float(row["t_epoch_s"]), UTC)
            except (ValueError, TypeError, OverflowError, OSError):
                raise ReviewError(
                    f"{path}, line {rows.line_num}, t_epoch_s: expected seconds since 1970, got {row['t_epoch_s']!r}"
                ) from None
            found[row["learner"]].append(RecordedTrial(at, row["item"], row["skill"], right))
    return {learner: sorted(trials, key=lambda one: one.at) for learner, trials in found.items()}


def _foreseen(trials: list[RecordedTrial], constants: Constants, shared: bool) -> list[float]:
    """Recall as the memory foresaw every answered trial, each before it learned from it."""
    planner = Planner((), constants=constants)
    predicted = []
    for number, one in enumerate(trials):
        skills = (f"sentence:{one.skill}",) if shared else ()
        if one.right is not None:
            predicted.append(planner.memory.recall((*skills, f"{CARD_KIND}:{one.item}"), days_of(one.at)))
        planner.record(
            Review(
                one.item,
                Grade.CLEAN if one.right else Grade.LOOKED,
                one.at,
                5.0,
                "repeat" if one.right is None else "first",
                skills,
                id=str(number),
            )
        )
    return predicted


def _figures(predicted: list[float], happened: list[bool]) -> Figures:
    return {
        "log_loss": log_loss(predicted, happened),
        "auc": area_under_curve(predicted, happened),
        "error": bins_error(bin_sums(predicted, happened)),
        "tries": len(happened),
    }


def _logit(p: list[float]) -> Floats:
    clipped = np.clip(np.asarray(p), 1e-4, 1.0 - 1e-4)
    odds: Floats = np.log(clipped / (1.0 - clipped))
    return odds


def judge(path: Path, quick: bool = False) -> Figures:
    """Figures of each way to predict, on learners held out; quick: on a few of them, with the usual constants."""
    learners = list(read_trials(path).values())
    held = learners[::_HELD_OUT]
    train = [trials for number, trials in enumerate(learners) if number % _HELD_OUT]
    if quick:
        held, train = held[:15], train[:30]
    answers = {id(trials): [one.right for one in trials if one.right is not None] for trials in learners}
    happened = [right for trials in held for right in answers[id(trials)]]

    def ours(which: list[list[RecordedTrial]], constants: Constants, shared: bool = True) -> list[float]:
        return [p for trials in which for p in _foreseen(trials, constants, shared)]

    usual = Constants()
    found = {
        "ours, usual constants": _figures(ours(held, usual), happened),
        "item only (a memory a card)": _figures(ours(held, usual, shared=False), happened),
        "counters per skill, no time": _figures(*_counters(train, held)),
    }
    factors: dict[str, float] = {}
    if not quick:
        some = train[:: max(1, len(train) // _SEARCHED)]
        right = [one for trials in some for one in answers[id(trials)]]
        factors = search(lambda tried: log_loss(ours(some, scaled(usual, tried)), right) * len(right), fitted_names())
    found["item only, item difficulty fitted"] = _figures(
        _with_difficulty(train, held, ours(train, usual, shared=False), ours(held, usual, shared=False)), happened
    )
    fitted = scaled(usual, factors)
    predicted = ours(held, fitted)
    found["ours, constants fitted"] = _figures(predicted, happened)
    found["ours, constants and item difficulty fitted"] = _figures(
        _with_difficulty(train, held, ours(train, fitted), predicted), happened
    )
    return {"learners": len(learners), "held": len(held), "factors": factors, "ways": found}


def _numbered(train: list[list[RecordedTrial]], held: list[list[RecordedTrial]], name: str) -> dict[str, int]:
    values = {getattr(one, name) for trials in (*train, *held) for one in trials}
    return {value: number for number, value in enumerate(sorted(values))}


def _counters(train: list[list[RecordedTrial]], held: list[list[RecordedTrial]]) -> tuple[list[float], list[bool]]:
    items, skills = _numbered(train, held, "item"), _numbered(train, held, "skill")
    counters = Counters(len(items), len(skills))

    def rows(which: list[list[RecordedTrial]]) -> tuple[Floats, Floats]:
        pairs = [
            counters.rows([(items[o.item], skills[o.skill], o.right) for o in trials if o.right is not None])
            for trials in which
        ]
        return np.concatenate([x for x, _ in pairs]), np.concatenate([y for _, y in pairs])

    weights = fit_logistic(*rows(train))
    x, y = rows(held)
    return (1.0 / (1.0 + np.exp(-(x @ weights)))).tolist(), [bool(one) for one in y]


def _with_difficulty(
    train: list[list[RecordedTrial]], held: list[list[RecordedTrial]], before: list[float], predicted: list[float]
) -> list[float]:
    """Predictions from the memory's log odds, with a slope and a difficulty for each item.

    Both are learned from the training learners.
    """
    items = _numbered(train, held, "item")

    def rows(which: list[list[RecordedTrial]], p: list[float]) -> Floats:
        x = np.zeros((len(p), 2 + len(items)))
        x[:, 0], x[:, 1] = 1.0, _logit(p)
        x[np.arange(len(p)), [2 + items[o.item] for trials in which for o in trials if o.right is not None]] = 1.0
        return x

    y = np.array([float(o.right) for trials in train for o in trials if o.right is not None])
    weights = fit_logistic(rows(train, before), y)
    foreseen: list[float] = (1.0 / (1.0 + np.exp(-(rows(held, predicted) @ weights)))).tolist()
    return foreseen
