"""What is left out while a hand hurts: the form that stretched it, and whatever reaches as far (rule E)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from random import Random

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.material import Material
from drills.errors import NotPlayableError
from drills.shapes.shape import Shape

__all__ = [
    "SORE_HAND", "SORE_SUBJECT", "SoreStretch", "left_out_for", "sore_ticket", "stretch_of", "stretch_words",
    "stretches_in",
]  # fmt: skip

SORE_HAND = "hand"
"""The name that brings back what is left out."""

SORE_SUBJECT = "hurt:"
"""How the log's tickets of a hand that hurts begin; the form's signature follows."""

NO_FORM = "no form"
"""Stands for the form where the hand hurt before anything was played."""

_SAME_MM = 0.05
"""Reaches are kept to a tenth of a millimetre; a difference under half of that is none."""


@dataclass(frozen=True, slots=True)
class SoreStretch:
    """What was played when the hand hurt.

    signature: of its form. reach_mm: how far it reached there, in millimetres. words: what it was, for people.
    """

    signature: str
    reach_mm: float
    words: str

    @property
    def subject(self) -> str:
        """The subject of its ticket."""
        return f"{SORE_SUBJECT}{self.signature}"


def stretch_of(material: Material, card: Card | None) -> SoreStretch | None:
    """What a card stretched the hand to: of several shapes the widest; None for a card that plays no shape."""
    shapes = _shapes(material, card) if card is not None else []
    if not shapes:
        return None
    widest = max(shapes, key=lambda shape: shape.reach_mm)
    return SoreStretch(widest.signature, round(widest.reach_mm, 1), f"{widest.name} on {widest.strings}")


def sore_ticket(stretch: SoreStretch | None) -> tuple[str, str | None]:
    """Subject and value of the ticket that records a hurting hand; without a form there is nothing to leave out."""
    if stretch is None:
        return f"{SORE_SUBJECT}{NO_FORM}", None
    return stretch.subject, f"{stretch.reach_mm:.1f} {stretch.words}"


def stretch_words(stretch: SoreStretch) -> str:
    """What is left out for a stretch: ``the form of Cm7 on 5-4-3 and what reaches as far, 95 mm``."""
    return f"the form of {stretch.words} and what reaches as far, {stretch.reach_mm:.0f} mm"


def stretches_in(tickets: Mapping[str, str]) -> tuple[SoreStretch, ...]:
    """The stretches left out by the tickets in effect; a value that gives no reach (a log may be anyone's) is none."""
    found = []
    for subject, value in tickets.items():
        if not subject.startswith(SORE_SUBJECT):
            continue
        reach, _, words = value.partition(" ")
        try:
            reach_mm = float(reach)
        except ValueError:
            continue
        if isfinite(reach_mm) and reach_mm > 0:
            signature = subject.removeprefix(SORE_SUBJECT)
            found.append(SoreStretch(signature, reach_mm, words or signature))
    return tuple(found)


def left_out_for(material: Material, stretches: tuple[SoreStretch, ...]) -> frozenset[str]:
    """Ids of the cards that play one of these forms, or anything that reaches as far; those away from it stay."""
    if not stretches:
        return frozenset()
    signatures = {stretch.signature for stretch in stretches}
    least_mm = min(stretch.reach_mm for stretch in stretches) - _SAME_MM
    return frozenset(card.id for card in material.cards.values() if _stretches(material, card, signatures, least_mm))


def _stretches(material: Material, card: Card, signatures: set[str], least_mm: float) -> bool:
    """Whether a card plays one of these forms, or reaches so far."""
    shapes = _shapes(material, card)
    return any(shape.signature in signatures or shape.reach_mm >= least_mm for shape in shapes)


def _shapes(material: Material, card: Card) -> list[Shape]:
    """The shapes that a card has the hand play: both of a transition; where one of several will do, the usual one."""
    kind = kind_of(card.kind)
    if kind.away:
        return []
    if not card.is_shape:
        shapes = material.question(card, Random(0)).shapes
        return list(shapes if kind.name == "sets" else shapes[:1])
    try:
        after = material.after(card)
    except NotPlayableError:
        after = None
    return [material.answer(card), *([after] if after is not None else [])]
