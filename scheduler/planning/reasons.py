"""Why a card was chosen, in numbers a session can turn into one sentence."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Reasons", "SkillPart", "SkillState"]


@dataclass(frozen=True, slots=True)
class SkillState:
    """One skill of one card at one moment.

    skill: its name, ``kind:name``. word: unmet, forming, firm or fading.
    recall: chance of getting this skill right now, 0 to 1.
    recall_in_a_week: the same seven days after its last practice.
    half_life_days: how slowly it fades (weighted mean over the committee).
    days_since: days since it was last practised, or None when unmet.
    tries, clean: first attempts at cards that need it, and how many were clean.
    """

    skill: str
    word: str
    recall: float
    recall_in_a_week: float
    half_life_days: float
    days_since: float | None
    tries: int
    clean: int


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

    rule: the teaching rule that put the card first (``returns``, ``again``,
        ``gap``), ``new`` for a first meeting, else None for gain alone.
    recall: chance of a clean first try now. seconds: expected, prompt to prompt.
    gain_per_second: expected gain in weighted log recall over the planning
        horizons, per second of practice.
    parts: one for each skill, largest gain first.
    weakest: the skill most likely to fail now.
    """

    card: str
    rule: str | None
    recall: float
    seconds: float
    gain_per_second: float
    parts: tuple[SkillPart, ...]
    weakest: str
