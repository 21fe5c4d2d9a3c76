"""Simulated players: what is asked of them, they learn and forget by equations of their own.

`Halving` grows by the memory's own law with the same middle constants, so it flatters the memory.
`WeakestLink` grows by a law of the same form with other constants; its forgetting is published. These
laws stay as they are, so that figures of different versions compare. `Traces` and `Windows` name their sources.

The planner never sees this module (a test enforces it). Each family gives
every skill a state; `values` reads it at a moment, `chance` turns the values
of a card's skills into the chance of a clean first try, and `practise`
changes it. `ahead` says what one practice now would leave at later moments,
for the clairvoyant rival. Times are days.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import overload

import numpy as np

from scheduler.evaluate.figures import Floats
from scheduler.evaluate.simulated_deck import SimulatedDeck

__all__ = ["FAMILIES", "OUTSIDE", "SECOND_TRY", "SHARED_WEIGHTS", "SimulatedPlayer"]

SHARED_WEIGHTS = np.array([0.4, 0.4, 0.2])
"""How much form, root and spelling count where their states are averaged."""


def _logistic(x: Floats) -> Floats:
    return 1.0 / (1.0 + np.exp(-np.clip(x, -40.0, 40.0)))


class SimulatedPlayer:
    """What every family has in common: skills shared, skills known at the start, and speed.

    sharing: how much of a card lies in its shared skills, 0 to 1.
    known: chance that a skill is already known at the start.
    """

    def __init__(self, deck: SimulatedDeck, rng: np.random.Generator, sharing: float, known: float = 0.0) -> None:
        self.deck = deck
        self.rng = rng
        self.sharing = sharing
        self.skill_of = deck.skill_of
        self.size = len(deck.names)
        self.known = rng.random(self.size) < known
        self.clean_seconds = 15.0 * np.exp(rng.normal(0.0, 0.15))
        self.miss_seconds = self.clean_seconds * rng.uniform(1.5, 2.2)
        self.setup()

    @overload
    def spread(self, middle: float, sigma: float) -> float: ...

    @overload
    def spread(self, middle: float, sigma: float, size: int) -> Floats: ...

    def spread(self, middle: float, sigma: float, size: int | None = None) -> float | Floats:
        """A log-normal draw around a median, or several."""
        drawn: float | Floats = middle * np.exp(self.rng.normal(0.0, sigma, size))
        return drawn

    def recalls(self, at: float) -> Floats:
        """True chance of a clean first try for every card."""
        return self.chance(self.values(at)[self.skill_of])

    def setup(self) -> None:
        """Draw this player's parameters and the state before the first session."""
        raise NotImplementedError

    def values(self, at: float) -> Floats:
        """The state of every skill as it counts at a moment, [skills]."""
        raise NotImplementedError

    def chance(self, values: Floats) -> Floats:
        """Chance of clean from the values of a card's skills, [..., skills of a card]."""
        raise NotImplementedError

    def practise(self, card: int, clean: bool, at: float) -> None:
        """Changes the state by one attempt: the answer is shown, and a miss is repeated until it is right."""
        raise NotImplementedError

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        """The values at `at + horizon` days: without practice, after a clean try now, and after a miss now."""
        raise NotImplementedError


class Traces(SimulatedPlayer):
    """Freshness-dependent traces (Pavlik and Anderson 2005, 2008).

    m = ln sum_k t_k^-d_k, d_k = c e^(m at practice k) + alpha, p = logistic((m - tau) / s),
    t in seconds, time between sessions scaled by .025. A card's m is the
    weighted mean of its skills'. The 64 latest traces of a skill are kept.
    """

    KEPT = 64
    BETWEEN = 0.025
    FLOOR = -1.7

    def setup(self) -> None:
        self.alpha = self.spread(0.177, 0.15)
        self.c = self.spread(0.217, 0.2)
        self.tau = -0.704 + self.rng.normal(0.0, 0.1)
        self.s = self.spread(0.255, 0.2)
        self.offset = self.rng.normal(0.0, 0.12, self.size)
        self.clock = 0.0
        self.last: float | None = None
        self.when = np.full((self.size, self.KEPT), np.nan)
        self.decay = np.full((self.size, self.KEPT), np.nan)  # not 0: nan ** 0 is 1, a trace nobody left
        self.slot = np.zeros(self.size, dtype=int)
        for k in range(6):
            self.when[self.known, k] = -86400.0 * self.BETWEEN * 20.0 * (6 - k)
            self.decay[self.known, k] = self.alpha
        self.slot[self.known] = 6

    def _clock(self, at: float) -> float:
        if self.last is None:
            return self.clock
        gap = (at - self.last) * 86400.0
        return self.clock + (gap if gap < 1800.0 else 1800.0 + (gap - 1800.0) * self.BETWEEN)

    def _sum(self, clock: float) -> Floats:
        used = min(int(self.slot.max(initial=0)), self.KEPT)
        age = np.maximum(clock - self.when[:, :used], 1.0)
        total: Floats = np.nansum(age ** -self.decay[:, :used], axis=1)
        return total

    def _m(self, total: Floats) -> Floats:
        with np.errstate(divide="ignore"):
            m: Floats = np.maximum(np.log(total), self.FLOOR) + self.offset
        return m

    def values(self, at: float) -> Floats:
        return self._m(self._sum(self._clock(at)))

    def chance(self, values: Floats) -> Floats:
        m = (1.0 - self.sharing) * values[..., -1] + self.sharing * (values[..., :-1] @ SHARED_WEIGHTS)
        return _logistic((m - self.tau) / self.s)

    def practise(self, card: int, clean: bool, at: float) -> None:
        clock = self._clock(at)
        skills = self.skill_of[card]
        age = np.maximum(clock - self.when[skills], 1.0)
        total = np.nansum(age ** -self.decay[skills], axis=1)
        slots = self.slot[skills] % self.KEPT
        self.when[skills, slots] = clock
        self.decay[skills, slots] = self.c * total + self.alpha
        self.slot[skills] += 1
        self.clock, self.last = clock, at

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        clock = self._clock(at)
        seconds = horizon * 86400.0 * self.BETWEEN + 1800.0
        now = self._sum(clock)
        later = self._sum(clock + seconds)
        more = later + seconds ** -(self.c * now + self.alpha)
        after = self._m(more)
        return self._m(later), after, after


class Windows(SimulatedPlayer):
    """Counts in time windows (Lindsey et al. 2014; Choffin et al. 2019).

    logit p = ability - difficulty + sum over skills and windows {1 h, 1 d,
    7 d, 30 d, ever} of theta+ ln(1 + clean) - theta- ln(1 + tries); shared
    skills weigh `sharing`, the card's own the rest. theta- is below 0 for
    most players, since the answer is always shown.
    """

    WINDOWS = (1.0 / 24.0, 1.0, 7.0, 30.0, np.inf)
    CLEAN = np.array([0.3, 0.5, 0.8, 0.7, 0.6])
    TRIES = np.array([0.1, 0.1, 0.15, 0.1, 0.1])

    def setup(self) -> None:
        self.ability = self.rng.normal(-1.6, 0.4)
        self.difficulty = np.zeros(self.size)
        own = self.skill_of[:, -1]
        self.difficulty[own] = self.rng.normal(0.0, 0.5, len(own)) / max(1.0 - self.sharing, 0.1)
        self.plus = self.CLEAN * np.exp(self.rng.normal(0.0, 0.25, 5))
        self.minus = -self.TRIES * self.rng.normal(1.0, 0.7, 5)
        self.before = np.where(self.known, 25.0, 0.0)
        self.times: list[float] = []
        self.so_far = [np.zeros((2, self.size))]

    def _counts(self, at: float) -> tuple[Floats, Floats]:
        starts = [bisect_right(self.times, at - window) for window in self.WINDOWS]
        good, all_ = np.stack([self.so_far[-1] - self.so_far[start] for start in starts], axis=1)
        good[-1] += self.before
        all_[-1] += self.before
        return good, all_

    def _value(self, good: Floats, all_: Floats) -> Floats:
        return self.plus @ np.log1p(good) - self.minus @ np.log1p(all_) - self.difficulty

    def values(self, at: float) -> Floats:
        return self._value(*self._counts(at))

    def chance(self, values: Floats) -> Floats:
        own, rest = values[..., -1], values[..., :-1] @ SHARED_WEIGHTS
        return _logistic(self.ability + (1.0 - self.sharing) * own + self.sharing * rest)

    def practise(self, card: int, clean: bool, at: float) -> None:
        counts = self.so_far[-1].copy()
        counts[:, self.skill_of[card]] += np.array([[float(clean)], [1.0]])
        self.times.append(at)
        self.so_far.append(counts)

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        good, all_ = self._counts(at + horizon)
        inside = (np.array(self.WINDOWS) > horizon).astype(float)[:, None]
        return (
            self._value(good, all_),
            self._value(good + inside, all_ + inside),
            self._value(good, all_ + inside),
        )


class _TimeScale(SimulatedPlayer):
    """Families that keep one time scale of forgetting, in days, and the last practice of each skill."""

    FIRST = 1.0
    GROWTH = 1.6
    POWER = 0.8
    SHRINK = 0.5

    def setup(self) -> None:
        self.first = self.spread(self.FIRST, 0.35) / self.spread(1.0, 0.3, self.size)
        self.growth = self.spread(self.GROWTH, 0.2)
        self.time_scale = np.where(self.known, self.first * 60.0, self.first)
        self.last = np.where(self.known, -10.0, np.nan)
        self.extra()

    def extra(self) -> None:
        """Further parameters of the family."""

    def curve(self, x: Floats) -> Floats:
        """Retention from time over the time scale."""
        raise NotImplementedError

    def values(self, at: float) -> Floats:
        r = self.curve(np.maximum(at - self.last, 0.0) / self.time_scale)
        return np.where(np.isnan(self.last), 0.0, r)

    def _next(self, r: Floats, time_scale: Floats, met: Floats, clean: bool) -> Floats:
        if clean:
            new = time_scale * (1.0 + self.growth * (1.0 - r) ** self.POWER)
        else:
            new = time_scale * (1.0 - self.SHRINK * (1.0 - r))
        return np.where(met, new, time_scale)

    def practise(self, card: int, clean: bool, at: float) -> None:
        skills = self.skill_of[card]
        r = self.values(at)[skills]
        met = ~np.isnan(self.last[skills])
        self.time_scale[skills] = np.maximum(
            self._next(r, self.time_scale[skills], met, clean), 0.3 * self.first[skills]
        )
        self.last[skills] = at

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        r = self.values(at)
        met = ~np.isnan(self.last)
        good = self.curve(horizon / self._next(r, self.time_scale, met, True))
        bad = self.curve(horizon / self._next(r, self.time_scale, met, False))
        return self.values(at + horizon), good, bad


class Halving(_TimeScale):
    """Exponential forgetting; half-lives grow most from difficult recalls.

    The law of growth, 1.6 (1 - recall)^0.8, is that of the memory that is judged.

    p = 1 - (1 - sharing x form x root x spelling) (1 - own).
    """

    FIRST = 0.6

    def curve(self, x: Floats) -> Floats:
        return np.exp2(-x)

    def chance(self, values: Floats) -> Floats:
        shared = self.sharing * values[..., :-1].prod(-1)
        clean: Floats = 1.0 - (1.0 - shared) * (1.0 - values[..., -1])
        return clean


class WeakestLink(_TimeScale):
    """Power-law forgetting (Wickelgren 1974; Wixted and Ebbesen 1997); the weakest shared skill decides."""

    FIRST = 0.5
    GROWTH = 1.1
    POWER = 0.6

    def extra(self) -> None:
        self.exponent = self.spread(0.4, 0.15)

    def curve(self, x: Floats) -> Floats:
        kept: Floats = (1.0 + x) ** -self.exponent
        return kept

    def chance(self, values: Floats) -> Floats:
        clean: Floats = self.sharing * values[..., :-1].min(-1) + (1.0 - self.sharing) * values[..., -1]
        return clean


class SlowHands(SimulatedPlayer):
    """Motor skill: a level rises a little with every practice and sinks slowly afterwards.

    Level L in 0..1, dL = rate (1 - L) a practice, gains of one day count less
    and less (massed practice), L sinks to a floor by a power of time. The
    card's chance is a product of levels mixed by sharing.
    """

    def setup(self) -> None:
        self.rate = self.spread(0.22, 0.2)
        self.exponent = self.spread(0.13, 0.2)
        self.level = np.where(self.known, 0.9, 0.0)
        self.last = np.where(self.known, -10.0, np.nan)
        self.today = np.zeros(self.size)
        self.hard = self.spread(1.0, 0.25, self.size)

    def _keep(self, gap: Floats) -> Floats:
        kept: Floats = (1.0 + np.maximum(gap, 0.0)) ** -self.exponent
        return kept

    def values(self, at: float) -> Floats:
        return np.where(np.isnan(self.last), 0.0, self.level * self._keep(at - self.last))

    def _gain(self, level: Floats, today: Floats, hard: Floats, clean: bool) -> Floats:
        rate = np.minimum(self.rate / hard * (1.0 if clean else 0.8) / (1.0 + today), 0.9)
        risen: Floats = level + rate * (1.0 - level)
        return risen

    def practise(self, card: int, clean: bool, at: float) -> None:
        skills = self.skill_of[card]
        today = np.where(at - self.last[skills] < 0.4, self.today[skills], 0.0)
        now = self.values(at)[skills]
        base = 0.5 * (now + self.level[skills])
        self.level[skills] = self._gain(base, today, self.hard[skills], clean)
        self.today[skills] = today + 1.0
        self.last[skills] = at

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        today = np.where(at - self.last < 0.4, self.today, 0.0)
        base = 0.5 * (self.values(at) + self.level)
        keep = self._keep(np.array(horizon))
        return (
            self.values(at + horizon),
            self._gain(base, today, self.hard, True) * keep,
            self._gain(base, today, self.hard, False) * keep,
        )

    def chance(self, values: Floats) -> Floats:
        clean: Floats = self.sharing * values[..., :-1].prod(-1) + (1.0 - self.sharing) * values[..., -1]
        return clean


class CuredBySecond(WeakestLink):
    """A miss is cured by getting the card right later on the same day, and left so costs more than usual.

    The first clean try within `SAME_DAY` after a miss makes the card's own time scale grow as a success without
    any recall does, on top of the try itself (after successive relearning: Rawson and Dunlosky 2011; how much is a
    choice of this simulation).
    """

    SHRINK = 0.7
    SAME_DAY = 0.4

    def extra(self) -> None:
        super().extra()
        self.missed_at = np.full(self.size, np.nan)

    def practise(self, card: int, clean: bool, at: float) -> None:
        own = self.skill_of[card][-1]
        second = at - self.missed_at[own] < self.SAME_DAY
        super().practise(card, clean, at)
        self.missed_at[own] = np.nan if clean else at
        if second:
            self.again(own, clean)

    def again(self, own: int, clean: bool) -> None:
        """A card missed earlier on this day has been tried again."""
        if clean:
            self.time_scale[own] *= 1.0 + self.growth


class HelpedLittleBySecond(CuredBySecond):
    """Trying again on the day of a miss leaves the card's own time scale as it was: only another day helps."""

    def practise(self, card: int, clean: bool, at: float) -> None:
        self.before = float(self.time_scale[self.skill_of[card][-1]])
        super().practise(card, clean, at)

    def again(self, own: int, clean: bool) -> None:
        self.time_scale[own] = self.before


FAMILIES = {
    "traces": Traces,
    "windows": Windows,
    "halving": Halving,
    "weakest link": WeakestLink,
}
"""The families every goal is judged on."""

SECOND_TRY = {"cured by a second try": CuredBySecond, "helped little by a second try": HelpedLittleBySecond}
"""Players who differ in what coming back to a miss on the same day does for them.

The clairvoyant foresees them as it does the family they are made of.
"""

OUTSIDE = {"slow hands": SlowHands}
"""Players outside the list, to see what was tuned to it."""
