"""The progress report's pictures as SVG, each with a title and a description that say the same in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil

from drills.progress.ahead import DayAhead
from drills.progress.chart_svg import GREY, INK, WIDTH, axis_text, dot, line, picture, ring, text
from drills.progress.report import GAP_BANDS, Report
from drills.progress.statistics_tables import band_name
from drills.theory.spelling import common_name
from scheduler.statistics.counts import Count
from scheduler.statistics.digest import DayTally

__all__ = ["BY_FOURTHS", "ahead_picture", "gaps_picture", "map_picture", "trust_picture", "weeks_picture"]

BY_FOURTHS = tuple(5 * step % 12 for step in range(12))
"""Pitch classes C F Bb Eb ...: the order in which keys are learned (drills/RULES.md, B2)."""

_WEEKS = 26


def map_picture(report: Report, quality: str, number: int) -> str:
    """One quality on the neck: string sets down, roots by fourths across.

    A full dot is a root played clean in the last thirty days, a ring with a dot one that was clean before, a ring
    one that was met, a short line one not met.
    """
    rows = [row for row in report.places if row.quality == quality]
    left, step, height = 48, 24, 22
    body = [text(left + step * (i + 0.5), 12, common_name(pc), "middle") for i, pc in enumerate(BY_FOURTHS)]
    words = []
    for index, row in enumerate(rows):
        y = 28 + height * index
        body.append(text(0, y + 4, row.strings))
        for place, pitch_class in enumerate(BY_FOURTHS):
            x = left + step * (place + 0.5)
            if pitch_class in row.covered:
                body.append(dot(x, y, 7))
            elif pitch_class in row.met:
                body.append(ring(x, y, 6))
                body.append(dot(x, y, 2) if pitch_class in row.clean else "")
            else:
                body.append(line([(x - 4, y), (x + 4, y)], GREY))
        clean = ", ".join(common_name(pc) for pc in BY_FOURTHS if pc in row.covered)
        words.append(f"{row.strings}: {len(row.covered)} of 12 roots clean in 30 days ({clean or 'none'})")
    return picture(f"map{number}", 18 + height * len(rows) + 6, f"{quality} on the neck", "; ".join(words), body)


def _interval(x: Callable[[float], float], y: float, count: Count) -> list[str]:
    """A dot with its 95 % interval and its count, or the count in brackets under five tries. x: share to place."""
    if count.interval is None:
        return [text(WIDTH, y + 4, f"({count})" if count.tries else "none", "end", 10)]
    low, high = count.interval
    return [
        line([(x(low), y), (x(high), y)], INK, 2),
        dot(x(count.clean / count.tries), y, 4.5),
        text(WIDTH, y + 4, str(count), "end", 10),
    ]


def _interval_words(name: str, count: Count) -> str:
    if count.interval is None:
        return f"{name}: {count}, too few to tell" if count.tries else f"{name}: none"
    low, high = count.interval
    return f"{name}: {count}, between {round(100 * low)} and {round(100 * high)} in 100"


def _shares(left: float, right: float, bottom: float) -> tuple[Callable[[float], float], list[str]]:
    """A scale of shares from left to right: the function and its drawing."""

    def x(share: float) -> float:
        return left + share * (right - left)

    body = []
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        body.append(line([(x(share), 4), (x(share), bottom)], GREY, 0.5))
        body.append(text(x(share), bottom + 13, f"{round(100 * share)}", "middle", 10))
    return x, body


def gaps_picture(report: Report) -> str:
    """First tries clean of 100, by the days since the card was last played, each with its 95 % interval."""
    x, body = _shares(104, WIDTH - 72, 24 * len(GAP_BANDS) + 6)
    words = []
    for index, (band, count) in enumerate(zip(GAP_BANDS, report.gaps, strict=True)):
        y = 18 + 24 * index
        name = band_name(band)
        body.append(text(0, y + 4, name))
        body += _interval(x, y, count)
        words.append(_interval_words(name, count))
    return picture("gaps", 24 * len(GAP_BANDS) + 24, "First tries clean by days away", "; ".join(words), body)


def trust_picture(report: Report) -> str:
    """Predicted against actual: a ring where the memory's prediction lies, a dot with its interval for what came."""
    bins = report.trust.bins if report.trust else ()
    x, body = _shares(104, WIDTH - 72, 24 * len(bins) + 6)
    words = []
    for index, (mean, count) in enumerate(bins):
        y = 18 + 24 * index
        name = f"said {round(100 * mean)} in 100"
        body.append(text(0, y + 4, name))
        body += _interval(x, y, count)
        body.append(line([(x(mean), y - 8), (x(mean), y + 8)], INK, 1))
        words.append(_interval_words(name, count))
    return picture("trust", 24 * len(bins) + 24, "Predicted against actual", "; ".join(words), body)


def weeks_picture(weeks: Sequence[DayTally], kind: str) -> str:
    """Median seconds from prompt to reveal of clean first tries at one kind of prompt, the last 26 weeks played."""
    shown = [(week.day, *week.seconds_by_kind[kind]) for week in weeks if kind in week.seconds_by_kind][-_WEEKS:]
    points = [(day.isoformat(), seconds, seconds, seconds) for day, seconds, _ in shown]
    words = "; ".join(f"week of {day.isoformat()}: {seconds:.1f} s of {tries}" for day, seconds, tries in shown)
    return _curve(f"weeks-{kind}", f"Seconds to reveal by week, prompt by {kind}", words, points, " s")


def ahead_picture(found: Sequence[DayAhead]) -> str:
    """How many of the cards met would come clean on the days ahead if nothing is played, with the range upright."""
    step = max(1, len(found) // 28)
    shown = found[::step]
    points = [(one.day.isoformat(), one.expected, float(one.low), float(one.high)) for one in shown]
    words = "; ".join(f"{one.day.isoformat()}: {one.expected:.0f}, between {one.low} and {one.high}" for one in shown)
    return _curve("ahead", "Cards that would come clean, days ahead", words, points, "", float(found[0].cards))


def _curve(
    name: str, title: str, words: str, points: Sequence[tuple[str, float, float, float]], unit: str, most: float = 0.0
) -> str:
    """Points, each a day, a value and its range, from left to right on a scale that begins at nothing."""
    left, right, top, bottom = 36, WIDTH - 14, 12, 130
    most = float(ceil(max([most, 1.0, *(high for _, _, _, high in points)])))
    step = (right - left) / max(1, len(points) - 1)

    def y(value: float) -> float:
        return bottom - value / most * (bottom - top)

    # From nothing, so that a small change looks small.
    body = [line([(left, top), (left, bottom), (right, bottom)], GREY, 1)]
    body += axis_text([(y(value), f"{value:g}{unit}") for value in (0.0, most / 2, most)], left - 4)
    places = [left + step * index for index in range(len(points))]
    for x, (_, _, low, high) in zip(places, points, strict=True):
        if high > low:
            body.append(line([(x, y(low)), (x, y(high))], GREY, 3))
    if len(points) > 1:
        body.append(line([(x, y(value)) for x, (_, value, _, _) in zip(places, points, strict=True)]))
    body += [dot(x, y(value), 2.5) for x, (_, value, _, _) in zip(places, points, strict=True)]
    if points:
        body.append(text(left, bottom + 16, points[0][0], size=10))
    if len(points) > 1:
        body.append(text(right, bottom + 16, points[-1][0], "end", 10))
    return picture(name, 152, title, words or "nothing yet", body)
