"""Sets words on printed pages: real accidentals, the width of a text in the fonts used, and its lines."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from drills.configuration.shipped import data_file

__all__ = ["FONT_FILES", "MUSIC_FONT_FILE", "lines_that_fit", "printed", "size_that_fits", "text_wide"]

FONT_FILES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}
"""The font of plain and of bold words, in data/fonts: DejaVu Sans 2.37, unmodified, licence beside it.

It has real flats, sharps, triangles and the slashed o.
"""
MUSIC_FONT_FILE = "NotoMusic-Regular.ttf"
"""The font of heads, rests, clefs and accidentals on a staff: Noto Music 2.000, unmodified, licence beside it."""


@cache
def _widths(bold: bool) -> tuple[dict[int, str], dict[str, tuple[int, int]], int]:
    from fontTools.ttLib import TTFont

    font = TTFont(data_file(f"fonts/{FONT_FILES[bold]}"), lazy=True)
    return font.getBestCmap(), font["hmtx"].metrics, font["head"].unitsPerEm


@lru_cache(maxsize=8192)
def text_wide(text: str, size: float, bold: bool = False) -> float:
    """Width in points of text set at a size in points; kerning, which is not used, left out."""
    glyphs, widths, em = _widths(bold)
    return size * sum(widths[glyphs.get(ord(character), ".notdef")][0] for character in text) / em


def size_that_fits(text: str, size: float, wide: float, bold: bool = False) -> float:
    """The largest size in points, at most `size`, at which a text takes no more than `wide` points."""
    em = text_wide(text, 1.0, bold)
    return min(size, wide / em) if em else size


def lines_that_fit(text: str, size: float, wide: float, bold: bool = False) -> list[str]:
    """The text cut into lines of at most `wide` points, between words where that is possible."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if text_wide(longer, size, bold) <= wide:
            line = longer
            continue
        lines += [line] if line else []
        while text_wide(word, size, bold) > wide and len(word) > 1:
            cut = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or text_wide(word[:n], size, bold) <= wide)
            lines.append(word[:cut])
            word = word[cut:]
        line = word
    return lines + ([line] if line else [])


# Few fonts carry the signs of double accidentals: two flats side by side are what is engraved
# anyway, and a small cross is what a double sharp looks like (common practice).
_SIGNS = {"b": "♭", "bb": "♭♭", "bbb": "♭♭♭", "#": "♯", "##": "×", "###": "×♯"}
_AFTER_LETTER = re.compile(r"(?<![A-Za-z])([A-G])(b{1,3}|#{1,3})")
_BEFORE_NUMBER = re.compile(r"(b{1,3}|#{1,3})(?=\d)")


def printed(text: str) -> str:
    """A name such as ``Bbm7b5``, ``F##`` or ``b3`` with real accidentals: ``B♭m7♭5``, ``F×``, ``♭3``."""
    text = _AFTER_LETTER.sub(lambda match: match[1] + _SIGNS[match[2]], text)
    return _BEFORE_NUMBER.sub(lambda match: _SIGNS[match[1]], text)
