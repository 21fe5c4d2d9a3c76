"""Players from three further published equations, on whom nothing may be tuned.

They are played once, when everything else is decided, and reported whatever comes. They keep the protocol of
`scheduler.evaluate.simulated_players`: the planner never sees this module, times are days, `values` reads the state
of every skill, `chance` turns the values of a card's skills into the chance of a clean first try, and `ahead` says
what one practice now would leave. The published equations speak of single items. How skills make up a card is a
choice of this simulation: their values are averaged, `sharing` for the shared skills and the rest for the card's own.
Parameters differ between players by log-normal draws around the medians given.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduler.evaluate.figures import Floats
from scheduler.evaluate.simulated_players import SHARED_WEIGHTS, SimulatedPlayer

__all__ = ["SEALED", "Fluctuation", "Multiscale", "PredictivePerformance"]

_DAY_SECONDS = 86400.0


class _Averaged(SimulatedPlayer):
    """Players whose card is worth the mean of what its skills are worth."""

    def mixed(self, values: Floats) -> Floats:
        """The value of a card from those of its skills, [..., skills of a card]."""
        shared = values[..., :-1] @ SHARED_WEIGHTS
        value: Floats = self.sharing * shared + (1.0 - self.sharing) * values[..., -1]
        return value


class PredictivePerformance(_Averaged):
    """The predictive performance equation (Walsh, Gluck, Gunzelmann, Jastrzembski and Krusmark 2018).

    M = N^c T^-d. N counts the practices. T is the mean of their ages t in seconds, each weighed by t^-x.
    d = b + m times the mean of 1 / ln(lag + e) over the gaps between practices, in seconds; before there is a gap
    that mean is 1. p = 1 / (1 + e^((tau - M) / s)).

    c = .1 and x = .6 are the paper's fixed values, quoted from memory. b, m, tau and s are fitted there to each
    experiment; the medians here are of the size of those fits, and are a choice of this simulation. Every practice
    counts alike, clean or not, since the answer is always shown. The 64 latest practices of a skill make up T and
    the mean of the gaps; N counts all.
    """

    KEPT = 64
    LEARNING, RECENCY = 0.1, 0.6
    STABLE, UNSTABLE, THRESHOLD, NOISE = 0.04, 0.08, 0.5, 0.1

    def setup(self) -> None:
        self.stable = self.spread(self.STABLE, 0.2)
        self.unstable = self.spread(self.UNSTABLE, 0.2) * self.spread(1.0, 0.15, self.size)
        self.threshold = self.spread(self.THRESHOLD, 0.1)
        self.noise = self.spread(self.NOISE, 0.15)
        self.when = np.full((self.size, self.KEPT), np.nan)
        self.steady = np.full((self.size, self.KEPT), np.nan)
        self.count = np.zeros(self.size, dtype=int)
        self.last = np.full(self.size, np.nan)
        for k in range(6):
            self._add(np.flatnonzero(self.known), -20.0 * (6 - k))

    def _add(self, skills: NDArray[np.intp], at: float) -> None:
        slots = self.count[skills] % self.KEPT
        self.steady[skills, slots] = self._steadiness(at)[skills]
        self.when[skills, slots] = at
        self.count[skills] += 1
        self.last[skills] = at

    def _steadiness(self, at: float) -> Floats:
        """1 / ln(lag + e) of a practice at a moment; nan for the first, which has no lag."""
        lag: Floats = 1.0 / np.log(np.maximum(at - self.last, 0.0) * _DAY_SECONDS + np.e)
        return lag

    def _value(self, when: Floats, steady: Floats, count: Floats, at: float) -> Floats:
        age = np.maximum((at - when) * _DAY_SECONDS, 1.0)
        weight = age**-self.RECENCY
        met = count > 0
        elapsed = np.nansum(weight * age, axis=1) / np.where(met, np.nansum(weight, axis=1), 1.0)
        gaps = (~np.isnan(steady)).sum(axis=1)
        mean = np.where(gaps > 0, np.nansum(steady, axis=1) / np.maximum(gaps, 1), 1.0)
        decay = self.stable + self.unstable * mean
        value: Floats = np.where(met, count**self.LEARNING * np.where(met, elapsed, 1.0) ** -decay, 0.0)
        return value

    def values(self, at: float) -> Floats:
        return self._value(self.when, self.steady, self.count, at)

    def chance(self, values: Floats) -> Floats:
        clean: Floats = 1.0 / (1.0 + np.exp((self.threshold - self.mixed(values)) / self.noise))
        return clean

    def practise(self, card: int, clean: bool, at: float) -> None:
        self._add(self.skill_of[card], at)

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        every, slots = np.arange(self.size), self.count % self.KEPT
        when, steady = self.when.copy(), self.steady.copy()
        when[every, slots], steady[every, slots] = at, self._steadiness(at)
        after = self._value(when, steady, self.count + 1, at + horizon)
        return self.values(at + horizon), after, after


class Multiscale(_Averaged):
    """The multiscale context model (Mozer, Pashler, Cepeda, Lindsey and Vul 2009).

    Pools i = 1, 2, ... leak with time constants mu nu^i and count by weights gamma_i that fall as xi^i and sum to 1.
    The strength of the first i pools is s_i = sum_j<=i gamma_j x_j / sum_j<=i gamma_j. A practice adds
    epsilon (1 - s_i) to pool i: what the faster pools still hold, the slower ones do not learn. The chance of a
    recall is the strength of all pools, at most 1.

    The equations are quoted from memory. The paper has a hundred pools and a nu near 1; 24 pools with nu = 2 span the
    same scales, half an hour to centuries. xi here gives forgetting by about t^-.2, as most people's single lessons.
    epsilon is 1 where the try was missed, and higher, `RECALLED`, where it was clean. The paper's value of it is 9,
    from memory, in experiments of two lessons; at daily practice it would fill every pool at once, so a lower one is
    chosen here. A pool never loses by practice.
    """

    POOLS = 24
    RECALLED = 1.5

    def setup(self) -> None:
        scale = self.spread(0.01, 0.3)
        steps = np.arange(1, self.POOLS + 1)
        self.rates = 1.0 / (scale * 2.0**steps)
        gamma = (0.86 * np.exp(self.rng.normal(0.0, 0.03))) ** steps
        self.gamma = gamma / gamma.sum()
        self.upto = np.cumsum(self.gamma)
        self.recalled = self.spread(self.RECALLED, 0.15)
        self.missed = self.spread(1.0, 0.15, self.size).clip(max=1.0)
        self.last = np.where(self.known, -10.0, 0.0)
        self.pools = np.where(self.known, 5.0, 0.0)[:, None] * np.exp(-10.0 * self.rates)

    def _kept(self, pools: Floats, days: Floats) -> Floats:
        kept: Floats = pools * np.exp(-np.maximum(days, 0.0)[:, None] * self.rates)
        return kept

    def _learned(self, pools: Floats, skills: NDArray[np.intp] | slice, clean: bool) -> Floats:
        strengths = np.cumsum(self.gamma * pools, axis=1) / self.upto
        rate = self.recalled if clean else 1.0
        learned: Floats = pools + (self.missed[skills] * rate)[:, None] * np.maximum(1.0 - strengths, 0.0)
        return learned

    def values(self, at: float) -> Floats:
        strength: Floats = self._kept(self.pools, at - self.last) @ self.gamma
        return strength

    def chance(self, values: Floats) -> Floats:
        return np.clip(self.mixed(np.minimum(values, 1.0)), 0.0, 1.0)

    def practise(self, card: int, clean: bool, at: float) -> None:
        skills = self.skill_of[card]
        self.pools[skills] = self._learned(self._kept(self.pools[skills], at - self.last[skills]), skills, clean)
        self.last[skills] = at

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        now, days = self._kept(self.pools, at - self.last), np.full(self.size, horizon)
        good, bad = (self._kept(self._learned(now, slice(None), clean), days) @ self.gamma for clean in (True, False))
        return self.values(at + horizon), good, bad


class Fluctuation(_Averaged):
    """Stimulus fluctuation with a search of memory (Estes 1955; Raaijmakers 2003).

    A skill is tied to elements of the context. At any time a share A of them is active, and active and inactive ones
    change places: the share tied among the active, a, nears the share tied among all, J = A a + (1 - A) b, as
    J + (a - J) e^(-rate t), and so does the share tied among the inactive, b. A practice ties a part of the active
    elements that are not tied yet. So after a longer gap it ties more new ones.

    Search and recovery: the skill is found in one of `SEARCHES` searches with chance 1 - (1 - S / (S + 1))^searches
    and then recovered with chance 1 - e^(-recovery a), where S is a times the strength beside everything else in
    memory. The equations are quoted from memory, and all values are a choice of this simulation. After a miss the
    answer is shown: a new trace ties a smaller part (`SHOWN`).
    """

    ACTIVE, RATE, TIED, SHOWN = 0.25, 0.7, 0.7, 0.5
    SEARCHES, STRENGTH, RECOVERY = 3, 4.0, 3.5

    def setup(self) -> None:
        self.active = float(np.clip(self.spread(self.ACTIVE, 0.2), 0.05, 0.6))
        self.rate = self.spread(self.RATE, 0.35) * self.spread(1.0, 0.25, self.size)
        self.tied = float(np.clip(self.spread(self.TIED, 0.15), 0.0, 1.0))
        self.shown = self.tied * self.SHOWN / self.TIED
        self.recovery = self.spread(self.RECOVERY, 0.15)
        self.strength = self.spread(self.STRENGTH, 0.15)
        self.inside = np.where(self.known, 0.8, 0.0)
        self.outside = self.inside.copy()
        self.last = np.zeros(self.size)

    def _later(self, inside: Floats, outside: Floats, days: Floats, rate: Floats) -> tuple[Floats, Floats]:
        """The shares tied among active and inactive elements some days later."""
        whole = self.active * inside + (1.0 - self.active) * outside
        left = np.exp(-rate * np.maximum(days, 0.0))
        return whole + (inside - whole) * left, whole + (outside - whole) * left

    def _tie(self, inside: Floats, clean: bool) -> Floats:
        return inside + (self.tied if clean else self.shown) * (1.0 - inside)

    def values(self, at: float) -> Floats:
        return self._later(self.inside, self.outside, at - self.last, self.rate)[0]

    def chance(self, values: Floats) -> Floats:
        tied = self.mixed(values)
        found = 1.0 - (1.0 + self.strength * tied) ** -self.SEARCHES
        clean: Floats = found * (1.0 - np.exp(-self.recovery * tied))
        return clean

    def practise(self, card: int, clean: bool, at: float) -> None:
        of = self.skill_of[card]
        inside, outside = self._later(self.inside[of], self.outside[of], at - self.last[of], self.rate[of])
        self.inside[of], self.outside[of], self.last[of] = self._tie(inside, clean), outside, at

    def ahead(self, at: float, horizon: float) -> tuple[Floats, Floats, Floats]:
        inside, outside = self._later(self.inside, self.outside, at - self.last, self.rate)
        days = np.full(self.size, horizon)
        good, bad = (self._later(self._tie(inside, clean), outside, days, self.rate)[0] for clean in (True, False))
        return self.values(at + horizon), good, bad


SEALED = {
    "predictive performance": PredictivePerformance,
    "multiscale context": Multiscale,
    "stimulus fluctuation": Fluctuation,
}
"""Players whom no constant was chosen on. They are reported once."""
