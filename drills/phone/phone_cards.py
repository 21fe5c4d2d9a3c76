"""The cards of a phone page: prompt, lesson, answer, drawing and sound of each, in the words of the session."""

from __future__ import annotations

from collections.abc import Iterable
from random import Random
from typing import Any

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.material import Material
from drills.cards.prompts.prompt import Question, View
from drills.cards.sore_hand import sore_ticket, stretch_of
from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.answer import heading, remarks
from drills.diagrams.grid import GridMark, grid_of, grid_of_marks
from drills.diagrams.grid_picture import grid_picture
from drills.diagrams.speech import say_shape
from drills.lines.place_question import question_of
from drills.phone.phone_drawing import DrawingPool
from drills.session.lessons import lesson_text, roots_text
from drills.shapes.shape import Shape, fingers_text
from scheduler.planning.planner import Planner

__all__ = ["PhoneCards"]

TYPED = "Say it, or write it down, then tap."
"""What a player does on a phone where the terminal takes a typed answer."""


class PhoneCards:
    """The cards of a page, made one by one; drawings and pitches are gathered as they come.

    planner: says what was never met. audible: whether the page has sound. drawings: the parts of every drawing so far.
    keys: MIDI keys that are heard.
    """

    def __init__(self, material: Material, planner: Planner, style: DiagramStyle, audible: bool) -> None:
        self.material, self.planner, self.style, self.audible = material, planner, style, audible
        self.drawings = DrawingPool()
        self.keys: set[int] = set()

    def card(self, card: Card) -> dict[str, Any]:
        """A card as values that JSON knows; what is empty is left out."""
        question = question_of(self.material, card, Random(card.id))
        stretch = stretch_of(self.material, card)
        away = kind_of(card.kind).away
        values: dict[str, Any] = {
            "id": card.id,
            "call": card.call,
            "detail": card.detail,
            "note": card.note,
            "context": card.context,
            "ask": TYPED if question.check is not None else question.ask.replace("Enter", "tap"),
            "before": self._view(question.before),
            "heard": self._sound(question.heard, up_and_down=False),
            "root": self._roots(card, question.shapes),
            "lessons": self._lessons(card, question),
            "said": list(question.said),
            "shapes": [self._shape(shape) for shape in question.shapes],
            "after": self._view(question.after) if not question.shapes else None,
            "beside": self._beside(card, question),
            "sound": self._answer_sound(card, question),
            "slips": list(kind_of(card.kind).slips),
            "seconds": round(card.seconds, 1),
            "hurts": list(sore_ticket(stretch)) if not away else None,
            "reach": stretch.reach_mm if stretch is not None else None,
        }
        return {name: value for name, value in values.items() if value not in (None, "", [], {})}

    def _roots(self, card: Card, shapes: tuple[Shape, ...]) -> str:
        return roots_text(self.material.finder, card, shapes, self.planner.new_skills(card.id))

    def _lessons(self, card: Card, question: Question) -> dict[str, list[str]]:
        """What a lesson says, by the kinds it shows, as the walk may come to them."""
        kinds = {skill.partition(":")[0] for skill in card.skills}.intersection(("form", "root", "ear"))
        cases = [("form",), ("form", "root"), ("root",), ("ear",)]
        roots = self._roots(card, question.shapes)
        found = {}
        for case in cases:
            if kinds.issuperset(case):
                asked, place = lesson_text(card, case, roots, bool(question.shapes), self.audible)
                found[" ".join(case)] = [asked.replace(" (s)", ""), place]
        return found

    def _shape(self, shape: Shape) -> dict[str, Any]:
        return {
            "head": heading(shape),
            "drawing": self._drawn(shape),
            "notes": " ".join(note.pitch.note.name for note in shape.notes),
            "fingers": fingers_text(shape.fingers),
            "remarks": remarks(shape),
        }

    def _beside(self, card: Card, question: Question) -> list[list[Any]]:
        """The grip and the mode at the same place, each with its drawing."""
        if len(question.shapes) != 1:
            return []
        found = (self.material.grip(card), self.material.mode(card))
        return [
            [heading(shape), self._drawn(shape), fingers_text(shape.fingers)] for shape in found if shape is not None
        ]

    def _drawn(self, shape: Shape) -> int:
        strings = self.material.finder.tuning.strings
        grid = grid_of(shape, strings, self.style.labels, self.style.left_handed)
        return self.drawings.add(grid_picture(grid, self.style.orientation), say_shape(shape))

    def _view(self, view: View | None) -> int | None:
        if view is None:
            return None
        if view.shape is not None:
            return self._drawn(view.shape)
        marks = tuple(GridMark(spot.string, spot.fret, spot.label, spot.root) for spot in view.spots)
        grid = grid_of_marks(marks, self.material.finder.tuning.strings, self.style.left_handed, view.frets)
        words = ", ".join(f"string {spot.string}, fret {spot.fret}: {spot.label}" for spot in view.spots)
        return self.drawings.add(grid_picture(grid, self.style.orientation), f"{words or 'An empty part of the neck'}.")

    def _answer_sound(self, card: Card, question: Question) -> list[list[Any]]:
        """Chord, then arpeggio up and down, as far as there are both."""
        if question.sounded:
            return self._sound(question.sounded)
        if len(question.shapes) == 1 and (grip := self.material.grip(card)) is not None:
            return self._sound((grip, question.shapes[0]))
        return self._sound(question.shapes, up_and_down=len(question.shapes) == 1)

    def _sound(self, shapes: Iterable[Shape], up_and_down: bool = True) -> list[list[Any]]:
        """Shapes one after another: grips struck, others played up, and down again."""
        parts: list[list[Any]] = []
        for shape in shapes if self.audible else ():
            keys = [note.midi for note in shape.notes]
            self.keys.update(keys)
            back = keys[-2::-1] if up_and_down and shape.form.returns else ()
            parts.append(["grip" if shape.form.kind == "grip" else "line", *keys, *back])
        return parts
