"""Puts the fonts of a picture inside it, with only the signs it uses, so that a sharp sign prints anywhere."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable, Iterator

from drills.configuration.shipped import data_file
from drills.diagrams.picture import Group, Mark, Part, Words
from drills.diagrams.typesetting import FONT_FILES

__all__ = ["FAMILY", "font_faces"]

FAMILY = "Handout Sans"
"""What the embedded signs are called in a page: a name no machine has a font of its own for."""


def font_faces(parts: Iterable[Part]) -> str:
    """``@font-face`` rules (W3C CSS Fonts 3) with the signs that some parts are printed with, as data."""
    signs: dict[bool, set[str]] = {}
    for words in _words(parts):
        signs.setdefault(words.bold, set()).update(words.text)
    return "".join(
        f"@font-face{{font-family:'{FAMILY}';font-weight:{'bold' if bold else 'normal'};"
        f"src:url(data:font/ttf;base64,{base64.b64encode(_subset(bold, signs[bold])).decode('ascii')})}}"
        for bold in sorted(signs)
    )


def _words(parts: Iterable[Part]) -> Iterator[Words]:
    for part in parts:
        if isinstance(part, Words):
            yield part
        elif isinstance(part, (Mark, Group)):
            yield from _words(part.parts)


def _subset(bold: bool, signs: Iterable[str]) -> bytes:
    """The font with these signs alone; the same signs give the same bytes."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    options = Options(hinting=False, layout_features=[], name_IDs=[0], name_languages=[0x0409])  # 0 is the copyright
    options.drop_tables += ["FFTM", "GDEF", "GPOS", "GSUB", "kern"]
    font = TTFont(data_file(f"fonts/{FONT_FILES[bold]}"), recalcTimestamp=False, lazy=True)
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=map(ord, signs))
    subsetter.subset(font)
    held = io.BytesIO()
    font.save(held)
    return held.getvalue()
