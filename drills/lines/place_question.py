"""The question of a card, and for one that asks for a phrase in the same place such a phrase with the answer."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.material import Material
from drills.cards.prompts.prompt import Question

__all__ = ["question_of"]


def question_of(material: Material, card: Card, chance: Random) -> Question:
    """A card as it is asked this time (drills/RULES.md, B5: a phrase joins grip, arpeggio and mode)."""
    question = material.question(card, chance)
    if kind_of(card.kind).name != "same-place":
        return question
    from drills.lines.phrase_in_place import phrase_in_place, phrase_words  # loaded by such a card, not by a session

    arpeggio, mode = question.shapes
    line = phrase_in_place(material.finder, arpeggio, mode_name=mode.form.mode)
    if line is None:
        return question
    return replace(question, said=(*question.said, f"A phrase, beat by beat: {phrase_words(line)}."))
