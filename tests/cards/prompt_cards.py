"""Cards of one kind of prompt and their questions, for tests."""

from __future__ import annotations

from random import Random

from drills.cards.deck import find_deck, read_deck
from drills.cards.focus import parse_focus
from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.theory.quality import shipped_qualities

TABLE = shipped_qualities()


def cards_of(prompt, deck="first", neck=Neck(), **focus):
    """The material of a deck asked by one kind of prompt."""
    return gather(read_deck(find_deck(deck, None)), neck, focus=parse_focus(TABLE, prompt=prompt, **focus), table=TABLE)


def asked(material, card_id, seed=0):
    """A card's question, with the chance of a seed."""
    return material.question(material.cards[card_id], Random(seed))


def right(question, answer):
    """Whether a typed answer is taken."""
    return question.check(answer).right
