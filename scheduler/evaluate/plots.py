"""Plots as SVG text: lines, and points beside a diagonal. Lines differ by their dashes and bear their names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

__all__ = ["calibration_plot", "line_plot"]

_WIDTH, _HEIGHT = 640, 360
_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 150, 34, 44
_COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00", "#000000")
"""Okabe and Ito (2008), told apart by colour-blind readers."""

_DASHES = ("", "7 3", "2 3", "9 3 2 3", "4 4", "1 4", "12 4")
_LEAST_APART = 13.0
"""Pixels between two names at the right."""

Points = Sequence[tuple[float, float]]


class _Paper:
    """The plot area: turns values into pixels."""

    def __init__(self, x_range: tuple[float, float], y_range: tuple[float, float]) -> None:
        self.x_range, self.y_range = x_range, y_range
        self.parts: list[str] = []

    def x(self, value: float) -> float:
        low, high = self.x_range
        return round(_LEFT + (value - low) / max(high - low, 1e-12) * (_WIDTH - _LEFT - _RIGHT), 1)

    def y(self, value: float) -> float:
        low, high = self.y_range
        return round(_HEIGHT - _BOTTOM - (value - low) / max(high - low, 1e-12) * (_HEIGHT - _TOP - _BOTTOM), 1)

    def text(self, x: float, y: float, words: str, anchor: str = "start", size: int = 11) -> None:
        self.parts.append(f'<text x="{x}" y="{y}" text-anchor="{anchor}" font-size="{size}">{escape(words)}</text>')

    def axes(self, x_label: str, y_label: str) -> None:
        low, high = self.x_range
        for step in range(6):
            value = low + (high - low) * step / 5
            self.text(self.x(value), _HEIGHT - _BOTTOM + 16, f"{value:g}", "middle")
        low, high = self.y_range
        for step in range(6):
            value = low + (high - low) * step / 5
            y = self.y(value)
            self.parts.append(
                f'<line x1="{_LEFT}" y1="{y}" x2="{_WIDTH - _RIGHT}" y2="{y}" stroke="#ccc" stroke-width="0.7"/>'
            )
            self.text(_LEFT - 6, y + 4, f"{value:.2g}", "end")
        self.text((_LEFT + _WIDTH - _RIGHT) / 2, _HEIGHT - 8, x_label, "middle")
        self.text(_LEFT, _TOP - 8, y_label)

    def line(self, points: Points, number: int) -> None:
        path = " ".join(f"{self.x(x)},{self.y(y)}" for x, y in points)
        self.parts.append(
            f'<polyline points="{path}" fill="none" stroke="{_COLOURS[number % len(_COLOURS)]}" stroke-width="1.8" '
            f'stroke-dasharray="{_DASHES[number % len(_DASHES)]}"/>'
        )

    def document(self, title: str, description: str) -> str:
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" width="{_WIDTH}" '
            f'height="{_HEIGHT}" role="img" font-family="sans-serif" fill="#000">'
            f"<title>{escape(title)}</title><desc>{escape(description)}</desc>"
            f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="#fff"/>'
            f'<text x="{_LEFT}" y="14" font-size="13" font-weight="bold">{escape(title)}</text>'
            + "".join(self.parts)
            + "</svg>\n"
        )


def _spread_out(places: list[float]) -> list[float]:
    """Moves heights apart so that names do not cover one another. Their order stays."""
    order = sorted(range(len(places)), key=places.__getitem__)
    out, before = list(places), -1e9
    for index in order:
        before = out[index] = max(places[index], before + _LEAST_APART)
    over = before - (_HEIGHT - _BOTTOM)
    return [y - over for y in out] if over > 0 else out


def line_plot(
    title: str,
    description: str,
    series: Mapping[str, Points],
    x_label: str,
    y_label: str,
    y_range: tuple[float, float] = (0.0, 1.0),
    bands: Sequence[tuple[float, float, str]] = (),
) -> str:
    """Lines with their names at the right. bands: (from, to, words), shaded.

    Raises ValueError when there is no point at all.
    """
    xs = [x for points in series.values() for x, _ in points]
    if not xs:
        raise ValueError(f"plot {title!r}: expected at least one point, got none")
    paper = _Paper((min(0.0, *xs), max(xs)), y_range)
    for low, high, words in bands:
        paper.parts.append(
            f'<rect x="{paper.x(low)}" y="{_TOP}" width="{max(1.0, round(paper.x(high) - paper.x(low), 1))}" '
            f'height="{_HEIGHT - _TOP - _BOTTOM}" fill="#eee"/>'
        )
        paper.text(paper.x(low) + 2, _TOP + 11, words, size=9)
    paper.axes(x_label, y_label)
    named = [(name, points) for name, points in series.items() if points]
    for number, (_, points) in enumerate(named):
        paper.line(points, number)
    heights = _spread_out([paper.y(points[-1][1]) for _, points in named])
    for number, ((name, _), y) in enumerate(zip(named, heights, strict=True)):
        paper.parts.append(
            f'<line x1="{_WIDTH - _RIGHT + 5}" y1="{y}" x2="{_WIDTH - _RIGHT + 27}" y2="{y}" '
            f'stroke="{_COLOURS[number % len(_COLOURS)]}" stroke-width="1.8" '
            f'stroke-dasharray="{_DASHES[number % len(_DASHES)]}"/>'
        )
        paper.text(_WIDTH - _RIGHT + 31, round(y + 4, 1), name)
    return paper.document(title, description)


def calibration_plot(title: str, description: str, bins: Sequence[Sequence[float]]) -> str:
    """Predicted against happened: a circle a bin, its area by the tries. bins: [sum predicted, clean, tries]."""
    paper = _Paper((0.0, 1.0), (0.0, 1.0))
    paper.axes("recall predicted", "share clean")
    paper.parts.append(
        f'<line x1="{paper.x(0)}" y1="{paper.y(0)}" x2="{paper.x(1)}" y2="{paper.y(1)}" stroke="#666" '
        'stroke-dasharray="4 4"/>'
    )
    most = max((tries for _, _, tries in bins), default=0.0)
    for predicted, clean, tries in bins:
        if tries:
            paper.parts.append(
                f'<circle cx="{paper.x(predicted / tries)}" cy="{paper.y(clean / tries)}" '
                f'r="{round(2.0 + 9.0 * (tries / most) ** 0.5, 1)}" fill="#0072b2" fill-opacity="0.75"/>'
            )
    return paper.document(title, description)
