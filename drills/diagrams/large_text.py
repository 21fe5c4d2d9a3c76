"""Drawings in large characters, three rows a string and wide frets, to be read from across a room.

A label is a picture of five dots by three, two dots to a character (the upper and lower half blocks of Unicode); what
would be the sixth dot stays empty, so that labels on neighbouring strings never touch.
"""

from __future__ import annotations

from drills.diagrams.grid import ROOT, SEVENTH, THIRD, Grid, GridMark
from drills.diagrams.text import UNICODE, Row, Segment, fret_numbers, padded, with_wires

__all__ = ["LABEL_ROWS", "large_box", "large_label", "large_neck"]

LABEL_ROWS = 3
"""Rows of a label, and so of a string of a neck and of a fret of a box."""

_MIDDLE = LABEL_ROWS // 2
"""The row in which a string runs, and in which it is numbered."""

_NARROWEST, _WIDEST = 7, 15
"""Columns of a fret."""

_WIDEST_STRING = 11
"""Columns of a string in an upright box, at most."""

_PICTURES = """
0 ### #.# #.# #.# ###
1 ##. .#. .#. .#. ###
2 ### ..# ### #.. ###
3 ### ..# .## ..# ###
4 #.# #.# ### ..# ..#
5 ### #.. ### ..# ###
6 ### #.. ### #.# ###
7 ### ..# .#. .#. .#.
8 ### #.# ### #.# ###
9 ### #.# ### ..# ###
b #.. #.. ##. #.# ##.
# #.# ### #.# ### #.#
A .#. #.# ### #.# #.#
B ##. #.# ##. #.# ##.
C ### #.. #.. #.. ###
D ##. #.# #.# #.# ##.
E ### #.. ##. #.. ###
F ### #.. ##. #.. #..
G ### #.. #.# #.# ###
R ##. #.# ##. #.# #.#
"""

_HALVES = {"..": " ", "#.": "▀", ".#": "▄", "##": "█"}


def _parse(pictures: str) -> dict[str, tuple[str, ...]]:
    """The rows of each sign; every picture must have five rows of three dots."""
    found = {}
    for line in pictures.strip().splitlines():
        sign, *dots = line.split()
        if [len(row) for row in dots] != [3] * (2 * LABEL_ROWS - 1):
            raise ValueError(f"sign {sign!r}: expected {2 * LABEL_ROWS - 1} rows of 3 dots, got {dots}")
        pairs = zip(dots[::2], [*dots[1::2], "..."], strict=True)
        found[sign] = tuple("".join(_HALVES[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs)
    return found


_SIGNS = _parse(_PICTURES)

_SIDES = {
    ROOT: ("┏┓", "┃┃", "┗┛"), THIRD: ("╭╮", "││", "╰╯"), SEVENTH: ("╱╲", "││", "╲╱"), "": ("  ", "  ", "  "),
}  # fmt: skip
"""What stands left and right of a label, row by row: heavy and square, round, pointed, nothing."""

_Label = tuple[Row, ...]


def large_label(text: str, apart: int = 1) -> tuple[str, ...] | None:
    """The rows of a text, its signs so many columns apart; None when it holds a sign that is not drawn.

    A space is as wide as what stands between two signs.
    """
    if not all(sign in _SIGNS or sign == " " for sign in text):
        return None
    signs = [_SIGNS.get(sign, ("",) * LABEL_ROWS) for sign in text]
    return tuple((" " * apart).join(sign[row] for sign in signs) for row in range(LABEL_ROWS))


def _marked(mark: GridMark) -> _Label | None:
    """A mark's rows between the sides of its tone."""
    drawn = large_label(mark.label)
    if drawn is None:
        return None
    tone = ROOT if mark.is_root else mark.tone
    return tuple(((f"{side[0]}{row}{side[1]}", tone),) for side, row in zip(_SIDES[tone], drawn, strict=True))


def _all_marked(grid: Grid) -> dict[tuple[int, int], _Label] | None:
    """Every mark by its string and fret; None when one of them cannot be drawn."""
    found = {}
    for mark in grid.marks:
        drawn = _marked(mark)
        if drawn is None:
            return None
        found[mark.string, mark.fret] = drawn
    return found


def _widest(marks: dict[tuple[int, int], _Label]) -> int:
    return max((len(rows[0][0][0]) for rows in marks.values()), default=1)


def large_neck(grid: Grid, width: int) -> list[Row] | None:
    """A sideways neck in three rows a string; None where its frets have no room side by side in so many columns."""
    marks = _all_marked(grid)
    columns = grid.columns
    if marks is None:
        return None
    cell = min(_WIDEST, (width - 4) // len(columns) - 1)
    if cell < max(_NARROWEST, _widest(marks)):
        return None
    lines = [fret_numbers(grid, columns, cell)]
    for string in range(1, grid.strings + 1):
        for row in range(LABEL_ROWS):
            cells = []
            for fret in columns:
                drawn = marks.get((string, fret))
                fill = UNICODE.string if row == _MIDDLE and fret else " "
                cells.append(padded(drawn[row] if drawn else (), cell, fill))
            head = f"{string:>2} " if row == _MIDDLE else "   "
            lines.append(((head, ""), *with_wires(grid, cells, columns, UNICODE)))
    return lines


def large_box(grid: Grid, width: int) -> list[Row] | None:
    """An upright box in three rows a fret; None where so many columns have no room for it."""
    marks = _all_marked(grid)
    if marks is None:
        return None
    cell = min(_WIDEST_STRING, (width - 4) // grid.strings)
    if cell < max(_NARROWEST, _widest(marks)) + 1:
        return None
    lines: list[Row] = [(("    " + "".join(f"{string:^{cell}}" for string in grid.box_strings), ""),)]
    for fret in grid.frets:
        for row in range(LABEL_ROWS):
            numbered = grid.numbered and row == _MIDDLE
            segments: list[Segment] = [(f"{fret if numbered else '':>3} ", "")]
            for string in grid.box_strings:
                drawn = marks.get((string, fret))
                empty: Row = ((UNICODE.empty, ""),) if row == _MIDDLE else ()
                segments += padded(drawn[row] if drawn else empty, cell, " ")
            lines.append(tuple(segments))
    return lines
