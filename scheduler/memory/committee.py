"""A committee of small skill memories, weighted by how well each foresaw every first attempt."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.memory.constants import Constants
from scheduler.memory.trace import Trace

__all__ = ["Memory"]

_TINY = 1e-6


class Memory:
    """What is believed of every skill of one player.

    Skills are named; the last of a card's skills is its own (``card:<id>``).
    Asking never changes anything; `learn` and `see` replace the traces of
    the skills named and nothing else, and return what they replaced, so that
    `put_back` undoes them exactly.
    """

    def __init__(self, constants: Constants | None = None) -> None:
        self.constants = constants or Constants()
        self.experts = self.constants.experts
        self.traces: dict[str, Trace] = {}
        self.log_weights: tuple[float, ...] = (0.0,) * len(self.experts)

    def weights(self) -> list[float]:
        """The weight of each expert; they sum to 1."""
        top = max(self.log_weights)
        raw = [math.exp(w - top) for w in self.log_weights]
        total = sum(raw)
        return [w / total for w in raw]

    def skill_recalls(self, skill: str, at_days: float) -> list[float]:
        """Each expert's chance of getting one skill right, 0 to 1."""
        trace = self.traces.get(skill)
        if trace is None:
            return [self.constants.unmet_recall] * len(self.experts)
        past = max(0.0, at_days - trace.last_days)
        out = []
        for expert, half in zip(self.experts, trace.half_lives_days):
            x = past / half
            out.append((1.0 + 3.0 * x) ** -0.5 if expert.power else 2.0**-x)
        return out

    def _card_recalls(self, parts: Sequence[list[float]]) -> list[float]:
        out = []
        for e, expert in enumerate(self.experts):
            shared = expert.sharing if len(parts) > 1 else 0.0
            for recalls in parts[:-1]:
                shared *= recalls[e]
            out.append(1.0 - (1.0 - shared) * (1.0 - parts[-1][e]))
        return out

    def recall(self, skills: Sequence[str], at_days: float) -> float:
        """Chance of a clean first attempt at a card with these skills, 0 to 1."""
        parts = [self.skill_recalls(skill, at_days) for skill in skills]
        return min(1.0, math.fsum(w * p for w, p in zip(self.weights(), self._card_recalls(parts))))

    def learn(
        self, skills: Sequence[str], clean: bool, at_days: float, blamed: str | None = None
    ) -> tuple[tuple[str, Trace | None], ...]:
        """Learn from one first attempt; blamed is the kind a slip names, if any."""
        c = self.constants
        before = tuple((skill, self.traces.get(skill)) for skill in skills)
        parts = [self.skill_recalls(skill, at_days) for skill in skills]
        cards = self._card_recalls(parts)
        self.log_weights = tuple(
            c.weight_memory * w + math.log(max(_TINY, p if clean else 1.0 - p))
            for w, p in zip(self.log_weights, cards)
        )
        top = max(self.log_weights)
        self.log_weights = tuple(w - top for w in self.log_weights)
        for (skill, trace), recalls in zip(before, parts):
            halves = []
            for e, expert in enumerate(self.experts):
                half = trace.half_lives_days[e] if trace else expert.first_half_life_days
                if trace is not None:
                    r = recalls[e]
                    if clean:
                        half *= 1.0 + c.growth * (1.0 - r) ** c.growth_exponent
                    else:
                        blame = min(1.0, (1.0 - r) / max(1.0 - cards[e], _TINY))
                        if blamed is not None:
                            blame = 1.0 if skill.startswith(blamed + ":") else blame * 0.3
                        half = max(half * (1.0 - 0.5 * blame), 0.3 * expert.first_half_life_days)
                halves.append(half)
            self.traces[skill] = Trace(
                at_days if trace is None else max(at_days, trace.last_days),
                tuple(halves),
                (trace.tries if trace else 0) + 1,
                (trace.clean if trace else 0) + clean,
                trace.first_days if trace else at_days,
            )
        return before

    def see(self, skills: Sequence[str], at_days: float) -> tuple[tuple[str, Trace | None], ...]:
        """Take in a lesson: skills never met begin their first half-life; others are unchanged."""
        before = tuple((skill, self.traces.get(skill)) for skill in skills)
        first = tuple(expert.first_half_life_days for expert in self.experts)
        for skill, trace in before:
            if trace is None:
                self.traces[skill] = Trace(at_days, first, 0, 0, at_days)
        return before

    def copy(self) -> Memory:
        """A memory that learns on its own from here."""
        other = object.__new__(Memory)
        other.__dict__.update(self.__dict__)
        other.traces = dict(self.traces)
        return other

    @property
    def members(self) -> tuple[str, ...]:
        """A name for each member, in the order of the weights."""
        return tuple(
            f"{'power' if e.power else 'exponential'} {e.first_half_life_days:g} d, sharing {e.sharing:g}"
            for e in self.experts
        )

    def member_recalls(self, skills: Sequence[str], at_days: float) -> list[float]:
        """Each member's chance of a clean first attempt, before weighing."""
        return self._card_recalls([self.skill_recalls(skill, at_days) for skill in skills])

    def export(self) -> dict:
        """Everything learned, as a JSON value."""
        return {
            "log_weights": list(self.log_weights),
            "traces": {skill: list(trace) for skill, trace in self.traces.items()},
        }

    def restore(self, state: dict) -> None:
        """Take over what `export` gave, to the last bit."""
        self.log_weights = tuple(state["log_weights"])
        self.traces = {
            skill: Trace(last, tuple(halves), tries, clean, first)
            for skill, (last, halves, tries, clean, first) in state["traces"].items()
        }

    def put_back(
        self, before: tuple[tuple[str, Trace | None], ...], log_weights: tuple[float, ...]
    ) -> None:
        """Undo one `learn` or `see`, exactly."""
        for skill, trace in before:
            if trace is None:
                self.traces.pop(skill, None)
            else:
                self.traces[skill] = trace
        self.log_weights = log_weights
