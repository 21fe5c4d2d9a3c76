"""Colours of a chord's telling tones, a help beside weight of type and brackets, and never the only sign of anything.

The two are blue and vermillion of the palette of Okabe and Ito (2008), "Color Universal Design: how to make figures
and presentations that are friendly to colorblind people": of its pairs the one that stays farthest apart for every
kind of colour vision, and dark and light enough for a black and for a white terminal (3 to 1, which WCAG 2.2 asks of
graphical objects and of large print, 1.4.11 and 1.4.3). Small text keeps the player's own colour.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from drills.diagrams.grid import ROOT, SEVENTH, THIRD

__all__ = ["BLUE", "VERMILLION", "ColourSystem", "colour_system", "tone_style"]

BLUE, VERMILLION = (0, 114, 178), (213, 94, 0)
"""Okabe and Ito (2008), sRGB."""

_OF_256 = {THIRD: 31, SEVENTH: 166}
"""The same two in the fixed part of the palette of 256 colours, #0087af and #d75f00: those nearest in contrast."""

ColourSystem = Literal["none", "256", "truecolor"]


def colour_system(wanted: str, environ: Mapping[str, str]) -> ColourSystem:
    """Which colours a terminal is sent.

    wanted: ``auto``, ``on`` or ``off``. With ``auto`` only a terminal that names itself one of 256 colours or more
    (TERM, COLORTERM) gets any: of sixteen the player's theme decides what they are, and their contrast is unknown.
    With NO_COLOR set to anything but an empty text (no-color.org) there are none in any case.
    """
    if wanted == "off" or environ.get("NO_COLOR"):
        return "none"
    term = environ.get("TERM", "")
    if environ.get("COLORTERM", "") in ("truecolor", "24bit") or term.endswith("-direct"):
        return "truecolor"
    return "256" if wanted == "on" or "256color" in term else "none"


def tone_style(tone: str, system: ColourSystem) -> str:
    """How a telling tone is set, in the words of rich: a root by weight alone, thirds and sevenths by colour."""
    if tone == ROOT:
        return "bold"
    if system == "none":
        return ""
    if system == "256":
        return f"color({_OF_256[tone]})"
    red, green, blue = BLUE if tone == THIRD else VERMILLION
    return f"rgb({red},{green},{blue})"
