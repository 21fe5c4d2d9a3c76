"""Reads finished pages back into diagrams, from PDF or SVG, by where their words stand: an independent eye.

It knows how a neck is drawn (strings and frets are numbered, a label is bold and stands where its string
and fret cross, a root is white on black) and nothing of the program that drew it.
"""

from __future__ import annotations

import ctypes
import re
from dataclasses import dataclass, replace
from xml.etree import ElementTree

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c

_SVG = "{http://www.w3.org/2000/svg}"
_FLAT_SHARP = str.maketrans({"♭": "b", "♯": "#"})


@dataclass(frozen=True)
class Word:
    """A word of a page: its middle and left edge in points, size, and whether bold and white."""

    text: str
    x: float
    y: float
    left: float
    size: float
    bold: bool
    white: bool


@dataclass(frozen=True)
class Diagram:
    """What one diagram shows. places: (string, fret, label, is_root). said: the words between its name and its neck."""

    name: str
    said: str
    places: frozenset[tuple[int, int, str, bool]]


_APART_PT = 3.0
"""Letters further apart than this, or on lines so far apart, belong to two words."""


def pdf_pages(data: bytes) -> list[list[Word]]:
    """The words of each page, read by PDFium."""
    document = pdfium.PdfDocument(data)
    return [_page_words(page.get_textpage(), page.get_height()) for page in document]


def _page_words(text: pdfium.PdfTextPage, high: float) -> list[Word]:
    words: list[Word] = []
    letters = ""
    start = end = middle = 0.0
    look: tuple[float, bool, bool] = (0.0, False, False)

    def finish() -> None:
        if letters:
            words.append(Word(letters, (start + end) / 2, middle, start, *look))

    box, red = pdfium_c.FS_RECTF(), [ctypes.c_uint() for _ in range(4)]
    name = ctypes.create_string_buffer(100)
    for number in range(text.count_chars()):
        letter = chr(pdfium_c.FPDFText_GetUnicode(text, number))
        pdfium_c.FPDFText_GetLooseCharBox(text, number, box)
        if letter.isspace():
            finish()
            letters = ""
            continue
        pdfium_c.FPDFText_GetFillColor(text, number, *red)
        pdfium_c.FPDFText_GetFontInfo(text, number, name, len(name), None)
        own = (pdfium_c.FPDFText_GetFontSize(text, number), b"Bold" in name.value, red[0].value > 127)
        y = high - (box.top + box.bottom) / 2
        if letters and (own != look or abs(y - middle) > _APART_PT or not -_APART_PT < box.left - end < _APART_PT):
            finish()
            letters = ""
        if not letters:
            start, middle, look = box.left, y, own
        letters += letter
        end = box.right
    finish()
    return words


def svg_words(text: str) -> list[Word]:
    """The words of an SVG page; the middle of a word that starts at a point is a guess from its size and letters."""
    words = []
    for item in ElementTree.fromstring(text).iter(f"{_SVG}text"):
        x, size = float(item.get("x")), float(item.get("font-size"))
        y = float(item.get("y")) - 0.36 * size
        bold, white = item.get("font-weight") == "bold", item.get("fill") == "#ffffff"
        anchor = item.get("text-anchor", "start")
        for word in (item.text or "").split():
            wide = {"start": 1, "middle": 0, "end": -1}[anchor] * 0.3 * size * len(word)
            words.append(Word(word, x + wide, y, x, size, bold, white))
            x += 0.68 * size * (len(word) + 1) if anchor == "start" else 0.0
    return words


def diagrams(words: list[Word], strings: int = 6, box: bool = False) -> list[Diagram]:
    """The diagrams of a page from left to right and top to bottom. box: chord boxes instead of sideways necks."""
    turned = [replace(word, x=word.y, y=word.x) for word in words] if box else words
    order = (lambda s: (round(s[0].x), s[0].y)) if box else (lambda s: (round(s[0].y), s[0].x))
    scales = sorted(_string_scales(turned, strings), key=order)
    rows = [_fret_row(scale, _inside(scale, scales, turned)) for scale in scales]
    numbered = [
        [replace(w, x=w.y, y=w.x) for w in (*scale, *frets)] if box else [*scale, *frets]
        for scale, frets in zip(scales, rows, strict=True)
    ]
    found = []
    for scale, frets, numbers in zip(scales, rows, numbered, strict=True):
        here = _inside(scale, scales, turned)
        places = set()
        for word in here:
            if word.bold and re.fullmatch(r"[♭♯]*\d+|[A-G][♭♯]*", word.text):
                string = min(scale, key=lambda number: abs(number.y - word.y))
                fret = min(frets, key=lambda number: abs(number.x - word.x))
                if abs(string.y - word.y) > 3 or abs(fret.x - word.x) > 3:
                    continue
                label = word.text.translate(_FLAT_SHARP)
                places.add((int(string.text), int(fret.text), label, word.white))
        found.append(Diagram(*_head(numbers, numbered, words), frozenset(places)))
    return found


def _string_scales(words: list[Word], strings: int) -> list[list[Word]]:
    """Columns of evenly spaced numbers that are the string numbers, from either end."""
    numbers = [word for word in words if not word.bold and word.text.isdecimal() and int(word.text) <= strings]
    scales = []
    for first in (word for word in numbers if word.text == "1"):
        for way in (1, -1):
            column = [first]
            for text in map(str, range(2, strings + 1)):
                below = [
                    w for w in numbers
                    if w.text == text and abs(w.x - first.x) < 2 and 5 < way * (w.y - column[-1].y) < 45
                ]  # fmt: skip
                if not below:
                    break
                column.append(min(below, key=lambda w: abs(w.y - column[-1].y)))
            steps = [abs(b.y - a.y) for a, b in zip(column, column[1:], strict=False)]
            if len(column) == strings and max(steps) - min(steps) < 1.5:
                scales.append(column if way == 1 else column[::-1])
    return scales


def _inside(scale: list[Word], scales: list[list[Word]], words: list[Word]) -> list[Word]:
    """The words between this column of string numbers and the next one in the same row."""
    right = [other[0].x for other in scales if abs(other[0].y - scale[0].y) < 4 and other[0].x > scale[0].x + 4]
    limit = min(right, default=float("inf"))
    return [word for word in words if scale[0].x + 4 < word.x < limit]


def _fret_row(scale: list[Word], words: list[Word]) -> list[Word]:
    """The row of fret numbers just before the first string, reading away from the string numbers."""
    size = scale[0].size
    above = [
        w for w in words if not w.bold and w.text.isdecimal() and w.y < scale[0].y - 2 and abs(w.size - size) < 0.3
    ]
    nearest = max(word.y for word in above)
    return [word for word in above if abs(word.y - nearest) < 5]


def _head(numbers: list[Word], others: list[list[Word]], words: list[Word]) -> tuple[str, str]:
    """The name of a diagram, the bold line nearest above its numbers, and what stands between them."""
    left, top = min(w.left for w in numbers), min(w.y for w in numbers)
    beside = [min(w.left for w in other) for other in others]
    right = min((x for x in beside if x > left + 20), default=float("inf")) - 15
    above = [w for w in words if w.y < top - 3 and left - 30 < w.left < right]
    line = max((w.y for w in above if w.bold), default=0.0)
    name = [w for w in above if w.bold and abs(w.y - line) < 3]
    said = [w for w in above if not w.bold and w.y > line - 5]
    text = " ".join(w.text for w in sorted(name, key=lambda w: w.left)).translate(_FLAT_SHARP)
    return text, " ".join(w.text for w in sorted(said, key=lambda w: (round(w.y), w.left)))
