"""Writes handouts as PDF, SVG or text for a screen reader. A blank has its key on the back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from drills.diagrams.picture import Picture
from drills.diagrams.text import PLAIN, UNICODE, neck_lines
from drills.paper.page_style import Footer, PageStyle
from drills.paper.pages import FROM_MEMORY, numbered_pages, sheet_pages
from drills.paper.sheet import Sheet

__all__ = ["VERSIONS", "handout_pages", "handout_pdf", "handout_svgs", "handout_text"]

VERSIONS = ("key", "blank", "both")
"""The page with its answers; the blank alone; or each blank with its key on the back of the leaf."""


def _known(version: str) -> str:
    if version not in VERSIONS:
        raise ValueError(f"handout, version: expected one of {', '.join(VERSIONS)}, got {version!r}")
    return version


def handout_pages(sheets: Sequence[Sheet], style: PageStyle, footer: Footer, version: str = "key") -> list[Picture]:
    """Every page in the order printed. Raises ValueError when `version` is none of VERSIONS."""
    _known(version)
    pages: list[Picture] = []
    for sheet in sheets:
        keys = sheet_pages(sheet, style, footer) if version != "blank" else []
        blanks = sheet_pages(sheet, style, footer, blank=True) if version != "key" else []
        if version == "both":
            pages += [page for leaf in zip(blanks, keys, strict=True) for page in leaf]
        else:
            pages += keys or blanks
    return numbered_pages(pages, style)


def handout_pdf(
    sheets: Sequence[Sheet], style: PageStyle, footer: Footer, version: str = "key", at: datetime | None = None,
    title: str = "",
) -> bytes:  # fmt: skip
    """The sheets as one PDF. at: the date written into the file. title: of the whole, the first sheet's if empty."""
    from drills.diagrams.picture_pdf import pdf_bytes

    title = title or (sheets[0].title if sheets else "")
    return pdf_bytes(handout_pages(sheets, style, footer, version), title=title, at=at)


def handout_svgs(sheets: Sequence[Sheet], style: PageStyle, footer: Footer, version: str = "key") -> list[str]:
    """The sheets as SVG documents, one a page."""
    from drills.diagrams.picture_svg import svg_text

    return [svg_text(page, fonts=True) for page in handout_pages(sheets, style, footer, version)]


def handout_text(
    sheets: Sequence[Sheet], style: PageStyle, footer: Footer, version: str = "key", *, drawn: bool = False,
    ascii_only: bool = False, width: int = 80,
) -> str:  # fmt: skip
    """The sheets as plain text: every shape in words, or drawn in characters as on the screen.

    A blank asks for what it leaves out; `both` has every sheet's blank and then its key.
    """
    blanks = {"key": (False,), "blank": (True,), "both": (True, False)}[_known(version)]
    lines: list[str] = []
    for sheet, blank in ((sheet, blank) for sheet in sheets for blank in blanks):
        idea = FROM_MEMORY if blank else sheet.idea
        lines += [sheet.title + (", from memory" if blank else ""), *(said for said in (idea, sheet.note) if said)]
        for panel in sheet.drawn:
            said = (panel.name, panel.where, "" if blank else panel.position)
            lines += ["", ", ".join(part for part in said if part)]
            if blank:
                lines.append("_" * 40)
            elif drawn:
                lines += neck_lines(panel.grid(style), width, PLAIN if ascii_only else UNICODE)
            else:
                lines.append(panel.spoken)
        lines += ["", *(f"left out: {reason}" for reason in sheet.left_out)]
    text = "\n".join([*lines, footer.text]) + "\n"
    return text.replace(" · ", ", ") if ascii_only or not drawn else text
