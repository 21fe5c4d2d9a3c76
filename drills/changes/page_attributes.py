"""The lines ``name: value`` of a page of changes."""

from __future__ import annotations

import re

from drills.changes.changes import Metre
from drills.errors import ChangesError
from drills.safe_text import one_line
from drills.theory.key import parse_key

__all__ = ["ATTRIBUTES", "HEAD_ONLY", "SYNONYMS", "attribute_value", "parse_metre"]

HEAD_ONLY = ("title", "tempo", "feel", "form")
"""Said once, before the first section or bar."""

ATTRIBUTES = (*HEAD_ONLY, "key", "metre")
SYNONYMS = {"meter": "metre", "time": "metre"}

_FEELS = ("straight", "swing")


def parse_metre(text: str) -> Metre:
    """Reads ``4/4``, ``6/8``; raises ChangesError otherwise."""
    match = re.fullmatch(r"([0-9]{1,2})\s*/\s*([0-9]{1,2})", text.strip())
    if match is None:
        raise ChangesError(f"metre {text[:24]!r}: expected such as 4/4, 3/4 or 6/8")
    return Metre(int(match[1]), int(match[2]))


def attribute_value(name: str, value: str) -> object:
    """The value of an attribute line: a key, a metre, a tempo, a feel, the labels of a form, or the title.

    Raises ChangesError or TheoryError saying what was expected.
    """
    if name == "key":
        return None if value.lower() == "none" else parse_key(value).major_or_minor
    if name == "metre":
        return parse_metre(value)
    if name == "tempo":
        if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,3})?", value) or not 20 <= float(value) <= 400:
            raise ChangesError(f"tempo {value[:24]!r}: expected quarter notes a minute, 20 to 400")
        return float(value)
    if name == "feel":
        if value.lower() not in _FEELS:
            raise ChangesError(f"feel {value[:24]!r}: expected {' or '.join(_FEELS)}")
        return value.lower()
    if name == "form":
        parts = value.split(",") if "," in value else value.split()
        return tuple(one_line(part) for part in parts if part.strip())
    return one_line(value)[:200]
