"""A rival that counts: a logistic model of right and wrong tries of each item and skill, and of the time since.

Performance factors (Pavlik, Cen and Koedinger 2009) on items and skills: logit p = item + sum over {the item, each
kind of skill} of a ln(1 + right) + b ln(1 + wrong), fitted by Newton's method with a small ridge. With gaps it also
knows how long ago the last of each was, in log minutes, and how that went. With times it also knows how quickly the
item's last right answer began. What is counted of a skill leaves out the item itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

__all__ = ["CountedTry", "Counters", "fit_logistic"]

_RIDGE = 1.0
_ROUNDS = 25


def fit_logistic(x: np.ndarray, y: np.ndarray, ridge: float = _RIDGE) -> np.ndarray:
    """Weights of a logistic regression [columns], the ridge on all of them; x [rows, columns], y 0 or 1 [rows]."""
    weights = np.zeros(x.shape[1])
    for _ in range(_ROUNDS):
        p = 1.0 / (1.0 + np.exp(-np.clip(x @ weights, -30.0, 30.0)))
        slope = x.T @ (y - p) - ridge * weights
        bend = (x * (p * (1.0 - p))[:, None]).T @ x + ridge * np.eye(x.shape[1])
        step = np.linalg.solve(bend, slope)
        weights += step
        if np.abs(step).max() < 1e-6:
            break
    return weights


class CountedTry(NamedTuple):
    """One trial as the counters see it.

    minutes: on any clock. skills: one of each kind, in one order. right: None where the answer was only studied.
    seconds: prompt to the first key, or None.
    """

    minutes: float
    item: int
    skills: Sequence[str]
    right: bool | None
    seconds: float | None = None


class Counters:
    """Turns a learner's trials into rows: the item, and what went before of it and of its skills.

    items: how many there are. kinds: how many kinds of skill. gaps, times: see the module.
    """

    def __init__(self, items: int, kinds: int, gaps: bool = False, times: bool = False) -> None:
        self.items, self.kinds, self.gaps, self.times = items, kinds, gaps, times

    def rows(self, trials: Sequence[CountedTry]) -> tuple[np.ndarray, np.ndarray]:
        """(x, y) of one learner's answered trials in order, each row as it stood before the trial."""
        found: list[list[float]] = []
        answers: list[float] = []
        past: list[CountedTry] = []
        pace: list[float] = []
        for one in trials:
            if one.right is not None:
                own = [h for h in past if h.item == one.item]
                row = [0.0] * self.items + [1.0, *_ability(answers), *self._history(own, one)]
                row[one.item] = 1.0
                for kind in range(self.kinds):
                    alike = [h for h in past if h.item != one.item and h.skills[kind] == one.skills[kind]]
                    row += self._history(alike, one)
                if self.times:
                    row += _quickness(own, pace)
                found.append(row)
                answers.append(float(one.right))
            if one.seconds:
                pace.append(math.log(one.seconds))
            past.append(one)
        return np.array(found), np.array(answers)

    def _history(self, before: Sequence[CountedTry], now: CountedTry) -> list[float]:
        right, wrong = (sum(h.right is side for h in before) for side in (True, False))
        row = [math.log1p(right), math.log1p(wrong)]
        if self.gaps:
            studied, last = len(before) - right - wrong, before[-1] if before else None
            gap = math.log1p(max(0.0, now.minutes - last.minutes)) if last else 0.0
            well = float(last is not None and last.right is True)
            row += [math.log1p(studied), float(last is not None), gap, well, gap * well, gap * math.log1p(right)]
        return row


def _ability(answers: Sequence[float]) -> list[float]:
    """Log odds of a right answer so far, two of each added, and the same weighed by how many there are."""
    odds = math.log((sum(answers) + 2.0) / (len(answers) - sum(answers) + 2.0))
    return [odds, odds * math.log1p(len(answers)), math.log1p(len(answers))]


def _quickness(own: Sequence[CountedTry], pace: Sequence[float]) -> list[float]:
    """How much longer than the learner's usual the item's last right answer took, in logs, and whether there is one."""
    timed = [h.seconds for h in own if h.right and h.seconds]
    return [math.log(timed[-1]) - sum(pace) / len(pace), 1.0] if timed else [0.0, 0.0]
