"""A prompt turns a card into a question. The question is made anew each time the card is asked.

A kind is three small functions, an `Asker`: which cards it drafts from a deck's material, which skills
a card needs on this neck, and the question. A question says what is shown and heard before, what the
player does, what is shown after, and, where a machine can check it, how.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from random import Random
from typing import NamedTuple

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import Form
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.theory.quality import QualityTable

__all__ = ["PLAY", "Asker", "Checked", "Checker", "Question", "Spot", "View", "Wanted", "asker_of"]

PLAY = "Play it, then Enter."
"""What a player does at most prompts."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One combination of a deck's material, before it is known whether it fits.

    key, degree: where the chord comes from, or None and 0. stage: order of introduction.
    ordered: whether the deck names its roots or keys, so that their order is its teacher's.
    """

    form: Form
    chord: Chord
    strings: StringSet
    key: Key | None
    degree: int
    stage: int
    ordered: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on a drawing: what stands there, and whether it is marked as a root."""

    string: int
    fret: int
    label: str
    root: bool = False


@dataclass(frozen=True, slots=True)
class View:
    """A part of a neck to look at.

    shape: drawn as the player reads diagrams, or None for `spots` alone (none: an empty grid).
    frets: first and last fret shown at least, or None for what the spots need.
    """

    shape: Shape | None = None
    spots: tuple[Spot, ...] = ()
    frets: tuple[int, int] | None = None


class Checked(NamedTuple):
    """What a machine says of a typed answer: whether it is right, and a line for the player."""

    right: bool
    line: str


Checker = Callable[[str], Checked]
"""Reads a typed answer and judges it; raises AnswerError, with what was expected, when it cannot be read."""


@dataclass(frozen=True, slots=True)
class Question:
    """A card as it is asked this time.

    ask: what the player does. before: what is shown with the prompt, or None. heard: what is
    heard with it, in that order: grips are struck, other shapes played up. sounded: what is heard
    with the answer. shapes: the answer as shapes, the first the one that is fingered and heard.
    in_a_row: whether all of them are played, one after the other. after: the answer as a drawing
    where it is no shape.
    said: the answer in lines. check: reads a typed answer, or None when the player judges;
    raises AnswerError, with what was expected, when it cannot be read.
    """

    ask: str = PLAY
    before: View | None = None
    heard: tuple[Shape, ...] = ()
    shapes: tuple[Shape, ...] = ()
    after: View | None = None
    said: tuple[str, ...] = ()
    sounded: tuple[Shape, ...] = ()
    check: Checker | None = None
    in_a_row: bool = False


class Asker(NamedTuple):
    """A kind of prompt.

    drafts: the cards one combination makes, without their skills. skills: what a card needs; raises
    NotPlayableError when it does not fit the neck. question: asks it; chance settles what may vary.
    """

    drafts: Callable[[Wanted, ShapeFinder], Iterable[Card]]
    skills: Callable[[Card, ShapeFinder], tuple[str, ...]]
    question: Callable[[Card, ShapeFinder, QualityTable, Random], Question]


@cache
def asker_of(kind: str) -> Asker:
    """Who asks a kind of prompt; its module is imported when a deck first uses it."""
    found = kind_of(kind)
    askers: dict[str, Asker] = importlib.import_module(f"drills.cards.prompts.{found.module}").ASKERS
    return askers[found.name]
