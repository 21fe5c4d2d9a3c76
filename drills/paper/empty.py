"""Empty paper to write on: chord boxes, necks, tablature with a staff above, bars for chords."""

from __future__ import annotations

from drills.diagrams.clefs import clef
from drills.diagrams.grid import Grid
from drills.diagrams.grid_picture import grid_picture
from drills.diagrams.picture import Part, Picture, Stroke, Words, placed
from drills.diagrams.typesetting import lines_that_fit
from drills.errors import SettingsError
from drills.paper.page_style import Footer, PageStyle

__all__ = ["EMPTY_KINDS", "empty_page"]

EMPTY_KINDS = {"boxes": (4, 5), "necks": (2, 5), "tab": (1, 6), "bars": (4, 10)}
"""Kinds of empty paper, with the usual columns and rows."""

_MOST = 20
_STAFF_GAP_PT, _TAB_GAP_PT, _FOOT_PT = 5.5, 7.5, 8.0


_BETWEEN_PT = 24.0
"""Between staff and tablature, where the clef's tail hangs."""


def empty_page(
    kind: str, look: PageStyle, footer: Footer = Footer(), *, strings: int = 6, columns: int = 0, rows: int = 0,
    frets: int = 5, clef_name: str = "G8",
) -> Picture:  # fmt: skip
    """A page of empty diagrams, staves or bars.

    kind: one of EMPTY_KINDS. columns, rows: 1 to 20, 0 for the usual number. strings: of
    the instrument. frets: of each box or neck, 3 to 24.
    Raises SettingsError naming what is out of range.
    """
    if kind not in EMPTY_KINDS:
        raise SettingsError(f"empty paper, kind: expected one of {', '.join(EMPTY_KINDS)}, got {kind!r}")
    usual = EMPTY_KINDS[kind]
    columns, rows = columns or usual[0], rows or usual[1]
    for field, value, least, most in (
        ("columns", columns, 1, _MOST), ("rows", rows, 1, _MOST), ("frets", frets, 3, 24), ("strings", strings, 1, 12),
    ):  # fmt: skip
        if not least <= value <= most:
            raise SettingsError(f"empty paper, {field}: expected {least} to {most}, got {value!r}")
    wide, high = look.size
    cell_wide = (wide - 2 * look.margin) / columns
    foot = lines_that_fit(footer.text, _FOOT_PT, wide - 2 * look.margin)
    cell_high = (high - 2 * look.margin - 10 - len(foot or "1") * (_FOOT_PT + 2)) / rows
    parts: list[Part] = []
    for row in range(rows):
        for column in range(columns):
            x, y = look.margin + column * cell_wide, look.margin + row * cell_high
            parts += _cell(kind, x, y, cell_wide, cell_high, strings, frets, look, column == columns - 1, clef_name)
    for number, line in enumerate(reversed(foot)):
        parts.append(Words(look.margin, high - look.margin - number * (_FOOT_PT + 2), line, _FOOT_PT))
    return Picture(wide, high, tuple(parts), f"Empty paper: {kind}", f"{rows * columns} {kind} to write on.")


def _cell(
    kind: str,
    x: float,
    y: float,
    wide: float,
    high: float,
    strings: int,
    frets: int,
    look: PageStyle,
    last: bool,
    clef_name: str,
) -> list[Part]:
    if kind == "bars":
        # Bars join into a line: only the last of a row closes itself.
        ends = [Stroke(x, y + 14, x, y + high - 12, 1.0)]
        ends += [Stroke(x + wide, y + 14, x + wide, y + high - 12, 1.0)] if last else []
        return [*ends, Stroke(x, y + high - 12, x + wide, y + high - 12, 0.4, 0.6)]
    if kind == "tab":
        return _tab(x, y, wide, high, strings, clef_name)
    grid = Grid(strings, 2, frets + 1, (), False, look.left_handed, numbered=False)
    drawn = grid_picture(grid, "box" if kind == "boxes" else "neck")
    scale = min((wide - 10) / drawn.wide, (high - 26) / drawn.high, 1.6)
    name = Stroke(x + 6, y + 14, x + min(wide - 12, 100), y + 14, 0.5, 0.5)
    return [name, *placed(drawn.parts, x, y + 20, scale)]


def _tab(x: float, y: float, wide: float, high: float, strings: int, clef_name: str) -> list[Part]:
    """A five-line staff with tablature of as many lines as strings under it, joined at both ends."""
    natural = 4 * _STAFF_GAP_PT + _BETWEEN_PT + (strings - 1) * _TAB_GAP_PT
    scale = min(1.25, (high - 22) / natural)
    staff = [y + 12 + scale * _STAFF_GAP_PT * index for index in range(5)]
    first = staff[-1] + scale * _BETWEEN_PT
    tab = [first + scale * _TAB_GAP_PT * index for index in range(strings)]
    parts: list[Part] = [Stroke(x, line, x + wide, line, 0.6) for line in staff + tab]
    parts += [Stroke(end, staff[0], end, tab[-1], 0.9) for end in (x, x + wide)]
    middle = (tab[0] + tab[-1]) / 2
    rows = zip("TAB", (middle - 6.4, middle + 3.6, middle + 13.6), strict=True)
    letters = [Words(x + 6, at, letter, 10, bold=True) for letter, at in rows]
    return [*parts, *letters, clef(clef_name, x, staff, scale * _STAFF_GAP_PT)]
