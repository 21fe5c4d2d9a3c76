"""Drawings in large characters, two rows a string and wide frets, to be read from across a room.

A label is a picture of four dots by three, two dots to a character (the upper and lower half blocks of Unicode).
"""

from __future__ import annotations

from drills.diagrams.grid import ROOT, SEVENTH, THIRD, Grid, GridMark
from drills.diagrams.text import UNICODE, Row, Segment, fret_numbers, padded, with_wires

__all__ = ["large_box", "large_label", "large_neck"]

_NARROWEST, _WIDEST = 7, 15
"""Columns of a fret."""

_WIDEST_STRING = 11
"""Columns of a string in an upright box, at most."""

_STRING_LINE = "▁"
"""The string runs between its two rows."""

_PICTURES = """
0 ### #.# #.# ###
1 ##. .#. .#. ###
2 ##. ..# .#. ###
3 ### .## ..# ###
4 #.# ### ..# ..#
5 ### ##. ..# ##.
6 #.. ### #.# ###
7 ### ..# .#. .#.
8 ### ### #.# ###
9 ### #.# ### ..#
b #.. ##. #.# ##.
# #.# ### ### #.#
A .#. #.# ### #.#
B ##. ### #.# ##.
C ### #.. #.. ###
D ##. #.# #.# ##.
E ### ##. #.. ###
F ### ##. #.. #..
G ### #.. #.# ###
R ##. #.# ##. #.#
"""

_HALVES = {"..": " ", "#.": "▀", ".#": "▄", "##": "█"}


def _parse(pictures: str) -> dict[str, tuple[str, str]]:
    """Both rows of each sign; every picture must have four rows of three dots."""
    found = {}
    for line in pictures.strip().splitlines():
        sign, *dots = line.split()
        if [len(row) for row in dots] != [3] * 4:
            raise ValueError(f"sign {sign!r}: expected 4 rows of 3 dots, got {dots}")
        upper, lower = ("".join(_HALVES[a + b] for a, b in zip(*pair, strict=True)) for pair in (dots[:2], dots[2:]))
        found[sign] = (upper, lower)
    return found


_SIGNS = _parse(_PICTURES)

_CORNERS = {ROOT: ("┏┓", "┗┛"), THIRD: ("╭╮", "╰╯"), SEVENTH: ("╱╲", "╲╱"), "": ("  ", "  ")}
"""What stands left and right of a label, in its upper and its lower row: heavy and square, round, pointed, nothing."""


def large_label(text: str, apart: int = 1) -> tuple[str, str] | None:
    """Both rows of a text, its signs so many columns apart; None when it holds a sign that is not drawn.

    A space is as wide as what stands between two signs.
    """
    if not all(sign in _SIGNS or sign == " " for sign in text):
        return None
    rows = [_SIGNS.get(sign, ("", "")) for sign in text]
    upper, lower = ((" " * apart).join(row[half] for row in rows) for half in (0, 1))
    return upper, lower


def _marked(mark: GridMark) -> tuple[Row, Row] | None:
    """A mark's two rows in the corners of its tone."""
    drawn = large_label(mark.label)
    if drawn is None:
        return None
    tone = ROOT if mark.is_root else mark.tone
    upper, lower = (
        ((f"{corners[0]}{row}{corners[1]}", tone),) for corners, row in zip(_CORNERS[tone], drawn, strict=True)
    )
    return upper, lower


def _all_marked(grid: Grid) -> dict[tuple[int, int], tuple[Row, Row]] | None:
    """Every mark by its string and fret; None when one of them cannot be drawn."""
    found = {}
    for mark in grid.marks:
        drawn = _marked(mark)
        if drawn is None:
            return None
        found[mark.string, mark.fret] = drawn
    return found


def _widest(marks: dict[tuple[int, int], tuple[Row, Row]]) -> int:
    return max((len(upper[0][0]) for upper, _ in marks.values()), default=1)


def large_neck(grid: Grid, width: int) -> list[Row] | None:
    """A sideways neck in two rows a string; None where its frets have no room side by side in so many columns."""
    marks = _all_marked(grid)
    columns = grid.columns
    if marks is None:
        return None
    cell = min(_WIDEST, (width - 4) // len(columns) - 1)
    if cell < max(_NARROWEST, _widest(marks)):
        return None
    lines = [fret_numbers(grid, columns, cell)]
    for string in range(1, grid.strings + 1):
        for half in (0, 1):
            cells = []
            for fret in columns:
                drawn = marks.get((string, fret))
                fill = _STRING_LINE if half == 0 and fret else " "
                cells.append(padded(drawn[half] if drawn else (), cell, fill))
            head = f"{string:>2} " if half == 0 else "   "
            lines.append(((head, ""), *with_wires(grid, cells, columns, UNICODE)))
    return lines


def large_box(grid: Grid, width: int) -> list[Row] | None:
    """An upright box in two rows a fret, an empty one between; None where so many columns have no room for it."""
    marks = _all_marked(grid)
    if marks is None:
        return None
    cell = min(_WIDEST_STRING, (width - 4) // grid.strings)
    if cell < max(_NARROWEST, _widest(marks)) + 1:
        return None
    lines: list[Row] = [(("    " + "".join(f"{string:^{cell}}" for string in grid.box_strings), ""),)]
    for number, fret in enumerate(grid.frets):
        lines += [()] if number else []
        for half in (0, 1):
            row: list[Segment] = [(f"{fret if grid.numbered and half == 0 else '':>3} ", "")]
            for string in grid.box_strings:
                drawn = marks.get((string, fret))
                empty: Row = ((UNICODE.empty, ""),) if half == 0 else ()
                row += padded(drawn[half] if drawn else empty, cell, " ")
            lines.append(tuple(row))
    return lines
