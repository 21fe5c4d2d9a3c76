"""One of four words describes the state of a skill or a card: unmet, forming, firm or fading.

Firm: recall seven days after the last practice is at least .85; fading: it was firm, and recall now is below .80. A
group of cards is called firm on `progress` only where its count goes well besides: `scheduler.statistics.claims`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.days.practice_day import AWAY_DAYS
from scheduler.memory.committee import Memory

__all__ = ["FADING_BELOW", "FIRM_FROM", "SkillState", "card_word", "lasts_a_week", "skill_state"]

FIRM_FROM = 0.85
"""Firm: at least this recall after `AWAY_DAYS`, seven days, without practice (common practice)."""

FADING_BELOW = 0.80
"""Fading: firm, and recall is now below this (common practice)."""


@dataclass(frozen=True, slots=True)
class SkillState:
    """One skill of one card at one moment.

    skill: its name, ``kind:name``. word: unmet, forming, firm or fading.
    recall: chance of getting this skill right now, 0 to 1.
    tries, clean: first attempts at cards that need it, and how many were clean.
    """

    skill: str
    word: str
    recall: float
    tries: int
    clean: int


def lasts_a_week(memory: Memory, skill: str) -> bool:
    """Whether the skill is firm or fading: its recall seven days after its last practice is .85 or more."""
    kept = memory.skills.get(skill)
    return kept is not None and memory.skill_recall(skill, kept.last_days + AWAY_DAYS) >= FIRM_FROM


def _word(firm: bool, recall: float) -> str:
    if not firm:
        return "forming"
    return "fading" if recall < FADING_BELOW else "firm"


def card_word(memory: Memory, skills: Sequence[str], at_days: float) -> str:
    """The word for a card with these skills (its own last)."""
    own = memory.skills.get(skills[-1])
    if own is None:
        return "unmet"
    firm = memory.recall(skills, own.last_days + AWAY_DAYS) >= FIRM_FROM
    return _word(firm, memory.recall(skills, at_days))


def skill_state(memory: Memory, skill: str, at_days: float) -> SkillState:
    """One skill at one moment, in words and numbers."""
    kept = memory.skills.get(skill)
    recall = memory.skill_recall(skill, at_days)
    if kept is None:
        return SkillState(skill, "unmet", recall, 0, 0)
    return SkillState(skill, _word(lasts_a_week(memory, skill), recall), recall, kept.tries, kept.clean)
