"""How a player reads diagrams. It stands apart from the settings so that one drawing need not import them all."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["COLOURS", "FINGERS_FIRST", "LABELS", "ORIENTATIONS", "DiagramStyle", "draws_lines"]

LABELS = ("degrees", "fingers", "notes")
"""What may stand at a note of a drawing, the usual one first."""

FINGERS_FIRST = ("fingers", "degrees", "notes")
"""The same where fingers are the usual ones: under a line, and on paper."""

ORIENTATIONS = ("neck", "box")

COLOURS = ("auto", "on", "off")
"""When the telling tones of a chord have colours in a session: where the terminal says it has them, always, never."""


@dataclass(frozen=True, slots=True)
class DiagramStyle:
    """How diagrams are drawn.

    left_handed: mirrored. orientation: ``neck`` (sideways, string 1 on top) or ``box`` (upright).
    labels: what stands in the dots. ascii: plain characters only. plain: lines for a screen
    reader instead of drawings. sound: whether sounds may be played. colour: one of `COLOURS`.
    """

    left_handed: bool = False
    orientation: str = "neck"
    labels: str = "degrees"
    ascii: bool = False
    plain: bool = False
    sound: bool = True
    colour: str = "auto"


def draws_lines(stream: object) -> bool:
    """Whether an output stream's encoding has the characters of a drawing; an ASCII-only locale has not."""
    try:
        "│─║·█".encode(getattr(stream, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
