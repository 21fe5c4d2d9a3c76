"""Lines of a screen: text with a role and a weight, wrapped and fitted to a window."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import zip_longest

from drills.cards.prompts.prompt import View
from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.grid import Grid, GridMark, grid_of, grid_of_marks
from drills.diagrams.heard_glyphs import with_glyphs
from drills.diagrams.large_text import large_box, large_neck
from drills.diagrams.text import PLAIN, UNICODE, Row, box_rows, neck_rows, row_text
from drills.session.drill import Drill
from drills.session.session_state import Phase
from drills.shapes.shape import Shape

__all__ = [
    "KEEP",
    "ScreenLine",
    "blank",
    "drawing",
    "drawn_line",
    "fitted",
    "large_drawing",
    "places_text",
    "side_by_side",
    "view",
    "wrapped",
]

KEEP = 9
"""The weight of a line that stays while anything does."""


@dataclass(frozen=True, slots=True)
class ScreenLine:
    """A line of a screen. role: ``big``, ``strong``, ``quiet`` or ``""``; weight: dropped first when low.

    goes_on: whether it goes on with the text of the line above, without which it says nothing.
    tones: columns from and to, and which telling tone of a chord stands there; see `drills.diagrams.grid.ROOT`.
    """

    text: str = ""
    role: str = ""
    weight: int = KEEP
    tones: tuple[tuple[int, int, str], ...] = ()
    goes_on: bool = False


def blank(weight: int = 1) -> ScreenLine:
    """An empty line, among the first to go."""
    return ScreenLine(weight=weight)


def side_by_side(left: list[ScreenLine], right: list[ScreenLine], apart: int) -> list[ScreenLine]:
    """Two blocks of lines beside one another, the right one so many columns from the longest line of the left."""
    far = max(len(line.text) for line in left) + apart
    lines = []
    for one, other in zip_longest(left, right, fillvalue=ScreenLine()):
        tones = tuple((start + far, end + far, tone) for start, end, tone in other.tones)
        text = f"{one.text:{far}}{other.text}".rstrip()
        lines.append(ScreenLine(text, one.role or other.role, max(one.weight, other.weight), (*one.tones, *tones)))
    return lines


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
    pieces = [part.replace(_HELD, " ") for part in wrap(text, width) or [""]]
    return [ScreenLine(piece, role, weight, goes_on=number > 0) for number, piece in enumerate(pieces)]


def fitted(lines: list[ScreenLine], height: int) -> list[ScreenLine]:
    """The lines that fit, the least weighty dropped first, the order kept; a text of several lines goes whole."""
    while len(lines) > height:
        least = min(line.weight for line in lines)
        last = max(index for index, line in enumerate(lines) if line.weight == least)
        if least >= KEEP:
            return lines[:height]
        first = last
        while first and lines[first].goes_on:
            first -= 1
        lines = lines[:first] + lines[last + 1 :]
    return lines


def drawing(drill: Drill, style: DiagramStyle, shape: Shape, width: int, room: int = 0) -> list[ScreenLine]:
    """A shape drawn the way the player reads diagrams; large where as many rows are free as that takes."""
    return large_drawing(drill, style, shape, width, room) or _small(_grid(drill, style, shape), style, width)


def large_drawing(drill: Drill, style: DiagramStyle, shape: Shape, width: int, room: int) -> list[ScreenLine] | None:
    """A shape drawn to be read from afar, or None where it has no room in so many rows, or only plain characters."""
    return _large(_grid(drill, style, shape), style, width, room)


def _grid(drill: Drill, style: DiagramStyle, shape: Shape) -> Grid:
    grid = grid_of(shape, drill.material.finder.tuning.strings, style.labels, style.left_handed)
    heard = drill.state.heard
    if drill.state.phase is not Phase.ANSWER or heard is None or not any(heard.glyphs) or shape not in drill.shapes():
        return grid
    shown = drill.shapes()
    first = sum(len(each.notes) for each in shown[: shown.index(shape)])  # of two in a row the glyphs are in a row too
    glyphs = heard.glyphs[first : first + len(shape.notes)]
    return with_glyphs(grid, shape.notes, glyphs) if len(glyphs) == len(shape.notes) else grid


def view(drill: Drill, style: DiagramStyle, shown: View, width: int, room: int = 0) -> list[ScreenLine]:
    """What a question shows: a shape, places, or an empty part of the neck; large where so many rows are free."""
    if shown.shape is not None:
        return drawing(drill, style, shown.shape, width, room)
    marks = tuple(GridMark(spot.string, spot.fret, spot.label, spot.root) for spot in shown.spots)
    strings = drill.material.finder.tuning.strings
    grid = grid_of_marks(marks, strings, style.left_handed, shown.frets)
    return _large(grid, style, width, room) or _small(grid, style, width)


def _large(grid: Grid, style: DiagramStyle, width: int, room: int) -> list[ScreenLine] | None:
    if style.ascii or room < grid.strings:
        return None
    rows = large_box(grid, width) if style.orientation == "box" else large_neck(grid, width)
    return [drawn_line(row) for row in rows] if rows is not None and len(rows) <= room else None


def _small(grid: Grid, style: DiagramStyle, width: int) -> list[ScreenLine]:
    glyphs = PLAIN if style.ascii else UNICODE
    upright = style.orientation == "box"
    rows = box_rows(grid, glyphs, toned=True) if upright else neck_rows(grid, width, glyphs, toned=True)
    return [drawn_line(row) for row in rows]


def drawn_line(row: Row) -> ScreenLine:
    """A row of a drawing as a line, with the places of its telling tones."""
    tones, at = [], 0
    for text, tone in row:
        if tone:
            tones.append((at, at + len(text), tone))
        at += len(text)
    return ScreenLine(row_text(row), tones=tuple(tones))
