"""The kinds of prompt a deck may use, by the name it writes."""

from __future__ import annotations

__all__ = ["PROMPT_KINDS"]

PROMPT_KINDS = ("name", "degree")
"""``name``: the chord is called out ("F#m7, strings 5-4-3"). ``degree``: a degree of a key ("ii of Bb")."""
