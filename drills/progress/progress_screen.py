"""The progress report on one terminal screen, as lines: nothing by colour alone, any width from 40 columns."""

from __future__ import annotations

import io
from textwrap import wrap
from typing import TYPE_CHECKING

from drills.progress.progress_sentences import FIRST_TRY_WORDS, apart_words, no_first_try_words, sentences
from drills.progress.report import COVERED_DAYS, RECENT_DAYS, PlaceRow, Report
from scheduler.statistics.counts import FEWEST_TRIES, Count

if TYPE_CHECKING:
    from rich.box import Box
    from rich.table import Table
    from rich.text import Text

__all__ = ["count_words", "range_words", "screen_lines"]

_NARROW = 60
_NONE = "-"


def range_words(count: Count) -> str:
    """What a count is compatible with: ``59 to 85 in 100``, or ``""`` under five tries."""
    if count.interval is None:
        return ""
    low, high = count.interval
    return f"{round(100 * low)} to {round(100 * high)} in 100"


def count_words(count: Count) -> str:
    """``31 of 42``; in brackets where the tries are too few to say anything, ``-`` without any."""
    if not count.tries:
        return _NONE
    return str(count) if count.tries >= FEWEST_TRIES else f"({count})"


def _apart(clean: str, played: Count, away: Count) -> str:
    """What was played, in words, and beside it what was answered away from the guitar; either is left out if none."""
    return "; ".join([clean] * bool(played.tries) + [f"away from the guitar {away} right"] * bool(away.tries))


def _cell(row: PlaceRow | None) -> str:
    return _NONE if row is None else count_words(row.recent if row.recent.tries else Count())


def screen_lines(report: Report, width: int = 80, *, ascii_only: bool = False, color: bool = False) -> list[str]:
    """The report in lines of at most `width` columns; `color` allows bold headings.

    A set and quality shows recent first tries, brackets where they are fewer than five, and how many of
    the twelve roots were clean in the last thirty days.
    """
    if not report.total.tries:
        if not report.graded:
            return ["Nothing graded yet. neckwork plays today's session."]
        return [row for said in no_first_try_words(report) for row in wrap(said, max(40, width))]
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    out = io.StringIO()
    console = Console(
        file=out, width=max(40, width), force_terminal=color, color_system="standard" if color else None,
        no_color=not color, highlight=False, markup=False, emoji=False, legacy_windows=False, _environ={},
    )  # fmt: skip

    def say(text: str, style: str = "") -> None:
        console.print(Text(text, style=style))

    say(f"Progress, {report.today:%d %B %Y}".replace(" 0", " ") + f": {FIRST_TRY_WORDS}, self-reported", "bold")
    week = _apart(f"{report.week_played} clean", report.week_played, report.week_away)
    before = _apart(str(report.week_before_played), report.week_before_played, report.week_before_away)
    then = f"; the week before: {before}" if before else ""
    say(f"This week: {week or 'nothing graded'}; {report.days_of_7} of 7 days, {report.minutes:.0f} min{then}.")
    ranged = range_words(report.played)
    whole = _apart(f"{report.played} clean{f', so {ranged}' if ranged else ''}", report.played, report.away)
    say(f"In all: {whole}; {report.days_of_14} of the last 14 days.")
    for line in apart_words(report):
        say(line)
    if report.times:
        times = ", ".join(
            f"{row.seconds:.0f} s for {row.kind} ({row.tries} {'try' if row.tries == 1 else 'tries'})"
            for row in report.times[:4]
        )
        say(f"Prompt to answer, a typical clean try: {times}.")
    for table in _tables(report, console.width, Table, box.ASCII2 if ascii_only else box.SIMPLE_HEAD, Text):
        console.print(table)
    if report.places:
        say(f"Clean in {RECENT_DAYS} days, (in brackets) under five tries; roots of 12 clean in {COVERED_DAYS} days.")
    for line in sentences(report):
        say(line)
    lines = [line.rstrip() for line in out.getvalue().splitlines()]
    if ascii_only:
        lines = [line.encode("ascii", "replace").decode() for line in lines]
    return lines


def _tables(report: Report, width: int, table_class: type[Table], box: Box, text: type[Text]) -> list[Table]:
    """The grid of sets by quality, in as many tables as the width needs."""
    longest = max((len(quality) for quality in report.qualities), default=0)
    room = max(1, (width - longest - 4) // (16 if width >= _NARROW else 15))
    tables = []
    sets = report.sets
    for start in range(0, len(sets), room):
        table = table_class(box=box, pad_edge=False, show_edge=False, header_style="bold")
        table.add_column(text(""), no_wrap=True)
        chosen = sets[start : start + room]
        for strings in chosen:
            table.add_column(text(strings), justify="right", no_wrap=True)
        for quality in report.qualities:
            rows = [report.place(strings, quality) for strings in chosen]
            if any(rows):
                cells = [f"{_cell(row)}{f' {len(row.covered):>3}' if row else ''}" for row in rows]
                table.add_row(text(quality), *(text(cell) for cell in cells))
        tables.append(table)
    return tables
