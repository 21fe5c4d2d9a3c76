"""Expected gain per second: what playing each card now would add to the recall of the whole deck."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduler.card import CardSpec
from scheduler.memory import Memory

__all__ = ["Gains"]


class Gains:
    """The deck as arrays, kept in step with a memory.

    Worth of practising a skill: what one practice would add to its recall at
    each horizon, times the sum over its cards of weight x slope of log
    recall. A card's worth is the sum over its skills.
    """

    def __init__(self, cards: Sequence[CardSpec], memory: Memory) -> None:
        self.memory = memory
        self.names: list[str] = []
        self.index: dict[str, int] = {}
        rows = []
        for card in cards:
            rows.append([self._number(s) for s in (*card.skills, f"card:{card.id}")])
        widest = max((len(r) for r in rows), default=1)
        pad = len(self.names)
        self.skill_of = np.array(
            [r[:-1] + [pad] * (widest - len(r)) + r[-1:] for r in rows], dtype=np.intp
        ).reshape(len(rows), widest)
        self.alone = np.array([len(r) == 1 for r in rows])
        self.weight = np.array([card.weight for card in cards])
        count = pad + 1
        experts = memory.experts
        self.last = np.full(count, np.nan)
        self.half = np.repeat(np.array([e.first_half_life_days for e in experts])[:, None], count, 1)
        power = np.array([e.power for e in experts])
        self.power, self.exponential = np.flatnonzero(power), np.flatnonzero(~power)
        self.sharing = np.array([e.sharing for e in experts])
        for name in self.names:
            self.touch(name)

    def _number(self, skill: str) -> int:
        if skill not in self.index:
            self.index[skill] = len(self.names)
            self.names.append(skill)
        return self.index[skill]

    def users(self) -> list[int]:
        """How many cards need each skill."""
        return np.bincount(self.skill_of.ravel(), minlength=len(self.last)).tolist()

    def touch(self, skill: str) -> None:
        """Bring one skill's arrays in step with its trace."""
        i = self.index.get(skill)
        if i is None:
            return
        trace = self.memory.traces.get(skill)
        if trace is None:
            self.last[i] = np.nan
            self.half[:, i] = [e.first_half_life_days for e in self.memory.experts]
        else:
            self.last[i] = trace.last_days
            self.half[:, i] = trace.half_lives_days

    def copy_for(self, memory: Memory) -> Gains:
        """The same deck beside a copy of the memory."""
        other = object.__new__(Gains)
        other.__dict__.update(self.__dict__)
        other.memory, other.last, other.half = memory, self.last.copy(), self.half.copy()
        return other

    def _curve(self, x: np.ndarray) -> np.ndarray:
        y = np.empty_like(x)
        y[self.power] = (1.0 + 3.0 * x[self.power]) ** -0.5
        y[self.exponential] = np.exp2(-x[self.exponential])
        return y

    def _skill_recalls(self, at_days: float, met: np.ndarray) -> np.ndarray:
        """Recall of every skill [experts, skills]; met: the numbers of those met so far."""
        past = np.maximum(0.0, at_days - self.last[met])
        r = np.full(self.half.shape, self.memory.constants.unmet_recall)
        r[:, met] = self._curve(past / self.half[:, met])
        r[:, -1] = 1.0
        return r

    def recalls(self, at_days: float) -> np.ndarray:
        """Recall of every card at a moment, in the order of the deck."""
        r = self._skill_recalls(at_days, np.flatnonzero(~np.isnan(self.last)))
        shared = np.where(self.alone, 0.0, self.sharing[:, None]) * r[:, self.skill_of[:, :-1]].prod(2)
        p = 1.0 - (1.0 - shared) * (1.0 - r[:, self.skill_of[:, -1]])
        return np.asarray(self.memory.weights()) @ p

    def per_card(self, at_days: float) -> tuple[np.ndarray, np.ndarray]:
        """(gain of each card's skills [cards, skills], recall of each card now)."""
        c = self.memory.constants
        weights = np.asarray(self.memory.weights())
        # A skill not met yet stands at its first half-life, whichever it is: worked out once for all of them.
        known = ~np.isnan(self.last)
        met = np.flatnonzero(known)
        worked = np.append(met, np.flatnonzero(~known)[:1])
        stands = np.full(len(known), len(worked) - 1)
        stands[worked] = np.arange(len(worked))
        known = known[worked]
        now = self._skill_recalls(at_days, met)
        first, half = now[:, worked], self.half[:, worked]
        grown = np.where(known, half * (1.0 + c.growth * (1.0 - first) ** c.growth_exponent), half)
        shrunk = np.where(known, half * 0.7, half)
        worth = np.zeros(len(self.last))
        for horizon in c.horizons_days:
            later = self._skill_recalls(at_days + horizon, met)
            kept = first * self._curve(horizon / grown) + (1.0 - first) * self._curve(horizon / shrunk)
            step = np.maximum(kept[:, stands] - later, 0.0)
            parts = later[:, self.skill_of]
            own = parts[:, :, -1]
            rest = parts[:, :, :-1]
            shared = np.where(self.alone, 0.0, self.sharing[:, None]) * rest.prod(2)
            p = 1.0 - (1.0 - shared) * (1.0 - own)
            slope = (weights[:, None] * self.weight) / (p + c.utility_floor)
            through_shared = slope * (1.0 - own) * shared
            for k in range(rest.shape[2]):
                self._add(worth, k, through_shared / np.maximum(rest[:, :, k], 0.05), step)
            self._add(worth, -1, slope * (1.0 - shared), step)
        worth[-1] = 0.0
        return worth[self.skill_of], self.recalls(at_days)

    def _add(self, worth: np.ndarray, column: int, flow: np.ndarray, step: np.ndarray) -> None:
        """Add to each skill in a column what its cards gain, flow [experts, cards], times its own step [experts, skills].

        One count over all experts at once: each expert's skills are numbered after the last one's.
        """
        experts, skills = step.shape
        places = self.skill_of[:, column] + skills * np.arange(experts)[:, None]
        totals = np.bincount(places.ravel(), flow.ravel(), skills * experts).reshape(experts, skills)
        for expert in range(experts):  # in order, so that the sum is the same to the last bit
            worth += totals[expert] * step[expert]
