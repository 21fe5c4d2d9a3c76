"""The grid as a picture: a sideways neck or an upright chord box, for paper and SVG.

Black and white first: a root is a black square with a white label, any other note a
white ring with a black one, so that a photocopy or a colour-blind eye loses nothing.
"""

from __future__ import annotations

from dataclasses import replace

from drills.diagrams import grid as grids
from drills.diagrams.answer import heading
from drills.diagrams.grid import Grid
from drills.diagrams.picture import Mark, Part, Picture, Rect, Ring, Stroke, Words, placed
from drills.diagrams.speech import say_shape
from drills.diagrams.typesetting import printed, text_wide
from drills.shapes.shape import Shape

__all__ = ["box_picture", "grid_picture", "neck_picture", "shape_picture"]

FRET_PT, STRING_PT, DOT_PT, NUMBER_PT = 30.0, 17.0, 7.8, 10.0
"""Natural sizes in points: fret and string spacing, radius of a mark, fret and string numbers."""

_LABEL_PT = {1: 11.5, 2: 9.5, 3: 7.5}
"""Print of a label inside its mark, in points, by its number of signs."""

_NUT_PT, _THIN_PT = 3.0, 0.7
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


def neck_picture(grid: Grid) -> Picture:
    """A sideways neck, string 1 on top, fret numbers above; the nut is at the right for a left-hander."""
    columns = grid.columns
    left = _EDGE + 8
    top = NUMBER_PT + DOT_PT + 8
    numbers_y = NUMBER_PT
    bottom = top + STRING_PT * (grid.strings - 1)
    right = left + FRET_PT * len(columns)
    parts: list[Part] = []
    fretted = [index for index, fret in enumerate(columns) if fret]
    from_x, to_x = left + FRET_PT * min(fretted), left + FRET_PT * (max(fretted) + 1)
    for string in range(1, grid.strings + 1):
        y = top + STRING_PT * (string - 1)
        parts.append(Stroke(from_x, y, to_x, y, _THIN_PT))
        parts.append(Words(left - 8, y + NUMBER_PT * 0.36, str(string), NUMBER_PT, "end"))
    for index in range(min(fretted), max(fretted) + 2):
        x = left + FRET_PT * index
        parts.append(Stroke(x, top, x, bottom, _NUT_PT if index == grid.nut_wire(columns) else _THIN_PT))
    for index, fret in enumerate(columns):
        x = left + FRET_PT * (index + 0.5)
        if grid.numbered:
            parts.append(Words(x, numbers_y, str(fret), NUMBER_PT, "middle"))
    for mark in grid.marks:
        x = left + FRET_PT * (columns.index(mark.fret) + 0.5)
        parts.append(_mark(mark, x, top + STRING_PT * (mark.string - 1)))
    if not grid.numbered:
        parts += _place_for_a_number(left + FRET_PT * (columns.index(grid.first_fret) + 0.5), numbers_y)
    return Picture(right + _EDGE, bottom + DOT_PT + 2, tuple(parts))


def box_picture(grid: Grid) -> Picture:
    """An upright chord box: string numbers across the top, fret numbers down the side; mirrored for a left-hander."""
    strings, frets = grid.box_strings, grid.frets
    left, top = _EDGE + 14, 20.0
    step, tall = STRING_PT + 1, FRET_PT * 0.8
    right = left + step * (len(strings) - 1)
    bottom = top + tall * len(frets)
    first = top + tall * (1 if grid.open_column else 0)
    parts: list[Part] = []
    for index, string in enumerate(strings):
        x = left + step * index
        parts.append(Stroke(x, first, x, bottom, _THIN_PT))
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
    for mark in grid.marks:
        parts.append(_mark(mark, left + step * strings.index(mark.string), top + tall * (frets.index(mark.fret) + 0.5)))
    return Picture(right + _EDGE, bottom + 8, tuple(parts))


def grid_picture(grid: Grid, orientation: str = "neck") -> Picture:
    """A grid as ``neck`` or ``box``; raises ValueError for anything else."""
    if orientation not in ("neck", "box"):
        raise ValueError(f"orientation: expected neck or box, got {orientation!r}")
    return neck_picture(grid) if orientation == "neck" else box_picture(grid)


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


def _place_for_a_number(x: float, y: float) -> list[Part]:
    """A short line where a player writes the first fret."""
    return [Stroke(x - 7, y + 1.5, x + 7, y + 1.5, _THIN_PT)]
