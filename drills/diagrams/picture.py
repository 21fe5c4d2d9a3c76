"""Pictures as values: lines, boxes, rings and words with their places in points. SVG and PDF draw the same value."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

__all__ = [
    "Drawn",
    "Group",
    "Mark",
    "MusicSign",
    "Part",
    "Patch",
    "Picture",
    "Rect",
    "Ring",
    "Stroke",
    "Words",
    "placed",
]  # fmt: skip


_THINNEST_PT = 0.5
"""A thinner line may be lost on a photocopier (common practice)."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line. width: of the stroke, in points; grey: 0 black to 1 white."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.8
    grey: float = 0.0


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle from its upper left corner; black inside when filled, else white."""

    x: float
    y: float
    wide: float
    high: float
    filled: bool = False
    width: float = 0.8


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle; when filled, black inside or of its grey, else white. grey: 0 black to 1 white."""

    x: float
    y: float
    radius: float
    filled: bool = False
    width: float = 0.8
    grey: float = 0.0


@dataclass(frozen=True, slots=True)
class Words:
    """Text on a baseline. anchor: ``start``, ``middle`` or ``end`` at x; white: for text on black."""

    x: float
    y: float
    text: str
    size: float
    anchor: str = "start"
    bold: bool = False
    white: bool = False


@dataclass(frozen=True, slots=True)
class Patch:
    """A black area with straight sides; corners: in order around it."""

    corners: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class MusicSign:
    """A sign of staff notation, from the music font. x, y: where its own origin stands; size: of the font."""

    x: float
    y: float
    text: str
    size: float


Drawn = Stroke | Rect | Ring | Words | Patch | MusicSign
"""What leaves ink on the page."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What stands for one note: which place of the neck it is, what it says, and its parts."""

    string: int
    fret: int
    label: str
    is_root: bool
    parts: tuple[Drawn, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Parts that belong together, with a title and a description in words, e.g. one diagram of a page."""

    title: str
    about: str
    parts: tuple[Part, ...]


Part = Drawn | Mark | Group


@dataclass(frozen=True, slots=True)
class Picture:
    """Parts on an area, in points (1/72 inch), y growing downward.

    title, about: the text alternative.
    """

    wide: float
    high: float
    parts: tuple[Part, ...]
    title: str = ""
    about: str = ""


def placed(parts: Iterable[Part], x: float, y: float, scale: float = 1.0) -> tuple[Part, ...]:
    """The same parts scaled and moved: their origin comes to (x, y)."""
    return tuple(_moved(part, x, y, scale) for part in parts)


def _moved(part: Part, x: float, y: float, k: float) -> Part:
    match part:
        case Group():
            return replace(part, parts=placed(part.parts, x, y, k))
        case Mark():
            return replace(part, parts=tuple(_moved_ink(each, x, y, k) for each in part.parts))
        case _:
            return _moved_ink(part, x, y, k)


def _moved_ink(part: Drawn, x: float, y: float, k: float) -> Drawn:
    match part:
        case Stroke():
            wire = max(_THINNEST_PT, k * part.width)
            return Stroke(x + k * part.x1, y + k * part.y1, x + k * part.x2, y + k * part.y2, wire, part.grey)
        case Rect():
            stroke = max(_THINNEST_PT, k * part.width)
            return Rect(x + k * part.x, y + k * part.y, k * part.wide, k * part.high, part.filled, stroke)
        case Ring():
            stroke = max(_THINNEST_PT, k * part.width)
            return Ring(x + k * part.x, y + k * part.y, k * part.radius, part.filled, stroke, part.grey)
        case Patch():
            return Patch(tuple((x + k * across, y + k * down) for across, down in part.corners))
        case MusicSign():
            return MusicSign(x + k * part.x, y + k * part.y, part.text, k * part.size)
        case Words():
            return Words(x + k * part.x, y + k * part.y, part.text, k * part.size, part.anchor, part.bold, part.white)
