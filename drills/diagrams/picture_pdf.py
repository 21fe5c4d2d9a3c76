"""Pictures written as pages of a PDF (ISO 32000) through fpdf2, with the fonts embedded."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from drills.configuration.shipped import data_file
from drills.diagrams.picture import Group, Mark, MusicSign, Part, Patch, Picture, Rect, Ring, Stroke, Words
from drills.diagrams.typesetting import FONT_FILES, MUSIC_FONT_FILE

if TYPE_CHECKING:
    from fpdf import FPDF

__all__ = ["pdf_bytes"]

_FAMILY, _MUSIC_FAMILY = "DejaVu Sans", "Noto Music"


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
    if any(_has_signs(page.parts) for page in pages):
        pdf.add_font(_MUSIC_FAMILY, "", data_file(f"fonts/{MUSIC_FONT_FILE}"))
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


def _has_signs(parts: tuple[Part, ...]) -> bool:
    """Whether the music font is needed; reading a font takes time that other pages need not give."""
    return any(isinstance(part, MusicSign) or (isinstance(part, Group) and _has_signs(part.parts)) for part in parts)


class _Pen:
    """Draws parts on the current page, telling the file only what changes."""

    def __init__(self, pdf: FPDF):
        self.pdf = pdf
        self._width: float | None = None
        self._grey: int | None = None
        self._fill: int | None = None
        self._ink: bool | None = None
        self._font: tuple[str, str, float] | None = None

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
                case Patch():
                    self._filled(0)
                    self.pdf.polygon(part.corners, style="F")
                case MusicSign():
                    self._face(_MUSIC_FAMILY, "", part.size)
                    self._inked(False)
                    self.pdf.text(part.x, part.y, part.text)
                case Mark() | Group():
                    self.draw(part.parts)

    def _words(self, words: Words) -> None:
        self._face(_FAMILY, "B" if words.bold else "", words.size)
        self._inked(words.white)
        x = words.x
        if words.anchor != "start":
            wide = self.pdf.get_string_width(words.text)
            x -= wide / 2 if words.anchor == "middle" else wide
        self.pdf.text(x, words.y, words.text)

    def _face(self, family: str, style: Literal["", "B"], size: float) -> None:
        font = (family, style, round(size, 2))
        if font != self._font:
            self.pdf.set_font(family, style, font[2])
            self._font = font

    def _inked(self, white: bool) -> None:
        if white != self._ink:
            self.pdf.set_text_color(255 if white else 0)
            self._ink = white

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
