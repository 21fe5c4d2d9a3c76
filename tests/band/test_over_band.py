"""Lines over the band: where they fall, how they swing, and choruses one after another."""

from __future__ import annotations

import pytest

from drills.band.band import band
from drills.band.feel import solo_ratio, swing_place
from drills.band.over_band import over_band
from drills.changes.changes_reading import parse_changes
from drills.errors import TrackError
from drills.lines.etude_line import demonstration, etude_line
from drills.lines.etude_options import EtudeOptions
from drills.neck.neck import Neck
from drills.shapes.finder import ShapeFinder

FINDER = ShapeFinder(Neck())
SWING = parse_changes("tempo: 120\nfeel: swing\n| Cm7 | F7 | Bbmaj7 | G7 |")


def lines_of(page):
    return [etude.line for etude in demonstration(page, Neck(), EtudeOptions(density="phrases"))]


def test_two_choruses_are_one_performance():
    """Each line's notes begin with its own chorus of the band: at 120, four bars of 4/4 last eight seconds."""
    lines = lines_of(SWING)
    score = over_band(lines, FINDER)
    alone = set(band(SWING, FINDER, through=(0, 0), seed=0).tones)
    own = sorted((tone.start_s, tone.midi) for tone in score.tones if tone not in alone)
    assert len(own) == sum(len(line.notes) for line in lines)
    place = swing_place(solo_ratio(120))
    wanted = []
    for turn, line in enumerate(lines):
        for note in line.notes:
            whole, part = divmod(float(note.start), 1)
            at = whole + (part * 2 * place if part <= 0.5 else place + (part - 0.5) * 2 * (1 - place))
            wanted.append((2.0 + 8.0 * turn + at / 2, note.midi))
    for (start, midi), (expected, key) in zip(own, sorted(wanted), strict=True):
        assert midi == key and abs(start - expected) < 0.002


def test_a_straight_page_is_straight_and_the_line_swings_less_than_the_cymbal():
    """Even eighths where the page says so (drills/RULES.md, D5)."""
    straight = parse_changes("tempo: 120\nfeel: straight\n| Cm7 | F7 | Bbmaj7 | G7 |")
    line = etude_line(straight, Neck(), EtudeOptions(density="eighths")).line
    starts = {round(tone.start_s, 6) for tone in over_band([line], FINDER).tones}
    assert all(round(2.0 + float(note.start) / 2, 6) in starts for note in line.notes)
    assert 1.3 < solo_ratio(120) < 1.6


def test_lines_over_different_changes_are_refused():
    """And no line at all."""
    other = etude_line(parse_changes("Cm7 F7"), Neck(), EtudeOptions()).line
    for lines in ([], [other, lines_of(SWING)[0]]):
        with pytest.raises(TrackError, match="one or more over the same changes"):
            over_band(lines, FINDER)
