"""How fast a long page is read, keyed and planned, and how that grows."""

from __future__ import annotations

import time

import pytest

from drills.changes.changes_reading import parse_changes
from drills.harmony.harmony import analyse
from drills.harmony.planned_path import planned_path
from drills.neck.neck import Neck
from drills.shapes.root_places import HandPosition

FOUR_BARS = "| Cm7 F7 | Bbmaj7 . G7 . | Em7b5 A7alt | Dm6 G7 |\n"


def seconds(bars: int) -> tuple[float, float, float]:
    """Processor seconds for reading, keying and planning of so many bars, the best of three."""
    text, neck = FOUR_BARS * (bars // 4), Neck()
    hand = HandPosition(neck)
    best = [float("inf")] * 3
    for _ in range(3):
        marks = [time.process_time()]
        changes = parse_changes(text)
        marks.append(time.process_time())
        analyse(changes)
        marks.append(time.process_time())
        planned_path(changes, neck, loop=True, lowest_fret=hand)
        marks.append(time.process_time())
        best = [min(least, after - before) for least, before, after in zip(best, marks, marks[1:], strict=False)]
    return best[0], best[1], best[2]


def test_two_thousand_bars_grow_in_proportion(capsys: pytest.CaptureFixture[str]) -> None:
    """Eight times the bars cost at most some sixteen times the time: each step is linear in the page."""
    seconds(8)  # the parser and the tables are built once
    short, long = seconds(250), seconds(2_000)
    with capsys.disabled():
        read, keyed, planned = (f"{one:.3f} s" for one in long)
        print(f"\n2,000 bars, CPU: read {read}, keyed {keyed}, planned with loop {planned}, in all {sum(long):.3f} s")
    assert sum(long) < 16 * sum(short)
