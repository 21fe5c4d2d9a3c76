"""A committee of small skill memories, weighted by how well each foresaw every first attempt.

Every curve of forgetting keeps one half-life a skill; every blend says how a
card rests on its skills; a member that counts practice in time windows
(Lindsey et al. 2014; Choffin et al. 2019) learns its weights as it goes. The
members' weights follow the chance each gave to what happened, before seeing
it. A last step, two numbers, corrects the mean for this player.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scheduler.grade import Grade
from scheduler.memory.belief import Belief
from scheduler.memory.constants import Constants
from scheduler.memory.trace import Trace

__all__ = ["Heads", "Memory", "Replaced"]

_LEAST = 0.001
"""No member is ever surer than this of what will happen; keeps one surprise from ending it."""

_EDGE = 0.005
"""The mean is kept this far from 0 and 1 before it is corrected."""

_UNMET_COUNT = 5.0
"""How many first meetings the prior on unmet skills is worth."""

_LEAST_SLOPE = 0.2
"""The correction never turns chances upside down, so recall always falls with time."""

Replaced = tuple[tuple[str, Trace | None], ...]
"""Skills with the traces they had before."""


class Heads(NamedTuple):
    """What is kept of the player as a whole; replaced at every first attempt.

    log_weights: one a member, the counting one last; the largest is 0.
    counts: weights of the counting member. calibration: offset and slope of
    the last correction, in log odds. known, unknown: first meetings that
    went as if the skill had been there before, and all of them.
    """

    log_weights: tuple[float, ...]
    counts: Belief
    calibration: Belief
    known: float
    unknown: float


class Memory:
    """What is believed of every skill of one player.

    Skills are named; the last of a card's skills is its own (``card:<id>``).
    Asking never changes anything; `learn` and `see` replace the traces of
    the skills named and the heads, nothing else, and return the traces they
    replaced, so that `put_back` undoes them exactly. Times are days since
    1970-01-01 UTC.
    """

    def __init__(self, constants: Constants | None = None) -> None:
        c = self.constants = constants or Constants()
        self.traces: dict[str, Trace] = {}
        members = len(c.curves) * len(c.blends) + 1
        self.heads = Heads(
            (0.0,) * members,
            Belief.prior(c.counts_prior, c.counts_spread),
            Belief.prior((0.0, 1.0), c.calibration_spread),
            c.unmet_recall * _UNMET_COUNT,
            _UNMET_COUNT,
        )
        self._counts_drift = tuple(c.counts_drift * v for v in c.counts_spread)
        self._calibration_drift = tuple(c.calibration_drift * v for v in c.calibration_spread)

    # -- asking --------------------------------------------------------------

    @property
    def members(self) -> tuple[str, ...]:
        """A name for each member, in the order of the weights."""
        c = self.constants
        names = [
            f"{'power' if curve.power else 'exponential'} {curve.first_half_life_days:g} d, "
            f"{'weakest ' if blend.weakest else ''}sharing {blend.sharing:g}"
            for curve in c.curves
            for blend in c.blends
        ]
        return (*names, "counts")

    def weights(self) -> list[float]:
        """The weight of each member; they sum to 1."""
        raw = [math.exp(w) for w in self.heads.log_weights]
        total = sum(raw)
        return [w / total for w in raw]

    def unmet_recall(self) -> float:
        """Recall of a skill never met, as this player's first meetings show it."""
        return self.heads.known / self.heads.unknown

    def skill_recalls(self, skill: str, at_days: float) -> list[float]:
        """Each curve's chance of getting one skill right, 0 to 1."""
        trace = self.traces.get(skill)
        if trace is None:
            return [self.unmet_recall()] * len(self.constants.curves)
        return self._retained(trace, at_days)

    def skill_recall(self, skill: str, at_days: float) -> float:
        """Chance of getting one skill right: the mean over curves, by the weight of their members."""
        blends = len(self.constants.blends)
        weights = self.weights()[:-1]
        total = sum(weights)
        recalls = self.skill_recalls(skill, at_days)
        if total <= 0.0:
            return sum(recalls) / len(recalls)
        by_curve = [sum(weights[k * blends : (k + 1) * blends]) for k in range(len(recalls))]
        return min(1.0, sum(w * r for w, r in zip(by_curve, recalls)) / total)

    def half_life_days(self, skill: str) -> float:
        """Half-life of a met skill: the mean over curves, by the weight of their members."""
        blends = len(self.constants.blends)
        weights = self.weights()[:-1]
        halves = self.traces[skill].half_lives_days
        by_curve = [sum(weights[k * blends : (k + 1) * blends]) for k in range(len(halves))]
        total = sum(by_curve)
        if total <= 0.0:
            return sum(halves) / len(halves)
        return sum(w * h for w, h in zip(by_curve, halves)) / total

    def recall(self, skills: Sequence[str], at_days: float) -> float:
        """Chance of a clean first attempt at a card with these skills, 0 to 1."""
        retained = [self.skill_recalls(skill, at_days) for skill in skills]
        members = self.member_recalls(skills, at_days, retained)
        return self._corrected(self._mean(members))

    def member_recalls(
        self, skills: Sequence[str], at_days: float, retained: Sequence[Sequence[float]]
    ) -> list[float]:
        """Each member's chance of a clean first attempt, before weighing."""
        out = []
        alone = len(retained) == 1
        own = retained[-1]
        for k in range(len(self.constants.curves)):
            shared = [r[k] for r in retained[:-1]]
            together = math.prod(shared)
            weakest = min(shared, default=0.0)
            o = own[k]
            for sharing, by_weakest in self.constants.blends:
                if alone:
                    out.append(o)
                elif by_weakest:
                    out.append(sharing * weakest + (1.0 - sharing) * o)
                else:
                    out.append(1.0 - (1.0 - sharing * together) * (1.0 - o))
        out.append(self.heads.counts.chance(self.features(skills, at_days)))
        return out

    def features(self, skills: Sequence[str], at_days: float) -> tuple[float, ...]:
        """What the counting member sees: 1, own clean and tries, mean shared clean and tries."""
        pairs = [self._counted(self.traces.get(skill), at_days) for skill in skills]
        own = pairs.pop()
        if not pairs:
            return (1.0, own[0], own[1], 0.0, 0.0)
        count = len(pairs)
        return (
            1.0,
            own[0],
            own[1],
            sum([p[0] for p in pairs]) / count,
            sum([p[1] for p in pairs]) / count,
        )

    # -- telling -------------------------------------------------------------

    def learn(
        self, skills: Sequence[str], grade: Grade, at_days: float, blamed: str | None = None
    ) -> Replaced:
        """Learn from one first attempt; blamed is the kind of skill a slip names, if any."""
        c = self.constants
        clean = grade.clean
        before = tuple([(skill, self.traces.get(skill)) for skill in skills])
        retained = [self.skill_recalls(skill, at_days) for skill in skills]
        members = self.member_recalls(skills, at_days, retained)
        self._learn_heads(skills, members, clean, at_days, before)
        credit = (0.0, c.found_credit, 1.0, c.in_time_credit)[grade - 1]
        curves = range(len(c.curves))
        whole = [math.prod([r[k] for r in retained]) for k in curves]
        named = blamed is not None and any(s.startswith(blamed + ":") for s in skills)
        for (skill, trace), recalls in zip(before, retained):
            halves = []
            for k in curves:
                first = c.curves[k].first_half_life_days
                half = trace.half_lives_days[k] if trace else first
                r = recalls[k]
                if clean:
                    half *= 1.0 + credit * c.growth * (1.0 - r) ** c.growth_exponent
                elif trace is not None:
                    blame = min(1.0, (1.0 - r) / max(1.0 - whole[k], 1e-9)) * (1.0 - credit)
                    if named and not skill.startswith(blamed + ":"):
                        blame *= c.slip_elsewhere
                    half = max(half * (1.0 - c.shrink * blame), min(half, c.shrink_floor * first))
                halves.append(half)
            self.traces[skill] = self._counted_once(trace, tuple(halves), at_days, clean, credit)
        return before

    def see(self, skills: Sequence[str], at_days: float) -> Replaced:
        """Take in a lesson: skills never met begin their first half-life; others are unchanged."""
        before = tuple([(skill, self.traces.get(skill)) for skill in skills])
        first = tuple(curve.first_half_life_days for curve in self.constants.curves)
        empty = (0.0,) * len(self.constants.windows_days)
        for skill, trace in before:
            if trace is None:
                self.traces[skill] = Trace(at_days, first, empty, empty, 0, 0, at_days)
        return before

    def put_back(self, before: Replaced, heads: Heads) -> None:
        """Undo one `learn` or `see`, exactly."""
        for skill, trace in before:
            if trace is None:
                self.traces.pop(skill, None)
            else:
                self.traces[skill] = trace
        self.heads = heads

    def copy(self) -> Memory:
        """A memory that learns on its own from here."""
        other = object.__new__(Memory)
        other.__dict__.update(self.__dict__)
        other.traces = dict(self.traces)
        return other

    # -- inside --------------------------------------------------------------

    def _retained(self, trace: Trace, at_days: float) -> list[float]:
        past = at_days - trace.last_days
        if past <= 0.0:
            return [1.0] * len(trace.half_lives_days)
        return [
            1.0 / math.sqrt(1.0 + 3.0 * past / half) if curve.power else 2.0 ** (-past / half)
            for curve, half in zip(self.constants.curves, trace.half_lives_days)
        ]

    def _counted(self, trace: Trace | None, at_days: float) -> tuple[float, float]:
        if trace is None or not trace.tries:
            return 0.0, 0.0
        past = max(0.0, at_days - trace.last_days)
        clean = tries = 0.0
        for window, weight, good, all_ in zip(
            self.constants.windows_days,
            self.constants.window_weights,
            trace.clean_counts,
            trace.try_counts,
        ):
            fade = math.exp(-past / window)
            clean += weight * math.log1p(good * fade)
            tries += weight * math.log1p(all_ * fade)
        return clean, tries

    def _counted_once(
        self,
        trace: Trace | None,
        halves: tuple[float, ...],
        at_days: float,
        clean: bool,
        credit: float,
    ) -> Trace:
        if trace is None:
            size = len(self.constants.windows_days)
            return Trace(at_days, halves, (credit,) * size, (1.0,) * size, 1, int(clean), at_days)
        past = max(0.0, at_days - trace.last_days)
        fades = [math.exp(-past / window) for window in self.constants.windows_days]
        return Trace(
            max(at_days, trace.last_days),
            halves,
            tuple([good * fade + credit for good, fade in zip(trace.clean_counts, fades)]),
            tuple([all_ * fade + 1.0 for all_, fade in zip(trace.try_counts, fades)]),
            trace.tries + 1,
            trace.clean + clean,
            trace.first_days,
        )

    def _mean(self, members: Sequence[float]) -> float:
        return sum([w * p for w, p in zip(self.weights(), members)])

    def _corrected(self, mean: float) -> float:
        mean = min(1.0 - _EDGE, max(_EDGE, mean))
        calibration = self.heads.calibration
        if calibration.mean[1] < _LEAST_SLOPE:
            calibration = calibration._replace(mean=(calibration.mean[0], _LEAST_SLOPE))
        return calibration.chance((1.0, math.log(mean / (1.0 - mean))))

    def _learn_heads(
        self,
        skills: Sequence[str],
        members: Sequence[float],
        clean: bool,
        at_days: float,
        before: Replaced,
    ) -> None:
        c, heads = self.constants, self.heads
        mean = min(1.0 - _EDGE, max(_EDGE, self._mean(members)))
        odds = (1.0, math.log(mean / (1.0 - mean)))
        scores = [
            c.weight_memory * w + math.log(min(1.0 - _LEAST, max(_LEAST, p if clean else 1.0 - p)))
            for w, p in zip(heads.log_weights, members)
        ]
        top = max(scores)
        known, unknown = heads.known, heads.unknown
        if before[-1][1] is None:
            was = self.unmet_recall()
            known += min(1.0, was / mean) if clean else 0.0
            unknown += 1.0
        self.heads = Heads(
            tuple([s - top for s in scores]),
            heads.counts.after(self.features(skills, at_days), clean, self._counts_drift),
            heads.calibration.after(odds, clean, self._calibration_drift),
            known,
            unknown,
        )
