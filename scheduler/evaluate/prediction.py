"""How good a prediction was: log-loss, area under the curve, calibration in ten bins, and that of each member."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from scheduler.card import CARD_KIND
from scheduler.memory import Constants
from scheduler.memory.learner import days_of
from scheduler.planning.planner import Planner
from scheduler.planning.rules import TeachingRules
from scheduler.review import Review

__all__ = ["BINS", "WARM_UP", "area_under_curve", "bin_sums", "bins_error", "log_loss", "member_losses"]

BINS = 10
WARM_UP = 200
"""Reviews before predictions are judged (on simulated players)."""

_SURE = 1e-6


def log_loss(predicted: Sequence[float], happened: Sequence[bool]) -> float:
    """Mean negative log of the chance given to what happened, in nats."""
    p = np.clip(np.asarray(predicted, dtype=float), _SURE, 1.0 - _SURE)
    return float(-np.where(np.asarray(happened, dtype=bool), np.log(p), np.log1p(-p)).mean())


def area_under_curve(predicted: Sequence[float], happened: Sequence[bool]) -> float:
    """The chance that a success was predicted above a failure, a tie counting half (the Mann-Whitney statistic).

    It is nan when all succeeded or all failed.
    """
    p, y = np.asarray(predicted, dtype=float), np.asarray(happened, dtype=bool)
    good, bad = int(y.sum()), int((~y).sum())
    if not good or not bad:
        return float("nan")
    _, place, counts = np.unique(p, return_inverse=True, return_counts=True)
    ranks = (np.cumsum(counts) - (counts - 1) / 2.0)[place]
    return float((ranks[y].sum() - good * (good + 1) / 2.0) / (good * bad))


def bin_sums(predicted: Sequence[float], happened: Sequence[bool]) -> list[list[float]]:
    """For each of ten equal bins of prediction: the sum of predictions, clean tries, and tries.

    The sums of several players may be added.
    """
    p, y = np.asarray(predicted, dtype=float), np.asarray(happened, dtype=float)
    place = np.minimum((p * BINS).astype(int), BINS - 1)
    sums = (np.bincount(place, w, BINS) for w in (p, y, np.ones_like(p)))
    rows: list[list[float]] = np.stack(list(sums), axis=1).tolist()
    return rows


def bins_error(sums: Sequence[Sequence[float]]) -> float:
    """The expected calibration error: the mean distance of predicted from happened over bins, weighted by tries."""
    rows = np.asarray(sums, dtype=float)
    return float(np.abs(rows[:, 0] - rows[:, 1]).sum() / max(rows[:, 2].sum(), 1.0))


def member_losses(
    reviews: Sequence[Review], members: Mapping[str, Constants], rules: TeachingRules
) -> dict[str, float]:
    """Log-loss after the warm-up of each single expert, alone, on the reviews the whole committee chose.

    members: the constants of a committee of that expert only, by name.
    """
    happened = [review.grade.clean for review in reviews[WARM_UP:]]
    found = {}
    for name, constants in members.items():
        planner, predicted = Planner((), 0, (), rules, constants), []
        for number, review in enumerate(reviews):
            if number >= WARM_UP:
                skills = (*review.skills, f"{CARD_KIND}:{review.card}")
                predicted.append(planner.memory.recall(skills, days_of(review.at)))
            planner.record(review)
        found[name] = log_loss(predicted, happened)
    return found
