"""The grid as a picture: a sideways neck or an upright chord box, for paper and SVG.

Black and white first: a root is a black square with a white label, any other note a
white ring with a black one, so that a photocopy or a colour-blind eye loses nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from drills.diagrams import grid as grids
from drills.diagrams.answer import heading
from drills.diagrams.grid import Grid
from drills.diagrams.picture import Mark, Part, Picture, Rect, Ring, Stroke, Words, placed
from drills.diagrams.speech import say_shape
from drills.diagrams.typesetting import printed, text_wide
from drills.shapes.shape import Shape

__all__ = ["box_picture", "grid_picture", "length_of_frets", "neck_picture", "shape_picture"]

FRET_PT, STRING_PT, DOT_PT, NUMBER_PT = 30.0, 17.0, 7.8, 10.0
"""Natural sizes in points: fret and string spacing, radius of a mark, fret and string numbers."""

_LABEL_PT = {1: 11.5, 2: 9.5, 3: 7.5}
"""Print of a label inside its mark, in points, by its number of signs."""

_NUT_PT, _THIN_PT, _USED_PT = 3.0, 0.7, 1.5
"""Lines in points: the nut, wires and strings, and a string that is played."""

_INLAY_PT, _INLAY_GREY = 2.6, 0.65
"""Radius of a fretboard's dot in points, and how light it is: a mark over it stays black and white."""

_CIRCLE_PT, _HEAD_PT = 11.0, 6.0
"""Radius of a circle around a mark, and the length of an arrow's head, in points."""

_BOX_FRET = 0.8
"""A fret of an upright box, in FRET_PT."""

_TITLE_PT = 9.5
"""Print of the name above a picture of its own, in points."""
_EDGE = 12.0


def _mark(mark: grids.GridMark, x: float, y: float) -> Mark:
    label = printed(mark.label)
    size = _LABEL_PT[min(3, len(label))]
    text = Words(x, y + size * 0.36, label, size, "middle", True, mark.is_root)
    side = 2 * DOT_PT * 0.94
    back = Rect(x - side / 2, y - side / 2, side, side, True, 1.0) if mark.is_root else Ring(x, y, DOT_PT, False, 1.0)
    return Mark(mark.string, mark.fret, mark.label, mark.is_root, (back, text))


def neck_picture(grid: Grid, long: float = 1.0) -> Picture:
    """A sideways neck, string 1 on top, fret numbers above; the nut is at the right for a left-hander.

    long: how many times its natural length a fret is drawn.
    """
    fret_pt = FRET_PT * long
    columns = grid.columns
    left = _EDGE + 8
    top = NUMBER_PT + DOT_PT + 8
    numbers_y = NUMBER_PT
    bottom = top + STRING_PT * (grid.strings - 1)
    right = left + fret_pt * len(columns)
    parts: list[Part] = []
    fretted = [index for index, fret in enumerate(columns) if fret]
    from_x, to_x = left + fret_pt * min(fretted), left + fret_pt * (max(fretted) + 1)
    for string in range(1, grid.strings + 1):
        y = top + STRING_PT * (string - 1)
        parts.append(Stroke(from_x, y, to_x, y, _USED_PT if string in grid.used else _THIN_PT))
        parts.append(Words(left - 8, y + NUMBER_PT * 0.36, str(string), NUMBER_PT, "end"))
    for index in range(min(fretted), max(fretted) + 2):
        x = left + fret_pt * index
        parts.append(Stroke(x, top, x, bottom, _NUT_PT if index == grid.nut_wire(columns) else _THIN_PT))
    for index, fret in enumerate(columns):
        x = left + fret_pt * (index + 0.5)
        if grid.numbered:
            parts.append(Words(x, numbers_y, str(fret), NUMBER_PT, "middle"))
    for fret, where in _inlays(grid):
        x = left + fret_pt * (columns.index(fret) + 0.5)
        parts.append(_inlay(x, top + STRING_PT * where))
    spots = {
        (mark.string, mark.fret): (
            left + fret_pt * (columns.index(mark.fret) + 0.5),
            top + STRING_PT * (mark.string - 1),
        )
        for mark in grid.marks
    }
    parts += _marked(grid, spots)
    if not grid.numbered:
        parts += _place_for_a_number(left + fret_pt * (columns.index(grid.first_fret) + 0.5), numbers_y)
    return Picture(right + _EDGE, bottom + DOT_PT + 2, tuple(parts))


def box_picture(grid: Grid, long: float = 1.0) -> Picture:
    """An upright chord box: string numbers across the top, fret numbers down the side; mirrored for a left-hander.

    long: how many times its natural length a fret is drawn.
    """
    strings, frets = grid.box_strings, grid.frets
    left, top = _EDGE + 14, 20.0
    step, tall = STRING_PT + 1, FRET_PT * _BOX_FRET * long
    right = left + step * (len(strings) - 1)
    bottom = top + tall * len(frets)
    first = top + tall * (1 if grid.open_column else 0)
    parts: list[Part] = []
    for index, string in enumerate(strings):
        x = left + step * index
        parts.append(Stroke(x, first, x, bottom, _USED_PT if string in grid.used else _THIN_PT))
        parts.append(Words(x, top - 8, str(string), NUMBER_PT, "middle"))
    for index in range(len(grid.frets) - int(grid.open_column) + 1):
        y = first + tall * index
        parts.append(Stroke(left, y, right, y, _NUT_PT if index == 0 and grid.first_fret == 1 else _THIN_PT))
    if grid.numbered:
        for index, fret in enumerate(frets):
            y = top + tall * (index + 0.5) + NUMBER_PT * 0.36
            parts.append(Words(left - DOT_PT - 4, y, str(fret), NUMBER_PT, "end"))
    else:
        row = frets.index(grid.first_fret)
        parts += _place_for_a_number(left - DOT_PT - 8, top + tall * (row + 0.5) + NUMBER_PT * 0.36)
    for fret, where in _inlays(grid):
        parts.append(_inlay(left + step * where, top + tall * (frets.index(fret) + 0.5)))
    spots = {
        (mark.string, mark.fret): (
            left + step * strings.index(mark.string),
            top + tall * (frets.index(mark.fret) + 0.5),
        )
        for mark in grid.marks
    }
    parts += _marked(grid, spots)
    return Picture(right + _EDGE, bottom + 8, tuple(parts))


@lru_cache(maxsize=256)
def grid_picture(grid: Grid, orientation: str = "neck", long: float = 1.0) -> Picture:
    """A grid as ``neck`` or ``box``; raises ValueError for anything else.

    long: how many times its natural length a fret is drawn, for room that is left along the neck.
    The latest are kept: a page is fitted in several ways, and draws the same grids in each.
    """
    if orientation not in ("neck", "box"):
        raise ValueError(f"orientation: expected neck or box, got {orientation!r}")
    return neck_picture(grid, long) if orientation == "neck" else box_picture(grid, long)


def shape_picture(
    shape: Shape, strings: int, labels: str = "degrees", orientation: str = "neck", left_handed: bool = False
) -> Picture:
    """A shape as a picture of its own, with its name above and the whole of it in words as text alternative."""
    drawn = grid_picture(grids.grid_of(shape, strings, labels, left_handed), orientation)
    title = printed(heading(shape))
    wide = max(drawn.wide, text_wide(title, _TITLE_PT, bold=True) + 2 * _EDGE)
    name = Words(_EDGE, 16, title, _TITLE_PT, bold=True)
    parts = (name, *placed(drawn.parts, 0, 24))
    return replace(drawn, wide=wide, high=drawn.high + 24, parts=parts, title=title, about=say_shape(shape))


def length_of_frets(grid: Grid, orientation: str = "neck") -> float:
    """How long the frets of a drawing are along its neck, in points, at their natural length."""
    return FRET_PT * (1.0 if orientation == "neck" else _BOX_FRET) * len(grid.frets)


def _inlays(grid: Grid) -> Iterator[tuple[int, float]]:
    """The frets shown that carry dots, and where across the neck each dot lies, in strings from the first."""
    middle = (grid.strings - 1) / 2
    apart = max(1.0, (grid.strings - 2) // 2)
    for fret, dots in grid.dots:
        if grid.numbered and grid.first_fret <= fret <= grid.last_fret:
            yield from ((fret, where) for where in ((middle,) if dots == 1 else (middle - apart, middle + apart)))


def _marked(grid: Grid, spots: Mapping[tuple[int, int], tuple[float, float]]) -> Iterator[Part]:
    """The marks at their spots, circles under them and arrows over them; what is circled where no note is stays out."""
    for place in grid.circled:
        if place in spots:
            yield Ring(*spots[place], _CIRCLE_PT, False, 1.4)
    for mark in grid.marks:
        yield _mark(mark, *spots[mark.string, mark.fret])
    for start, end in grid.arrows:
        if start in spots and end in spots and start != end:
            yield from _arrow(*spots[start], *spots[end])


def _arrow(x1: float, y1: float, x2: float, y2: float) -> Iterator[Stroke]:
    """A line from the edge of one mark to the edge of another, with its head there."""
    turn, far = math.atan2(y2 - y1, x2 - x1), DOT_PT + 2.0
    x1, y1 = x1 + far * math.cos(turn), y1 + far * math.sin(turn)
    x2, y2 = x2 - far * math.cos(turn), y2 - far * math.sin(turn)
    yield Stroke(x1, y1, x2, y2, 1.4)
    for side in (0.85 * math.pi, -0.85 * math.pi):
        yield Stroke(x2, y2, x2 + _HEAD_PT * math.cos(turn + side), y2 + _HEAD_PT * math.sin(turn + side), 1.4)


def _inlay(x: float, y: float) -> Ring:
    return Ring(x, y, _INLAY_PT, True, 0.5, _INLAY_GREY)


def _place_for_a_number(x: float, y: float) -> list[Part]:
    """A short line where a player writes the first fret."""
    return [Stroke(x - 7, y + 1.5, x + 7, y + 1.5, _THIN_PT)]
