"""Lines of a screen: text with a role and a weight, wrapped and fitted to a window."""

from __future__ import annotations

from dataclasses import dataclass

from drills.cards.prompts.prompt import View
from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.grid import Grid, GridMark, grid_of, grid_of_marks
from drills.diagrams.text import PLAIN, UNICODE, box_lines, neck_lines
from drills.session.drill import Drill
from drills.shapes.shape import Shape

__all__ = ["KEEP", "ScreenLine", "blank", "drawing", "fitted", "places_text", "view", "wrapped"]

KEEP = 9
"""The weight of a line that stays while anything does."""


@dataclass(frozen=True, slots=True)
class ScreenLine:
    """A line of a screen. role: ``big``, ``strong``, ``quiet`` or ``""``; weight: dropped first when low."""

    text: str = ""
    role: str = ""
    weight: int = KEEP


def blank(weight: int = 1) -> ScreenLine:
    """An empty line, among the first to go."""
    return ScreenLine(weight=weight)


def places_text(shape: Shape) -> str:
    """Notes as the rules write them: ``C(6/8) E(5/7) ...``"""
    return " ".join(f"{note.pitch.note}({note.string}/{note.fret})" for note in shape.notes)


_HELD = "\xa0"
"""A space that no line is broken at."""


def wrapped(text: str, width: int, role: str = "", weight: int = KEEP) -> list[ScreenLine]:
    """A text in as many lines as it needs; what two spaces set apart (a key and its meaning) stays together if it can.

    Only what is wider than a line by itself is broken inside.
    """
    from textwrap import wrap

    parts = text.split("  ")
    if len(parts) > 1:
        text = "  ".join(part.replace(" ", _HELD) if len(part) <= width else part for part in parts)
    return [ScreenLine(part.replace(_HELD, " "), role, weight) for part in wrap(text, width) or [""]]


def fitted(lines: list[ScreenLine], height: int) -> list[ScreenLine]:
    """The lines that fit, the least weighty dropped first, the order kept."""
    while len(lines) > height:
        least = min(line.weight for line in lines)
        last = max(index for index, line in enumerate(lines) if line.weight == least)
        if least >= KEEP:
            return lines[:height]
        lines = lines[:last] + lines[last + 1 :]
    return lines


def drawing(drill: Drill, style: DiagramStyle, shape: Shape, width: int) -> list[ScreenLine]:
    """A shape drawn the way the player reads diagrams."""
    grid = grid_of(shape, drill.material.finder.tuning.strings, style.labels, style.left_handed)
    return _drawn(grid, style, width)


def view(drill: Drill, style: DiagramStyle, shown: View, width: int) -> list[ScreenLine]:
    """What a question shows: a shape, places, or an empty part of the neck."""
    if shown.shape is not None:
        return drawing(drill, style, shown.shape, width)
    marks = tuple(GridMark(spot.string, spot.fret, spot.label, spot.root) for spot in shown.spots)
    strings = drill.material.finder.tuning.strings
    return _drawn(grid_of_marks(marks, strings, style.left_handed, shown.frets), style, width)


def _drawn(grid: Grid, style: DiagramStyle, width: int) -> list[ScreenLine]:
    glyphs = PLAIN if style.ascii else UNICODE
    rows = box_lines(grid, glyphs) if style.orientation == "box" else neck_lines(grid, width, glyphs)
    return [ScreenLine(row) for row in rows]
