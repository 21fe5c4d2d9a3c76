"""Drawings of a phone page: pictures as short lists of parts, each part kept once for all cards.

The page turns them into SVG. Black and white are named, not coloured, so that the page may turn them over in the dark.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from drills.diagrams.picture import Group, Mark, Part, Picture, Rect, Ring, Stroke, Words

__all__ = ["DrawingPool"]


class DrawingPool:
    """Every drawing of a page: the parts of all, each once, and the drawings as numbers of parts.

    parts: ``["l", x1, y1, x2, y2, width]`` a line, ``["r", x, y, wide, high, filled, width]`` a rectangle,
    ``["c", x, y, radius, filled, width]`` a circle, ``["t", x, y, text, size, anchor, bold, white]`` words; lengths in
    points. phrases: what the drawings show in words, cut at semicolons. drawings: ``[wide, high, numbers of the
    phrases, numbers of the parts in the order drawn]``.
    """

    def __init__(self) -> None:
        self.parts: list[list[Any]] = []
        self.phrases: list[str] = []
        self.drawings: list[list[Any]] = []
        self._numbers: dict[tuple[Any, ...], int] = {}
        self._said: dict[str, int] = {}
        self._known: dict[tuple[Any, ...], int] = {}

    def add(self, picture: Picture, words: str) -> int:
        """The number of a drawing, the same for the same picture. words: what it shows, for who cannot see it."""
        parts = tuple(self._number(part) for part in _ink(picture.parts))
        key = (_n(picture.wide), _n(picture.high), words, parts)
        if key not in self._known:
            self._known[key] = len(self.drawings)
            said = [self._said.setdefault(phrase, len(self._said)) for phrase in words.split("; ")]
            self.phrases = list(self._said)
            self.drawings.append([*key[:2], said, list(parts)])
        return self._known[key]

    def _number(self, part: tuple[Any, ...]) -> int:
        if part not in self._numbers:
            self._numbers[part] = len(self.parts)
            self.parts.append(list(part))
        return self._numbers[part]


def _ink(parts: Iterable[Part]) -> Iterator[tuple[Any, ...]]:
    for part in parts:
        match part:
            case Stroke():
                yield ("l", *map(_n, (part.x1, part.y1, part.x2, part.y2, part.width)))
            case Rect():
                yield ("r", *map(_n, (part.x, part.y, part.wide, part.high)), int(part.filled), _n(part.width))
            case Ring():
                yield ("c", *map(_n, (part.x, part.y, part.radius)), int(part.filled), _n(part.width))
            case Words():
                yield (
                    "t",
                    _n(part.x),
                    _n(part.y),
                    part.text,
                    _n(part.size),
                    part.anchor,
                    int(part.bold),
                    int(part.white),
                )
            case Mark() | Group():
                yield from _ink(part.parts)


def _n(number: float) -> float:
    """A length to a tenth of a point, whole where it is whole."""
    rounded = round(number, 1)
    return int(rounded) if rounded == int(rounded) else rounded
