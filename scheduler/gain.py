"""Expected gain per second: what playing each card now would add to the recall of the whole deck.

For every card and every member of the committee: if it goes clean, and if it
does not, each of its skills moves; for each skill, the change in the utility
of every card that needs it is summed (and what the card gains from all its
skills moving at once), at several horizons. Utility is log(recall + floor).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from scheduler.card import CARD_KIND, CardSpec
from scheduler.memory.committee import Memory

__all__ = ["Gains"]


class _Group(NamedTuple):
    """Members that blend skills alike, and their skill values, as arrays.

    weights [members]; mix: values of a card's skills, by column, to recall;
    now [members, skills]; later, clean, missed [members, horizons, skills].
    """

    weights: np.ndarray
    mix: Callable[[Sequence[np.ndarray]], np.ndarray]
    now: np.ndarray
    later: np.ndarray
    clean: np.ndarray
    missed: np.ndarray
    floor: float
    empty: float


class Gains:
    """The deck as arrays, kept in step with a memory."""

    def __init__(self, cards: Sequence[CardSpec], memory: Memory) -> None:
        self.memory = memory
        self.names: list[str] = []
        self.index: dict[str, int] = {}
        rows = [[self._number(s) for s in (*c.skills, f"{CARD_KIND}:{c.id}")] for c in cards]
        widest = max((len(r) for r in rows), default=1)
        pad = len(self.names)
        table = [r[:-1] + [pad] * (widest - len(r)) + r[-1:] for r in rows]
        self.skill_of = np.array(table, dtype=np.intp).reshape(len(rows), widest)
        self.columns = [np.ascontiguousarray(c) for c in self.skill_of.T]
        shared = np.array([len(r) - 1 for r in rows])
        self.alone = shared == 0
        self.shared_count = np.maximum(shared, 1)
        self.seconds = np.array([card.seconds for card in cards])
        self.weight = np.array([card.weight for card in cards])
        c = memory.constants
        count = pad + 1
        self.last = np.full(count, np.nan)
        self.half = np.empty((len(c.curves), count))
        self.good = np.zeros((len(c.windows_days), count))
        self.tries = np.zeros((len(c.windows_days), count))
        for name in self.names:
            self.touch(name)
        self.half[:, -1] = 1.0

    def _number(self, skill: str) -> int:
        return self.index.setdefault(skill, self._new(skill))

    def _new(self, skill: str) -> int:
        if skill not in self.index:
            self.names.append(skill)
        return len(self.names) - 1

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
            self.half[:, i] = [c.first_half_life_days for c in self.memory.constants.curves]
            self.good[:, i] = 0.0
            self.tries[:, i] = 0.0
        else:
            self.last[i] = trace.last_days
            self.half[:, i] = trace.half_lives_days
            self.good[:, i] = trace.clean_counts
            self.tries[:, i] = trace.try_counts

    def copy_for(self, memory: Memory) -> Gains:
        """The same deck beside a copy of the memory."""
        other = object.__new__(Gains)
        other.__dict__.update(self.__dict__)
        other.memory = memory
        for name in ("last", "half", "good", "tries"):
            setattr(other, name, getattr(self, name).copy())
        return other

    def per_card(self, at_days: float) -> tuple[np.ndarray, np.ndarray]:
        """(gain of each card's skills [cards, skills], recall of each card now).

        Recall is the committee's mean, before the player's correction.
        """
        weights = np.array(self.memory.weights())
        used = weights >= min(self.memory.constants.leave_out_below, weights.max())
        weights = np.where(used, weights, 0.0)
        weights /= weights.sum()
        worth = np.zeros(self.skill_of.shape)
        recall = np.zeros(len(self.skill_of))
        for group in self._groups(at_days, weights):
            self._add(group, worth, recall)
        return worth, recall

    def _groups(self, at_days: float, weights: np.ndarray) -> list[_Group]:
        c = self.memory.constants
        met = ~np.isnan(self.last)
        past = np.where(met, np.maximum(0.0, at_days - self.last), 0.0)
        horizons = np.array(c.horizons_days)[:, None]
        groups = []
        blends = len(c.blends)
        by_curve = weights[:-1].reshape(len(c.curves), blends)
        curves = np.flatnonzero(by_curve.any(1))
        if len(curves):
            power = np.array([c.curves[k].power for k in curves])
            values = self._half_values(curves, power, past, met, horizons)
            for b, blend in enumerate(c.blends):
                rows = np.flatnonzero(by_curve[curves, b] > 0.0)
                if len(rows):
                    groups.append(
                        _Group(
                            by_curve[curves[rows], b],
                            self._blend(blend.sharing, blend.weakest),
                            *(v[rows] for v in values),
                            c.partner_floor,
                            1.0,
                        )
                    )
        if weights[-1] > 0.0:
            groups.append(
                _Group(
                    weights[-1:], self._mix_counts, *self._count_values(past, horizons), -np.inf, 0.0
                )
            )
        return groups

    def _half_values(self, curves, power, past, met, horizons):
        c = self.memory.constants
        half = self.half[curves]
        unmet = self.memory.unmet_recall()

        def curve(x: np.ndarray) -> np.ndarray:
            out = np.empty_like(x)
            out[power] = 1.0 / np.sqrt(1.0 + 3.0 * x[power])
            out[~power] = np.exp2(-x[~power])
            return out

        now = curve(past / half)
        now[:, ~met] = unmet
        gone = 1.0 - now
        grown = half * (1.0 + c.growth * gone**c.growth_exponent)
        shrunk = np.where(met, half * (1.0 - c.shrink * gone), half)
        half, grown, shrunk = half[:, None], grown[:, None], shrunk[:, None]
        later = curve((past + horizons) / half)
        later[:, :, ~met] = unmet
        clean = np.maximum(curve(horizons / grown), later)
        missed = np.maximum(curve(horizons / shrunk), later)
        for array in (later, clean, missed):
            array[:, :, -1] = 1.0
        now[:, -1] = 1.0
        return now, later, clean, missed

    def _count_values(self, past, horizons):
        """A skill's part of the log odds, for shared (mean of them) and own skills alike."""
        c = self.memory.constants
        _, own_good, own_tries, shared_good, shared_tries = self.memory.heads.counts.mean
        own = np.zeros(len(past), dtype=bool)
        own[self.columns[-1]] = True
        by_good = np.where(own, own_good, shared_good)
        by_tries = np.where(own, own_tries, shared_tries)
        windows = np.array(c.windows_days)[:, None]
        weight = np.array(c.window_weights)

        def value(good: np.ndarray, tries: np.ndarray) -> np.ndarray:
            return by_good * (weight @ np.log1p(good)) + by_tries * (weight @ np.log1p(tries))

        fade = np.exp(-past / windows)
        good, tries = self.good * fade, self.tries * fade
        now = value(good, tries)
        later, clean, missed = [], [], []
        for horizon in horizons[:, 0]:
            keep = np.exp(-horizon / windows)
            later.append(value(good * keep, tries * keep))
            clean.append(value((good + 1.0) * keep, (tries + 1.0) * keep))
            missed.append(value(good * keep, (tries + 1.0) * keep))
        arrays = [now[None], *(np.array(a)[None] for a in (later, clean, missed))]
        for array in arrays:
            array[..., -1] = 0.0
        return arrays

    def _blend(self, sharing: float, weakest: bool):
        part = np.where(self.alone, 0.0, sharing)

        def product(values: Sequence[np.ndarray]) -> np.ndarray:
            together = part
            for value in values[:-1]:
                together = together * value
            return 1.0 - (1.0 - together) * (1.0 - values[-1])

        def least(values: Sequence[np.ndarray]) -> np.ndarray:
            lowest = values[0]
            for value in values[1:-1]:
                lowest = np.minimum(lowest, value)
            return part * lowest + (1.0 - part) * values[-1]

        return least if weakest else product

    def _mix_counts(self, values: Sequence[np.ndarray]) -> np.ndarray:
        z = values[-1] + self.memory.heads.counts.mean[0]
        shared = 0.0
        for value in values[:-1]:
            shared = shared + value
        z = z + shared / self.shared_count
        return 1.0 / (1.0 + np.exp(-np.clip(z, -30.0, 30.0)))

    def _add(self, group: _Group, worth: np.ndarray, recall: np.ndarray) -> None:
        """Add one group's part to the worth of every card's skills and to recall."""
        c = self.memory.constants
        cols = self.columns
        width, count, members = len(cols), len(self.last), len(group.weights)
        chance = group.mix([group.now[:, col] for col in cols])
        recall += group.weights @ chance
        scale = self.weight * np.array(c.horizon_weights)[:, None]
        base = [group.later[:, :, col] for col in cols]
        floored = [np.maximum(b, group.floor) for b in base[:-1]]

        def utility(values: Sequence[np.ndarray]) -> np.ndarray:
            return np.log(group.mix(values) + c.utility_floor)

        def one(k: int, value: np.ndarray) -> list[np.ndarray]:
            if k == width - 1:
                return [*base[:-1], value]
            return [*floored[:k], value, *floored[k + 1 :], base[-1]]

        as_is = utility(base)
        start = [utility(one(k, base[k])) for k in range(width - 1)] + [as_is]
        offset = np.arange(members)[:, None] * count
        for after, share in ((group.clean, chance), (group.missed, 1.0 - chance)):
            new = [after[:, :, col] for col in cols]
            flows = [utility(one(k, new[k])) - start[k] for k in range(width)]
            whole = (utility(new) - as_is - sum(flows)) * scale
            factor = group.weights[:, None] * share
            for k, col in enumerate(cols):
                flow = (flows[k] * scale).sum(1)
                total = np.bincount((offset + col).ravel(), flow.ravel(), members * count)
                total = total.reshape(members, count)
                total[:, -1] = 0.0
                worth[:, k] += (factor * total[:, col]).sum(0)
            worth[:, -1] += (factor * np.maximum(whole.sum(1), 0.0)).sum(0)
