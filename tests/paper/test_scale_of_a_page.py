"""How small the diagrams of a page may become, and which part of the neck diagrams side by side show."""

from dataclasses import replace
from functools import cache
from itertools import product

import pytest

from drills.diagrams.picture import Group, Stroke
from drills.paper.page_style import PageStyle
from drills.paper.pages import sheet_pages
from drills.paper.sheet import Sheet, panel_of, window
from drills.shapes.form import ARPEGGIO
from tests.paper.pages import FINDER, FOOTER, SETS, chords

STRING_PT = 17.0
"""From string to string at scale 1, in points."""


@cache
def _panel(name="Bbm7b5"):
    return panel_of(FINDER.find(*chords(name), ARPEGGIO, SETS[0]), 6)


def _scale(page):
    """The scale of a page's diagrams, from the distance of the first two strings."""
    group = next(part for part in page.parts if isinstance(part, Group))
    ys = sorted({part.y1 for part in group.parts if isinstance(part, Stroke) and part.y1 == part.y2})
    return (ys[1] - ys[0]) / STRING_PT


@pytest.mark.parametrize(("compact", "least"), [(False, 0.7), (True, 0.5)])
def test_a_page_goes_down_to_the_least_scale_and_no_further(compact, least):
    """Over sheets of up to twenty rows in many looks the diagrams reach the least readable scale, never below it."""
    scales = []
    for paper, labels, orientation, frets in product(
        ("A4", "Letter"), ("fingers", "notes"), ("neck", "box"), (5, 6, 7)
    ):
        panel = replace(_panel(), frets=(5, 5 + frets))
        for rows in range(1, 21):
            sheet = Sheet("Many", "An idea", (panel, panel) * rows, 2, compact)
            scales.append(_scale(sheet_pages(sheet, PageStyle(paper, False, orientation, labels), FOOTER)[0]))
    assert min(scales) >= least
    assert min(scales) < least + 0.1


def test_panels_side_by_side_show_the_open_strings_when_one_has_one():
    """With an open string in any of them all begin at the nut; without one they begin at the lowest fret of all."""
    low, high = _panel("Cm7"), _panel("Bbm7b5")
    frets = [note.fret for panel in (low, high) for note in panel.notes]
    assert {panel.frets for panel in window((low, None, high)) if panel} == {(min(frets), max(frets))}
    opened = replace(low, notes=(replace(low.notes[0], fret=0, finger=0), *low.notes[1:]))
    shown = window((opened, None, high))
    assert {panel.frets for panel in shown if panel} == {(0, max(frets))}
    grids = [panel.grid(PageStyle()) for panel in shown if panel]
    assert all(grid.open_column and grid.first_fret == 1 for grid in grids)
    assert len({grid.last_fret for grid in grids}) == 1
