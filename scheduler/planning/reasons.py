"""Reasons say why a card was chosen, in numbers that a session can turn into one sentence."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from scheduler.memory.states import SkillState

if TYPE_CHECKING:
    from scheduler.planning.planner import Planner

__all__ = ["Reasons", "SkillPart", "reasons"]


@dataclass(frozen=True, slots=True)
class SkillPart:
    """What one skill adds to the worth of playing a card now.

    gain: its part of the card's gain per second, same unit as
    `Reasons.gain_per_second`. share: that part of the whole, 0 to 1.
    cards: how many cards of the deck need the skill.
    """

    skill: str
    gain: float
    share: float
    cards: int
    state: SkillState


@dataclass(frozen=True, slots=True)
class Reasons:
    """The parts of a choice.

    rule: the teaching rule that put the card first, see `Choice.rule`, ``new``
        for a first meeting that no rule put first, else None for gain alone.
    recall: chance of a clean first try now. seconds: expected, prompt to prompt.
    gain_per_second: expected gain in weighted log recall over the planning
        horizons, per second of practice.
    parts: one for each skill, largest gain first.
    """

    card: str
    rule: str | None
    recall: float
    seconds: float
    gain_per_second: float
    parts: tuple[SkillPart, ...]


def reasons(planner: Planner, card_id: str, at: datetime) -> Reasons:
    """The parts of the worth of playing a card now. Pure; raises CardError for an id not in the deck."""
    card, skills = planner.card(card_id), planner.skills_of(card_id)
    worth, recalls = planner.worths(at)
    row = planner.row(card_id)
    recall = float(recalls[row])
    seconds = planner.pace.seconds(card.seconds, recall)
    # A row is as wide as the card with most skills: the card's own skill stands last, the shared ones first.
    values = [float(value) for value in (*worth[row][: len(skills) - 1], worth[row][-1])]
    total = math.fsum(values)
    parts = sorted(
        (
            SkillPart(
                skill, value / seconds, value / total if total > 0 else 0.0, planner.users_of(skill),
                planner.state(skill, at),
            )
            for skill, value in zip(skills, values, strict=True)
        ),
        key=lambda part: (-part.gain, part.skill),
    )  # fmt: skip
    choice = planner.choice(at)
    rule = choice.rule if choice and choice.card == card_id else None
    if rule is None and planner.new_skills(card_id):
        rule = "new"
    return Reasons(card_id, rule, recall, seconds, total / seconds, tuple(parts))
