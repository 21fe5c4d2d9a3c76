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
        self.power = np.array([e.power for e in experts])[:, None]
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
        return np.where(self.power, (1.0 + 3.0 * x) ** -0.5, np.exp2(-x))

    def _skill_recalls(self, at_days: float) -> np.ndarray:
        past = np.maximum(0.0, at_days - self.last)
        r = self._curve(past / self.half)
        r[:, np.isnan(self.last)] = self.memory.constants.unmet_recall
        r[:, -1] = 1.0
        return r

    def recalls(self, at_days: float) -> np.ndarray:
        """Recall of every card at a moment, in the order of the deck."""
        r = self._skill_recalls(at_days)
        shared = np.where(self.alone, 0.0, self.sharing[:, None]) * r[:, self.skill_of[:, :-1]].prod(2)
        p = 1.0 - (1.0 - shared) * (1.0 - r[:, self.skill_of[:, -1]])
        return np.asarray(self.memory.weights()) @ p

    def per_card(self, at_days: float) -> tuple[np.ndarray, np.ndarray]:
        """(gain of each card's skills [cards, skills], recall of each card now)."""
        c = self.memory.constants
        weights = np.asarray(self.memory.weights())
        now = self._skill_recalls(at_days)
        met = ~np.isnan(self.last)
        grown = np.where(met, self.half * (1.0 + c.growth * (1.0 - now) ** c.growth_exponent), self.half)
        shrunk = np.where(met, self.half * 0.7, self.half)
        worth = np.zeros(len(self.last))
        for horizon in c.horizons_days:
            later = self._skill_recalls(at_days + horizon)
            kept = now * self._curve(horizon / grown) + (1.0 - now) * self._curve(horizon / shrunk)
            step = np.maximum(kept - later, 0.0)
            parts = later[:, self.skill_of]
            own = parts[:, :, -1]
            rest = parts[:, :, :-1]
            shared = np.where(self.alone, 0.0, self.sharing[:, None]) * rest.prod(2)
            p = 1.0 - (1.0 - shared) * (1.0 - own)
            slope = (weights[:, None] * self.weight) / (p + c.utility_floor)
            for k in range(rest.shape[2]):
                flow = slope * (1.0 - own) * shared / np.maximum(rest[:, :, k], 0.05)
                for e in range(len(weights)):
                    total = np.bincount(self.skill_of[:, k], flow[e], len(worth))
                    worth += total * step[e]
            flow = slope * (1.0 - shared)
            for e in range(len(weights)):
                worth += np.bincount(self.skill_of[:, -1], flow[e], len(worth)) * step[e]
        worth[-1] = 0.0
        return worth[self.skill_of], self.recalls(at_days)
