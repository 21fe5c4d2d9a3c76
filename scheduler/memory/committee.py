"""A committee of small skill memories. A member weighs more the better it foresaw the first attempts.

Each member keeps a half-life for each skill and says how likely a card comes
clean. Their weighted mean becomes a strength. A probit corrects that strength
by three terms: a general term of the player, a slope, and the difficulty of
each skill. Two more cuts say where this player's grades Found it and In time
begin (`scheduler.memory.ordinal`). A try graded Found it counts as part of a
miss. A try graded In time counts as more than a clean one.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Mapping, Sequence
from operator import mul
from typing import Any, NamedTuple

from scheduler.grade import Grade
from scheduler.memory.constants import Constants
from scheduler.memory.curve import retained
from scheduler.memory.growth import all_grown, all_shrunk
from scheduler.memory.ordinal import normal_chance, normal_quantile, ordinal_step
from scheduler.memory.skill_memory import SkillMemory

__all__ = ["Memory", "PlayerState"]

_LEAST = 1e-3
"""A member's forecast counts as no less than this, so that one surprise does not rule the member out for good."""

_MOST = 1.0 - _LEAST
"""And as no more than this."""

_SURELY = 1e-6
"""A card's chance to fail counts as no less than this where blame is shared out."""

_EDGE = 1e-3
"""The committee's mean is kept this far from 0 and 1 before it is corrected."""

_LEAST_SLOPE = 0.5
"""The slope counts as no less than this. It stays above 0, so that recall always falls with time."""

_LEAST_CUT = 0.2
"""The outer cuts stay at least this far from the middle one, in standard deviations of strength."""


class PlayerState(NamedTuple):
    """What is kept of the player as a whole; replaced at every first attempt.

    log_weights: of the members, the largest 0. general, slope: (mean,
    variance) of the terms of the correction. low, high: the same of the cuts
    below Found it and below In time, as this player grades; that below Clean
    is 0. known, meetings: first meetings that went as if the skill had been
    there before, and all of them.
    """

    log_weights: tuple[float, ...]
    general: tuple[float, float]
    slope: tuple[float, float]
    low: tuple[float, float]
    high: tuple[float, float]
    known: float
    meetings: float


class Memory:
    """What is believed of every skill of one player.

    Skills are named; the last of a card's skills is its own (``card:<id>``).
    Asking never changes anything. `learn` and `see` replace what is kept of
    the skills named and of the player, and nothing else, so that earlier
    values of these two, put back, undo them exactly. Times are days since
    1970-01-01 UTC.

    skills: what is kept of each skill met so far, by name. player: what is
    kept of the player.
    """

    def __init__(self, constants: Constants | None = None) -> None:
        c = self.constants = constants or Constants()
        self.experts = c.experts
        self.skills: dict[str, SkillMemory] = {}
        self.player = PlayerState(
            (0.0,) * len(self.experts),
            (0.0, c.player_variance),
            (1.0, c.slope_variance),
            (-c.cut, c.cut_variance),
            (c.cut, c.cut_variance),
            c.unmet_recall * c.unmet_count,
            c.unmet_count,
        )
        self._first = tuple(e.first_half_life_days for e in self.experts)
        self._sharing = [e.sharing for e in self.experts]
        self._least_half = [c.shrink_floor * first for first in self._first]
        self.powers_from = sum(not e.power for e in self.experts)

    # -- asking --------------------------------------------------------------

    @property
    def members(self) -> tuple[str, ...]:
        """A name for each member, in the order of the weights."""
        return tuple(
            f"{'power' if e.power else 'exponential'} {e.first_half_life_days:g} d, sharing {e.sharing:g}"
            for e in self.experts
        )

    def _mean(self, members: Iterable[float]) -> float:
        mean: float = sum(map(mul, self.weights(), members))
        return mean

    def weights(self) -> list[float]:
        """The weight of each member; they sum to 1."""
        raw = list(map(math.exp, self.player.log_weights))
        total = sum(raw)
        return [w / total for w in raw]

    def unmet_recall(self) -> float:
        """Recall of a skill never met, as this player's first meetings show it."""
        return self.player.known / self.player.meetings

    def _recalls(self, kept: Sequence[SkillMemory | None], at_days: float) -> list[list[float]]:
        """Each member's chance of getting some skills right, [skills][members]."""
        unmet, powers_from = [self.unmet_recall()] * len(self.experts), self.powers_from
        return [retained(at_days - t.last_days, t.half_lives_days, powers_from, t.floor) if t else unmet for t in kept]

    def _cards(self, recalls: Sequence[Sequence[float]]) -> list[float]:
        """Each member's chance of a card from its skills' [skills][members], its own last."""
        *others, own = recalls
        if not others:
            return list(own)
        shared: Iterable[float] = self._sharing
        for each in others:
            shared = map(mul, shared, each)
        return [1.0 - (1.0 - s) * (1.0 - r) for s, r in zip(shared, own, strict=True)]

    def skill_recalls(self, skill: str, at_days: float) -> list[float]:
        """Each member's chance of getting one skill right, 0 to 1."""
        return list(self._recalls([self.skills.get(skill)], at_days)[0])

    def skill_recall(self, skill: str, at_days: float) -> float:
        """Chance of getting one skill right, the committee's mean, 0 to 1."""
        recalls = self.skill_recalls(skill, at_days)
        return min(1.0, math.fsum([w * r for w, r in zip(self.weights(), recalls, strict=True)]))

    def believed(self, skills: Sequence[str], at_days: float) -> tuple[float, list[float]]:
        """(`recall`, each member's chance of a clean first attempt before the correction), 0 to 1."""
        kept = [self.skills.get(skill) for skill in skills]
        members = self._cards(self._recalls(kept, at_days))
        strength, variance, _ = self._strength(self._mean(members), kept)
        return normal_chance(strength / math.sqrt(variance)), members

    def corrected(self, skills: Sequence[str], at_days: float) -> tuple[float, list[float]]:
        """(`recall`, the members' chances moved by what the player's correction moves their mean), 0 to 1."""
        recall, members = self.believed(skills, at_days)
        moved = recall - math.fsum([w * p for w, p in zip(self.weights(), members, strict=True)])
        return recall, [min(1.0, max(0.0, p + moved)) for p in members]

    def recall(self, skills: Sequence[str], at_days: float) -> float:
        """Chance of a clean first attempt at a card with these skills, its own last, 0 to 1."""
        return self.believed(skills, at_days)[0]

    def grade_of(self, chance: float, lot: float) -> Grade:
        """The grade this player would give a card of this chance to come clean, by a lot from 0 to 1.

        Clean or better exactly when the lot is below the chance; the outer
        steps by the player's own cuts.
        """
        low, high = self._cuts()
        edge = normal_quantile(min(1.0 - _EDGE, max(_EDGE, lot)))
        strength = normal_quantile(min(1.0 - _EDGE, max(_EDGE, chance))) - edge
        if lot < chance:
            return Grade.IN_TIME if strength > high else Grade.CLEAN
        return Grade.LOOKED if strength < low else Grade.FOUND

    def _cuts(self) -> tuple[float, float]:
        return min(-_LEAST_CUT, self.player.low[0]), max(_LEAST_CUT, self.player.high[0])

    def _strength(self, mean: float, kept: Sequence[SkillMemory | None]) -> tuple[float, float, float]:
        """(corrected strength, its variance with 1 for the try itself, the slope's factor)."""
        odds = normal_quantile(min(1.0 - _EDGE, max(_EDGE, mean)))
        general, slope = self.player.general, self.player.slope
        prior = self.constants.difficulty_variance
        difficulty = uncertain = 0.0
        for skill in kept:
            if skill:
                difficulty += skill.difficulty
                uncertain += skill.difficulty_variance
            else:
                uncertain += prior
        variance = 1.0 + general[1] + uncertain + slope[1] * odds * odds
        # `recall` divides by the root of the variance. Multiplying the odds by it first makes the correction
        # change nothing as long as every term is at its prior.
        strength = general[0] - difficulty + max(_LEAST_SLOPE, slope[0]) * odds * math.sqrt(variance)
        return strength, variance, odds

    # -- telling -------------------------------------------------------------

    def learn(self, skills: Sequence[str], grade: Grade, at_days: float, blamed: str | None = None) -> None:
        """Learn from one first attempt at a card with these skills, its own last.

        blamed: the kind of skill that the player named as the cause of a miss,
        or None. A slip's blame is decided here. A skill's blame is how likely it failed beside how likely the
        card failed; blame that the player's word does not confirm counts less.
        """
        c, clean, unmet = self.constants, grade.clean, self.unmet_recall()
        before = [self.skills.get(skill) for skill in skills]
        recalls = self._recalls(before, at_days)
        members = self._cards(recalls)
        failed = () if clean else [1.0 - p if 1.0 - p > _SURELY else _SURELY for p in members]
        above = grade is (Grade.IN_TIME if clean else Grade.FOUND)
        step, shrink = self._correct(self._mean(members), before, clean, above, failed or members)
        growth = c.growth * (c.in_time_growth if above else 1.0)
        for skill, kept, each in zip(skills, before, recalls, strict=True):
            last, half, tries, cleans, first, floor, m, v = kept or self._begun(at_days, unmet if clean else 0.0)
            if clean:
                half = all_grown(half, each, growth, c.growth_exponent)
            elif kept:
                told = 1.0 if blamed is None or skill.startswith(blamed + ":") else c.slip_elsewhere
                part = c.shrink * told * (c.found_blame if above else 1.0)
                half = all_shrunk(half, each, failed, part, self._least_half)
            last = at_days if at_days > last else last
            self.skills[skill] = SkillMemory(
                last, half, tries + 1, cleans + clean, first, floor, m - v * step, v * (1.0 - v * shrink)
            )

    def _begun(self, at_days: float, floor: float) -> SkillMemory:
        """What is kept of a skill first met at a moment, before any try."""
        return SkillMemory(at_days, self._first, 0, 0, at_days, floor, 0.0, self.constants.difficulty_variance)

    def _correct(
        self, mean: float, before: Sequence[SkillMemory | None], clean: bool, above: bool, foreseen: Sequence[float]
    ) -> tuple[float, float]:
        """Replace the player's state after a grade; how far it moves the difficulties, and shrinks their variances.

        above: whether the grade was the better one of its two: In time or Clean, Found it or Looked.
        foreseen: the chance that each member gave to what happened, clean or not.
        """
        c = self.constants
        scores, general, slope, low, high, known, meetings = self.player
        strength, variance, odds = self._strength(mean, before)
        # The terms learn only whether the try was clean, which is what recall foretells. If they learned all four
        # steps, a player who never plays in time would be read as failing. Measured calibration error is then
        # worse (.044 against .033).
        step, shrink = ordinal_step(strength, variance, 0.0, clean)
        if clean:
            high = _cut_after(high, strength, variance, above)
        else:
            low = _cut_after(low, strength, variance, above)
        step /= math.sqrt(variance)
        shrink /= variance
        m, v = general
        general = (m + v * step, v * (1.0 - v * shrink) + c.player_drift * c.player_variance)
        m, v = slope
        slope = (m + v * odds * step, v * (1.0 - v * odds * odds * shrink) + c.slope_drift * c.slope_variance)
        if c.learning_weights:
            kept, log = c.weight_memory, math.log
            sums = [
                kept * w + log(_LEAST if p < _LEAST else _MOST if p > _MOST else p)
                for w, p in zip(scores, foreseen, strict=True)
            ]
            top = max(sums)
            scores = tuple([s - top for s in sums])
        if before[-1] is None:
            known += min(1.0, known / meetings / mean) if clean else 0.0
            meetings += 1.0
        self.player = PlayerState(scores, general, slope, low, high, known, meetings)
        return step, shrink

    def see(self, skills: Sequence[str], at_days: float) -> None:
        """Take in a lesson: skills never met begin their first half-life; others are unchanged."""
        for skill in skills:
            if skill not in self.skills:
                self.skills[skill] = self._begun(at_days, 0.0)

    def copy(self) -> Memory:
        """A memory that learns on its own from here."""
        other = copy.copy(self)
        other.skills = dict(self.skills)
        return other

    def export(self) -> dict[str, Any]:
        """Everything learned, as a JSON value."""
        return {"player": self.player, "skills": self.skills}

    def restore(self, state: Mapping[str, Any]) -> None:
        """Take over what `export` gave, to the last bit, also by way of JSON."""
        log_weights, general, slope, low, high, known, meetings = state["player"]
        self.player = PlayerState(
            tuple(log_weights), tuple(general), tuple(slope), tuple(low), tuple(high), known, meetings
        )
        self.skills = {
            skill: SkillMemory(last, tuple(halves), *rest) for skill, (last, halves, *rest) in state["skills"].items()
        }


def _cut_after(cut: tuple[float, float], strength: float, variance: float, above: bool) -> tuple[float, float]:
    """Belief (mean, variance) about a cut after a try of this strength was graded above it, or below."""
    mean, spread = cut
    whole = variance + spread
    step, shrink = ordinal_step(strength, whole, mean, above)
    return mean - spread * step / math.sqrt(whole), spread * (1.0 - spread * shrink / whole)
