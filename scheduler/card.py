"""What the scheduler is told of a card: an id, the skills it needs, what it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduler.errors import CardError

__all__ = ["CARD_KIND", "EASY", "HARD", "HARDEST", "USUAL", "CardSpec", "kind_of"]

CARD_KIND = "card"
"""The kind of the skill every card has to itself, written ``card:<id>``."""

EASY, USUAL, HARD, HARDEST = range(4)
"""What a card may demand, see `CardSpec.demand`."""


def kind_of(skill: str) -> str:
    """The kind of a skill written ``kind:name``, e.g. ``form`` for ``form:a/b``."""
    return skill.partition(":")[0]


@dataclass(frozen=True, slots=True)
class CardSpec:
    """One thing that can be asked.

    id: stable for as long as its log is kept.
    skills: what the card needs, each written ``kind:name``; the implicit
        ``card:<id>`` is not listed.
    weight: how much this card matters beside others, above 0.
    seconds: expected time from prompt to prompt before the player's own
        times are known, in seconds, above 0.
    stage: order of introduction; lower stages are met first.
    apart: tags; two cards sharing one are never asked back to back while
        anything else is open, e.g. the place of a root.
    alike: tags; two cards sharing one are rather not asked back to back, see
        `TeachingRules.apart_weight`.
    area: the part of the material it belongs to, e.g. a set of strings; parts
        are opened one after another, see `TeachingRules.area_weight`.
    demand: what it demands besides its skills: EASY where they are first met,
        USUAL, HARD for what comes later, HARDEST for what comes last; see
        `TeachingRules.easy_first`.
    told: kinds of skill that can be told with the question, where they are
        new, instead of being shown in a lesson.

    Raises CardError when a field is out of range.
    """

    id: str
    skills: tuple[str, ...] = ()
    weight: float = 1.0
    seconds: float = 18.0
    stage: int = 0
    apart: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    area: str = ""
    demand: int = EASY

    def __post_init__(self) -> None:
        if not self.id:
            raise CardError("card id: expected some text, got ''; give every card a stable id")
        for field in ("weight", "seconds"):
            value = getattr(self, field)
            if not (math.isfinite(value) and value > 0):
                raise CardError(f"card {self.id!r}, {field}: expected a number above 0, got {value!r}")
        if not EASY <= self.demand <= HARDEST:
            raise CardError(f"card {self.id!r}, demand: expected {EASY} to {HARDEST}, got {self.demand!r}")
        for skill in self.skills:
            kind, colon, name = skill.partition(":")
            if not (kind and colon and name) or kind == CARD_KIND:
                raise CardError(
                    f"card {self.id!r}, skills: expected 'kind:name' (and not the implicit 'card:...'), got {skill!r}"
                )
        if len(set(self.skills)) != len(self.skills):
            raise CardError(f"card {self.id!r}, skills: expected each skill once, got {self.skills!r}")
