"""Some bars of a page, to practise a bridge or the last four by themselves."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from drills.changes.changes import Changes, Section, WrittenBar
from drills.changes.changes_errors import ChangesError

__all__ = ["excerpt"]


def excerpt(changes: Changes, first: int, last: int) -> Changes:
    """The bars from `first` to `last` in playing order, both included, repeats written out, sections kept.

    Raises ChangesError when the page has no such bars.
    """
    count = len(changes.bars)
    if last < first:
        raise ChangesError(f"bars {first} to {last}: expected the first bar, then the last, such as {last}-{first}")
    if not 1 <= first <= last <= count:
        raise ChangesError(f"bars {first} to {last}: expected first and last bar within 1 to {count}")
    kept = changes.bars[first - 1 : last]
    sections = []
    # A bar that begins its section begins one here too, so that the same section twice running stays two.
    turns = [sum(bar.written[1] == 0 for bar in kept[: place + 1]) for place in range(len(kept))]
    for _, group in groupby(zip(kept, turns, strict=True), key=lambda pair: (pair[0].written[0], pair[1])):
        bars = [bar for bar, _ in group]
        written = tuple(WrittenBar(bar.chords, bar.metre, bar.key) for bar in bars)
        sections.append(Section(bars[0].section, written))
    title = f"{changes.title or 'Changes'}, bars {first} to {last}" if (first, last) != (1, count) else changes.title
    return replace(changes, title=title, sections=tuple(sections), form=(), metre=kept[0].metre)
