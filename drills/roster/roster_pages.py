"""The sheet and a student's page as pages to print, drawn like a handout."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from drills.diagrams.picture import Part, Picture, Stroke, Words
from drills.diagrams.typesetting import lines_that_fit, printed, text_wide
from drills.paper.page_style import PAPERS
from drills.roster.page_of_one import Section
from drills.roster.roster_files import HEADER, SELF_REPORTED, cells, headed
from drills.roster.roster_sheet import RosterSheet
from drills.safe_text import one_line

__all__ = ["page_pictures", "sheet_pictures"]

_SHARES = (9.5, 21, 14, 4.5, 6.5, 7.5, 5, 13, 9, 10)
"""Hundredths of the page's width for each column of HEADER."""

_CELL_PT, _CELL_LINE_PT = 7.0, 8.4
"""Twenty students with something in every column fit on one sheet."""

_TITLE_PT, _TEXT_PT = 15.0, 10.0

_MARGIN_PT = 30.0
"""10 mm: less than a handout's, as a table needs the width; more than usual printers leave white."""


def sheet_pictures(sheet: RosterSheet, paper: str = "A4") -> list[Picture]:
    """The sheet on paper lying on its side, with its header on every page."""
    high, wide = PAPERS[paper]
    title = f"Roster on {sheet.today.isoformat()}"
    page = _Pages(wide, high, title)
    page.text(title, _TITLE_PT, bold=True)
    for note in (SELF_REPORTED, *([sheet.shared.words] if sheet.shared else [])):
        page.text(note, 8.0)
    columns = [share / 100 * (wide - 2 * _MARGIN_PT) for share in _SHARES]
    page.row(HEADER, columns, bold=True, repeated=True)
    for one in sheet.students:
        page.row(cells(one), columns)
    page.header = None
    for heading, lines in headed(sheet):
        page.text(heading, 9.0, bold=True, above=8)
        for line in lines:
            page.text(line, 8.0)
    return page.done()


def page_pictures(name: str, today: date, sections: Iterable[Section], paper: str = "A4") -> list[Picture]:
    """One student's page, upright, a heading and its lines after another."""
    wide, high = PAPERS[paper]
    title = f"{name}, {today.isoformat()}"
    page = _Pages(wide, high, title)
    page.text(title, _TITLE_PT, bold=True)
    page.text(SELF_REPORTED.partition(" Who")[0], 8.5)
    for heading, lines in sections:
        page.text(heading, _TEXT_PT + 1, bold=True, above=9, keep=2 * _TEXT_PT)
        for line in lines:
            page.text(line, _TEXT_PT, indent=8)
    return page.done()


class _Pages:
    """Pages filled from the top; a new one is begun where the next lines do not fit."""

    def __init__(self, wide: float, high: float, title: str):
        self.wide, self.high, self.title = wide, high, title
        self.pages: list[list[Part]] = [[]]
        self.y = _MARGIN_PT
        self.header: tuple[Sequence[str], Sequence[float]] | None = None

    def room_for(self, height: float) -> None:
        """Begins a new page unless so many points are left, with the header of the table that goes on."""
        if self.y + height > self.high - _MARGIN_PT and self.pages[-1]:
            self.pages.append([])
            self.y = _MARGIN_PT
            if self.header:
                self.row(*self.header, bold=True)

    def text(
        self, text: str, size: float, *, bold: bool = False, above: float = 0, indent: float = 0, keep: float = 0
    ) -> None:
        """A paragraph. keep: what must follow it on the same page, in points."""
        self.y += above
        lines = lines_that_fit(printed(one_line(text)), size, self.wide - 2 * _MARGIN_PT - indent, bold)
        for number, line in enumerate(lines):
            self.room_for(size * 1.3 + (keep if number == 0 else 0))
            self.pages[-1].append(Words(_MARGIN_PT + indent, self.y + size, line, size, bold=bold))
            self.y += size * 1.3

    def row(self, row: Sequence[str], columns: Sequence[float], *, bold: bool = False, repeated: bool = False) -> None:
        """A row of a table under a line, its first cell bold. repeated: it heads every page from now on."""
        wrapped = [
            lines_that_fit(printed(one_line(text)), _CELL_PT, wide - 6, bold or not index)
            for index, (text, wide) in enumerate(zip(row, columns, strict=True))
        ]
        height = max(1, *map(len, wrapped)) * _CELL_LINE_PT + 4
        self.room_for(height)
        x = _MARGIN_PT
        self.pages[-1].append(Stroke(x, self.y, self.wide - _MARGIN_PT, self.y, 0.5, 0.4))
        for index, (lines, wide) in enumerate(zip(wrapped, columns, strict=True)):
            for number, line in enumerate(lines):
                y = self.y + 2 + _CELL_LINE_PT * (number + 0.85)
                self.pages[-1].append(Words(x, y, line, _CELL_PT, bold=bold or not index))
            x += wide
        self.y += height
        if repeated:
            self.header = (row, columns)

    def done(self) -> list[Picture]:
        """The finished pages, numbered where there are several."""
        count = len(self.pages)
        if count > 1:
            for number, parts in enumerate(self.pages, 1):
                said = f"{number} of {count}"
                x = self.wide - _MARGIN_PT - text_wide(said, 7.5)
                parts.append(Words(x, self.high - _MARGIN_PT + 12, said, 7.5))
        return [Picture(self.wide, self.high, tuple(parts), self.title) for parts in self.pages]
