"""The state of a skill or a card in words: unmet, forming, firm, fading."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.memory.committee import Memory
from scheduler.planning.reasons import SkillState

__all__ = ["FADING_BELOW", "FIRM_FROM", "card_word", "is_firm", "skill_state"]

FIRM_FROM = 0.85
"""Firm: at least this recall seven days after the last practice."""

FADING_BELOW = 0.80
"""Fading: was firm, and recall is now below this."""

_WEEK_DAYS = 7.0


def is_firm(memory: Memory, skill: str) -> bool:
    """Whether the skill's recall seven days after its last practice is .85 or more."""
    trace = memory.traces.get(skill)
    return trace is not None and memory.skill_recall(skill, trace.last_days + _WEEK_DAYS) >= FIRM_FROM


def _word(met: bool, firm: bool, recall: float) -> str:
    if not met:
        return "unmet"
    if not firm:
        return "forming"
    return "fading" if recall < FADING_BELOW else "firm"


def card_word(memory: Memory, skills: Sequence[str], at_days: float) -> str:
    """The word for a card with these skills (its own last)."""
    own = memory.traces.get(skills[-1])
    if own is None:
        return "unmet"
    firm = memory.recall(skills, own.last_days + _WEEK_DAYS) >= FIRM_FROM
    return _word(True, firm, memory.recall(skills, at_days))


def skill_state(memory: Memory, skill: str, at_days: float) -> SkillState:
    """One skill at one moment, in words and numbers."""
    trace = memory.traces.get(skill)
    recall = memory.skill_recall(skill, at_days)
    if trace is None:
        return SkillState(skill, "unmet", recall, recall, 0.0, None, 0, 0)
    half = math.fsum(w * h for w, h in zip(memory.weights(), trace.half_lives_days, strict=True))
    week = memory.skill_recall(skill, trace.last_days + _WEEK_DAYS)
    return SkillState(
        skill,
        _word(True, week >= FIRM_FROM, recall),
        recall,
        week,
        half,
        max(0.0, at_days - trace.last_days),
        trace.tries,
        trace.clean,
    )
