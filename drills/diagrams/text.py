"""The grid in characters: a sideways neck or an upright chord box, Unicode or plain, at any width."""

from __future__ import annotations

from dataclasses import dataclass

from drills.diagrams.grid import Grid
from drills.shapes.shape import Shape

__all__ = ["PLAIN", "UNICODE", "Glyphs", "box_lines", "neck_lines", "note_table", "position_name"]

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


def _cell(label: str, is_root: bool, width: int, fill: str, glyphs: Glyphs) -> str:
    shown = f"{glyphs.root_left}{label}{glyphs.root_right}" if is_root else label
    left = (width - len(shown)) // 2
    return fill * left + shown + fill * (width - len(shown) - left)


def neck_lines(grid: Grid, width: int = 80, glyphs: Glyphs = UNICODE) -> list[str]:
    """A sideways neck, string 1 on top, fret numbers above; the nut is at the right for a left-hander.

    width: columns available, 40 or more; cells grow with it up to a readable size.
    """
    columns = grid.columns
    cell = max(_NARROWEST, min(_WIDEST, (width - 6) // len(columns) - 1))
    has_nut = grid.first_fret == 1
    lines = [_fret_numbers(grid, cell)]
    for string in range(1, grid.strings + 1):
        cells = []
        for fret in columns:
            mark = grid.at(string, fret)
            fill = " " if fret == 0 else glyphs.string
            cells.append(_cell(mark.label, mark.is_root, cell, fill, glyphs) if mark else fill * cell)
        lines.append(f"{string:>2} " + _joined(cells, columns, has_nut, glyphs))
    return [line.rstrip() for line in lines]


def _joined(cells: list[str], columns: tuple[int, ...], has_nut: bool, glyphs: Glyphs) -> str:
    """Cells with wires between them; the nut stands between fret 1 and the open column, or at the neck's end."""
    ends = [(left, right) for left, right in zip((None, *columns), (*columns, None), strict=True)]
    text = ""
    for index, (left, right) in enumerate(ends):
        touching = {left, right}
        if has_nut and 1 in touching and (0 in touching or None in touching):
            wire = glyphs.nut
        elif 0 in touching and None in touching:
            wire = " "
        else:
            wire = glyphs.wire
        text += wire + (cells[index] if index < len(cells) else "")
    return text


def _fret_numbers(grid: Grid, cell: int) -> str:
    return "   " + "".join(" " + str(fret).center(cell) for fret in grid.columns)


def box_lines(grid: Grid, glyphs: Glyphs = UNICODE) -> list[str]:
    """An upright chord box: string numbers across, fret numbers down; mirrored for a left-hander."""
    lines = ["    " + "".join(f"{string:^5}" for string in grid.box_strings)]
    for fret in grid.frets:
        row = ""
        for string in grid.box_strings:
            mark = grid.at(string, fret)
            row += _cell(mark.label, mark.is_root, 5, " ", glyphs) if mark else glyphs.empty.center(5)
        lines.append(f"{fret:>3} {row}")
    return [line.rstrip() for line in lines]


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
