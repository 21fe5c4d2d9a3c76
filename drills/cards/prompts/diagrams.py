"""Diagrams without names: which chord is this (P2)."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from drills.cards.card import Call, Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Checked, Question, Spot, View, Wanted
from drills.cards.prompts.typed import read_chord
from drills.cards.skills import shape_skills
from drills.shapes.finder import ShapeFinder
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.quality import QualityTable

__all__ = ["ASKERS", "DOT", "ROOT", "bare", "name_checker", "names_of"]

ROOT, DOT = "R", "o"
"""What stands at a root and at another note when a diagram must not say more."""


def bare(shape: Shape) -> tuple[Spot, ...]:
    """A shape's places with its roots marked and nothing else said."""
    return tuple(
        Spot(note.string, note.fret, ROOT if note.is_root else DOT, note.is_root) for note in shape.notes
    )


def names_of(chord: Chord, table: QualityTable, root_marked: bool) -> tuple[Chord, ...]:
    """Every chord a diagram of one may be called: itself alone with its root marked, else all with those notes."""
    if root_marked:
        return (chord,)
    same = (
        Chord(root, quality)
        for quality in table
        for root in chord.notes
        if Chord(root, quality).pitch_classes == chord.pitch_classes
    )
    return (chord, *(other for other in same if other != chord))


def name_checker(chord: Chord, table: QualityTable, root_marked: bool = True):
    """Reads a chord's name; enharmonic twins are right, the name shown is the spelled one."""
    names = names_of(chord, table, root_marked)

    def check(text: str) -> Checked:
        answer = read_chord(text, table)
        right = any(answer.same_sound(name) for name in names)
        return Checked(right, f"Right: {chord.name}." if right else f"Not {answer.name}: {chord.name}.")

    return check


def _diagrams(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    chord = wanted.chord
    yield Card(
        card_id(finder.tuning, wanted.form, chord, wanted.strings, "diagram"), "diagram", chord, wanted.form,
        wanted.strings, (), wanted.stage, seconds=KINDS["diagram"].seconds,
        words=Call("Which chord?", f"{ROOT} is the root"),
    )  # fmt: skip


def _skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    """The form and the root's place: reading both off the neck is what naming takes."""
    return shape_skills(finder.find(card.chord, card.form, card.strings), finder.tuning)[:2]


def _question(card: Card, finder: ShapeFinder, table: QualityTable, _chance: Random) -> Question:
    shape = finder.find(card.chord, card.form, card.strings)
    return Question(
        "Type its name, then Enter.",
        View(spots=bare(shape)),
        shapes=(shape,),
        check=name_checker(card.chord, table),
    )


ASKERS = {"diagram": Asker(_diagrams, _skills, _question)}
