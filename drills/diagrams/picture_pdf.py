"""Pictures written as pages of a PDF (ISO 32000) through fpdf2, with the fonts embedded."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from drills.configuration.shipped import data_file
from drills.diagrams.picture import Group, Mark, Part, Picture, Rect, Ring, Stroke, Words
from drills.diagrams.typesetting import FONT_FILES

if TYPE_CHECKING:
    from fpdf import FPDF

__all__ = ["pdf_bytes"]

_FAMILY = "DejaVu Sans"


def pdf_bytes(pages: Sequence[Picture], *, title: str = "", at: datetime | None = None, language: str = "en") -> bytes:
    """The pictures as a PDF, one a page, each page exactly as large as its picture.

    at: the date written into the file; the same pages at the same date give the same bytes. Where there are several
    pages each title begins a bookmark.
    Raises ValueError when there is no page.
    """
    from fpdf import FPDF

    if not pages:
        raise ValueError("pdf: expected at least one page, got none")
    pdf = FPDF(unit="pt", format=(pages[0].wide, pages[0].high))
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.c_margin = 0
    for bold, name in FONT_FILES.items():
        pdf.add_font(_FAMILY, "B" if bold else "", data_file(f"fonts/{name}"))
    pdf.set_title(title or pages[0].title)
    pdf.set_producer("neckwork")
    pdf.set_lang(language)
    if at is not None:
        pdf.set_creation_date(at)
    marked = ""
    for page in pages:
        pdf.add_page(format=(page.wide, page.high))
        if len(pages) > 1 and page.title and page.title != marked:
            marked = page.title
            pdf.start_section(marked)
        _Pen(pdf).draw(page.parts)
    return bytes(pdf.output())


class _Pen:
    """Draws parts on the current page, telling the file only what changes."""

    def __init__(self, pdf: FPDF):
        self.pdf = pdf
        self._width: float | None = None
        self._grey: int | None = None
        self._fill: int | None = None
        self._ink: bool | None = None
        self._font: tuple[str, float] | None = None

    def draw(self, parts: tuple[Part, ...]) -> None:
        for part in parts:
            match part:
                case Words():
                    self._words(part)
                case Stroke():
                    self._stroke(part.width, round(255 * part.grey))
                    self.pdf.line(part.x1, part.y1, part.x2, part.y2)
                case Rect():
                    self._stroke(part.width, 0)
                    self._filled(0 if part.filled else 255)
                    self.pdf.rect(part.x, part.y, part.wide, part.high, style="DF")
                case Ring():
                    grey = round(255 * part.grey)
                    self._stroke(part.width, grey)
                    self._filled(grey if part.filled else 255)
                    self.pdf.circle(part.x, part.y, part.radius, style="DF")
                case Mark() | Group():
                    self.draw(part.parts)

    def _words(self, words: Words) -> None:
        font = ("B" if words.bold else "", round(words.size, 2))
        if font != self._font:
            self.pdf.set_font(_FAMILY, *font)
            self._font = font
        if words.white != self._ink:
            self.pdf.set_text_color(255 if words.white else 0)
            self._ink = words.white
        x = words.x
        if words.anchor != "start":
            wide = self.pdf.get_string_width(words.text)
            x -= wide / 2 if words.anchor == "middle" else wide
        self.pdf.text(x, words.y, words.text)

    def _stroke(self, width: float, grey: int) -> None:
        if width != self._width:
            self.pdf.set_line_width(width)
            self._width = width
        if grey != self._grey:
            self.pdf.set_draw_color(grey)
            self._grey = grey

    def _filled(self, grey: int) -> None:
        if grey != self._fill:
            self.pdf.set_fill_color(grey)
            self._fill = grey
