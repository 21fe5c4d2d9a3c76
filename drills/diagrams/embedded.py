"""Puts the fonts of a picture inside it, with only the signs it uses, so that a sharp sign prints anywhere."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable, Iterator

from drills.configuration.shipped import data_file
from drills.diagrams.picture import Group, Mark, MusicSign, Part, Words
from drills.diagrams.typesetting import FONT_FILES, MUSIC_FONT_FILE

__all__ = ["FAMILY", "MUSIC_FAMILY", "font_faces"]

FAMILY, MUSIC_FAMILY = "Handout Sans", "Handout Music"
"""What the embedded signs are called in a page: names no machine has a font of its own for."""


def font_faces(parts: Iterable[Part]) -> str:
    """``@font-face`` rules (W3C CSS Fonts 3) with the signs that some parts are printed with, as data."""
    signs: dict[tuple[str, str, str], set[str]] = {}
    for part in _texts(parts):
        if isinstance(part, MusicSign):
            face = (MUSIC_FAMILY, "normal", MUSIC_FONT_FILE)
        else:
            face = (FAMILY, "bold" if part.bold else "normal", FONT_FILES[part.bold])
        signs.setdefault(face, set()).update(part.text)
    return "".join(
        f"@font-face{{font-family:'{family}';font-weight:{weight};"
        f"src:url(data:font/ttf;base64,{_as_text(_subset(file, signs[family, weight, file]))})}}"
        for family, weight, file in sorted(signs, key=lambda face: (face[0] == MUSIC_FAMILY, face[1] == "bold"))
    )


def _as_text(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")


def _texts(parts: Iterable[Part]) -> Iterator[Words | MusicSign]:
    for part in parts:
        if isinstance(part, Words | MusicSign):
            yield part
        elif isinstance(part, (Mark, Group)):
            yield from _texts(part.parts)


def _subset(file: str, signs: Iterable[str]) -> bytes:
    """The font with these signs alone; the same signs give the same bytes."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    options = Options(hinting=False, layout_features=[], name_IDs=[0], name_languages=[0x0409])  # 0 is the copyright
    options.drop_tables += ["FFTM", "GDEF", "GPOS", "GSUB", "kern"]
    font = TTFont(data_file(f"fonts/{file}"), recalcTimestamp=False, lazy=True)
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=map(ord, signs))
    subsetter.subset(font)
    held = io.BytesIO()
    font.save(held)
    return held.getvalue()
