"""A rival that counts: a logistic model of successes and failures of each skill, which knows nothing of time.

Performance factors (Pavlik, Cen and Koedinger 2009) on items and skills: logit p = item + skill + sum over {item,
skill} of a ln(1 + right) + b ln(1 + wrong), fitted by Newton's method with a small ridge.
"""

from __future__ import annotations

import numpy as np

__all__ = ["Counters", "fit_logistic"]

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


class Counters:
    """Turns a learner's tries into rows: the item, the skill, and how often each went right and wrong before."""

    def __init__(self, items: int, skills: int) -> None:
        self.items, self.skills = items, skills

    def rows(self, tries: list[tuple[int, int, bool]]) -> tuple[np.ndarray, np.ndarray]:
        """(x, y) of one learner: (item, skill, right) in order, each row as it stood before the try."""
        x = np.zeros((len(tries), 1 + self.items + self.skills + 4))
        right: dict[tuple[str, int], int] = {}
        wrong: dict[tuple[str, int], int] = {}
        for row, (item, skill, good) in zip(x, tries, strict=True):
            row[0] = row[1 + item] = row[1 + self.items + skill] = 1.0
            for place, name in enumerate((("item", item), ("skill", skill))):
                row[-4 + 2 * place] = np.log1p(right.get(name, 0))
                row[-3 + 2 * place] = np.log1p(wrong.get(name, 0))
                side = right if good else wrong
                side[name] = side.get(name, 0) + 1
        return x, np.array([float(good) for _, _, good in tries])
