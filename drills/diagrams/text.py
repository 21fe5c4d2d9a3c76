"""Drawings in characters: a sideways neck, an upright chord box or a bar of tablature, in Unicode or plain ASCII."""

from __future__ import annotations

from dataclasses import dataclass

from drills.diagrams.grid import ROOT, SEVENTH, THIRD, Grid, GridMark
from drills.shapes.shape import Shape

__all__ = [
    "BRACKETS", "PLAIN", "UNICODE", "Glyphs", "Row", "Segment", "box_lines", "box_rows", "fret_numbers", "neck_lines",
    "neck_rows", "note_table", "padded", "position_name", "row_text", "tab_lines", "with_wires",
]  # fmt: skip

Segment = tuple[str, str]
"""Text and the tone it belongs to, ``""`` for none."""

Row = tuple[Segment, ...]
"""One row of a drawing, from left to right."""

BRACKETS = {THIRD: ("(", ")"), SEVENTH: ("<", ">")}
"""What stands beside a third and a seventh; a root has those of its `Glyphs`."""

_NARROWEST, _WIDEST = 5, 9


@dataclass(frozen=True, slots=True)
class Glyphs:
    """Characters of a drawing, read from a picture of it: nut, string, fret wire, root brackets, empty place."""

    nut: str
    string: str
    wire: str
    root_left: str
    root_right: str
    empty: str

    @classmethod
    def parse(cls, picture: str) -> Glyphs:
        """Reads a picture such as ``║─[1]─│ ·``; raises ValueError when it has not that form."""
        if len(picture) != 9 or picture[1] != picture[5] or picture[3] != "1" or picture[7] != " ":
            raise ValueError(f"glyphs {picture!r}: expected nut, string, [1], string, wire, a space, empty place")
        return cls(picture[0], picture[1], picture[6], picture[2], picture[4], picture[8])


UNICODE = Glyphs.parse("║─[1]─│ ·")
PLAIN = Glyphs.parse("#-[1]-| .")


def row_text(row: Row) -> str:
    """A row of a drawing as plain text."""
    return "".join(text for text, _ in row).rstrip()


def _shown(mark: GridMark, glyphs: Glyphs, toned: bool) -> Row:
    """A label in its brackets. Only brackets have the tone of a third or a seventh: the text keeps its contrast."""
    if mark.is_root:
        return ((f"{glyphs.root_left}{mark.label}{glyphs.root_right}", ROOT),)
    if toned and mark.tone in BRACKETS:
        left, right = BRACKETS[mark.tone]
        return ((left, mark.tone), (mark.label, ""), (right, mark.tone))
    return ((mark.label, ""),)


def _wide(row: Row) -> int:
    return sum(len(text) for text, _ in row)


def padded(row: Row, width: int, fill: str) -> Row:
    """A cell filled up to a width, what is in it in the middle."""
    left = (width - _wide(row)) // 2
    return ((fill * left, ""), *row, (fill * (width - _wide(row) - left), ""))


def neck_rows(grid: Grid, width: int = 80, glyphs: Glyphs = UNICODE, toned: bool = False) -> list[Row]:
    """A sideways neck, string 1 on top, fret numbers above; the nut is at the right for a left-hander.

    width: columns available, 40 or more; cells grow with it up to a readable size. A part of
    the neck too long for one row is cut into several, from the nut upward.
    toned: whether thirds and sevenths stand in `BRACKETS` of their own, as the root does in any case.
    """
    needed = max((_wide(_shown(mark, glyphs, toned)) for mark in grid.marks), default=1)
    least = max(_NARROWEST, needed)
    fit = max(1, (width - 4) // (least + 1))
    frets = grid.frets
    rows = -(-len(frets) // fit)
    each = -(-len(frets) // rows)
    lines: list[Row] = []
    for start in range(0, len(frets), each):
        part = frets[start : start + each]
        columns = part[::-1] if grid.left_handed else part
        cell = max(least, min(_WIDEST, (width - 4) // each - 1))
        lines += ([()] if start else []) + _row_of_neck(grid, columns, cell, glyphs, toned)
    return lines


def neck_lines(grid: Grid, width: int = 80, glyphs: Glyphs = UNICODE) -> list[str]:
    """The rows of a sideways neck as plain text; see `neck_rows`."""
    return [row_text(row) for row in neck_rows(grid, width, glyphs)]


def fret_numbers(grid: Grid, columns: tuple[int, ...], cell: int) -> Row:
    """The row of numbers over a sideways neck."""
    numbers = "".join(" " + (str(fret) if grid.numbered else "").center(cell) for fret in columns)
    return (("   " + numbers, ""),)


def _row_of_neck(grid: Grid, columns: tuple[int, ...], cell: int, glyphs: Glyphs, toned: bool) -> list[Row]:
    lines = [fret_numbers(grid, columns, cell)]
    for string in range(1, grid.strings + 1):
        cells = []
        for fret in columns:
            mark = grid.at(string, fret)
            fill = " " if fret == 0 else glyphs.string
            cells.append(padded(_shown(mark, glyphs, toned) if mark else (), cell, fill))
        lines.append(((f"{string:>2} ", ""), *with_wires(grid, cells, columns, glyphs)))
    return lines


def with_wires(grid: Grid, cells: list[Row], columns: tuple[int, ...], glyphs: Glyphs) -> Row:
    """Cells with wires between them; the nut stands on fret 1's side away from fret 2."""
    nut_at = grid.nut_wire(columns)
    ends = (0, len(cells))
    found: list[Segment] = []
    for index in range(len(cells) + 1):
        open_end = index in ends and columns[0 if index == 0 else -1] == 0
        found.append((glyphs.nut if index == nut_at else " " if open_end else glyphs.wire, ""))
        found += cells[index] if index < len(cells) else ()
    return tuple(found)


def box_rows(grid: Grid, glyphs: Glyphs = UNICODE, toned: bool = False) -> list[Row]:
    """An upright chord box: string numbers across, fret numbers down; mirrored for a left-hander.

    toned: as for `neck_rows`.
    """
    lines: list[Row] = [(("    " + "".join(f"{string:^5}" for string in grid.box_strings), ""),)]
    for fret in grid.frets:
        row: list[Segment] = [(f"{fret if grid.numbered else '':>3} ", "")]
        for string in grid.box_strings:
            mark = grid.at(string, fret)
            row += padded(_shown(mark, glyphs, toned) if mark else ((glyphs.empty, ""),), 5, " ")
        lines.append(tuple(row))
    return lines


def box_lines(grid: Grid, glyphs: Glyphs = UNICODE) -> list[str]:
    """The rows of an upright chord box as plain text; see `box_rows`."""
    return [row_text(row) for row in box_rows(grid, glyphs)]


def note_table(shape: Shape) -> list[str]:
    """String, fret, note, degree and finger of each note, in playing order, one column a note."""
    rows = (
        ("string", [str(note.string) for note in shape.notes]),
        ("fret", [str(note.fret) for note in shape.notes]),
        ("note", [note.pitch.note.name for note in shape.notes]),
        ("degree", [note.degree for note in shape.notes]),
        ("finger", [str(note.finger) for note in shape.notes]),
    )
    cell = max(len(value) for _, values in rows for value in values) + 1
    return [f"{name:7}" + "".join(f"{value:>{cell}}" for value in values) for name, values in rows]


_ROMAN = ((10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I"))


def position_name(position: int) -> str:
    """A position as written on paper: ``VII``."""
    text = ""
    for value, numeral in _ROMAN:
        while position >= value:
            text, position = text + numeral, position - value
    return text


def tab_lines(shape: Shape, strings: int) -> list[str]:
    """One bar of tablature: fret numbers on string lines; a grip's notes stand above one another.

    strings: how many the instrument has.
    """
    columns = [shape.notes] if shape.form.kind == "grip" else [(note,) for note in shape.notes]
    width = max(len(str(note.fret)) for note in shape.notes)
    lines = []
    for string in range(1, strings + 1):
        cells = []
        for column in columns:
            fret = next((str(note.fret) for note in column if note.string == string), "")
            cells.append(fret.ljust(width, "-"))
        lines.append(f"{string:>2} |-" + "--".join(cells) + "--|")
    return lines
