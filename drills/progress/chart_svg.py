"""Pieces of SVG for charts. They are black on white and differ by shape, never by colour alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

__all__ = ["GREY", "INK", "WIDTH", "axis_text", "dot", "line", "picture", "ring", "text"]

WIDTH = 340
"""Pictures are drawn so many units wide, so that their text stays readable on a narrow screen."""

INK, GREY = "#1a1a1a", "#5c5c5c"
"""Contrast with white 17 to 1 and 6.7 to 1 (WCAG 2.2 asks for 4.5 to 1 of text)."""


def picture(name: str, height: float, title: str, description: str, body: Iterable[str]) -> str:
    """A whole picture. name: unique on the page. description: what it shows, in words that stand for it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:g}" role="img" '
        f'aria-labelledby="{name}-t {name}-d"><title id="{name}-t">{escape(title)}</title>'
        f'<desc id="{name}-d">{escape(description)}</desc>'
        # White under it, for readers whose page is dark.
        f'<rect width="{WIDTH}" height="{height:g}" fill="#ffffff"/>{"".join(body)}</svg>'
    )


def text(x: float, y: float, words: str, anchor: str = "start", size: float = 11) -> str:
    """Words at a place: `anchor` is start, middle or end."""
    return (
        f'<text x="{x:.4g}" y="{y:.4g}" text-anchor="{anchor}" font-size="{size:g}" '
        f'font-family="sans-serif" fill="{INK}">{escape(words)}</text>'
    )


def dot(x: float, y: float, radius: float = 5) -> str:
    """A full dot."""
    return f'<circle cx="{x:.5g}" cy="{y:.5g}" r="{radius:g}" fill="{INK}"/>'


def ring(x: float, y: float, radius: float = 5) -> str:
    """An empty ring."""
    return f'<circle cx="{x:.5g}" cy="{y:.5g}" r="{radius:g}" fill="#ffffff" stroke="{INK}" stroke-width="1.5"/>'


def line(points: Sequence[tuple[float, float]], stroke: str = INK, width: float = 1.5) -> str:
    """A line through points."""
    through = " ".join(f"{x:.5g},{y:.5g}" for x, y in points)
    return f'<polyline points="{through}" fill="none" stroke="{stroke}" stroke-width="{width:g}"/>'


def axis_text(values: Iterable[tuple[float, str]], x: float, anchor: str = "end") -> list[str]:
    """Labels down an upright scale, each a height and its words."""
    return [text(x, y + 3.5, words, anchor, 10) for y, words in values]
