"""Chord names and degrees with printed accidentals, for paper and pictures."""

from __future__ import annotations

import re

__all__ = ["printed"]

# Few fonts carry the signs of double accidentals: two flats side by side are what is engraved
# anyway, and a small cross is what a double sharp looks like (common practice).
_SIGNS = {"b": "♭", "bb": "♭♭", "bbb": "♭♭♭", "#": "♯", "##": "×", "###": "×♯"}
_AFTER_LETTER = re.compile(r"(?<![A-Za-z])([A-G])(b{1,3}|#{1,3})")
_BEFORE_NUMBER = re.compile(r"(b{1,3}|#{1,3})(?=\d)")


def printed(text: str) -> str:
    """A name such as ``Bbm7b5``, ``F##`` or ``b3`` with real accidentals: ``B♭m7♭5``, ``F×``, ``♭3``."""
    text = _AFTER_LETTER.sub(lambda match: match[1] + _SIGNS[match[2]], text)
    return _BEFORE_NUMBER.sub(lambda match: _SIGNS[match[1]], text)
