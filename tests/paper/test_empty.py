"""Empty paper: as many boxes, necks, staves and bars as asked for, inside the margins of the page."""

import pytest

from drills.diagrams.picture import Mark, Stroke
from drills.diagrams.picture_pdf import pdf_bytes
from drills.errors import SettingsError
from drills.paper.empty import EMPTY_KINDS, empty_page
from drills.paper.page_style import Footer, PageStyle
from tests.paper.pages import bounds, parts_of, read


@pytest.mark.parametrize("strings", [4, 6, 7])
@pytest.mark.parametrize("look", [PageStyle(), PageStyle("Letter", left_handed=True), PageStyle("phone")])
@pytest.mark.parametrize("kind", EMPTY_KINDS)
def test_empty_paper_stays_inside_the_page_and_is_empty(kind, look, strings):
    """Every kind fills its page inside the margins, with no note on it."""
    page = empty_page(kind, look, Footer(teacher="Teacher 1"), strings=strings)
    assert (page.wide, page.high) == look.size
    for part in parts_of(page.parts):
        left, top, right, bottom = bounds(part)
        assert left >= look.margin - 1 and right <= page.wide - look.margin + 1
        assert top >= look.margin - 1 and bottom <= page.high - look.margin + 1
    assert not any(isinstance(part, Mark) for part in page.parts)
    assert "Teacher 1" in read(pdf_bytes([page]))[0].extract_text()


def test_a_long_footer_is_wrapped_above_the_margin():
    """A teacher's long name and address on empty paper stays inside the page."""
    look = PageStyle()
    footer = Footer("E2 A2 D3 G3 B3 E4", 15, "Teacher 1, of the school in the long street, " * 4)
    page = empty_page("boxes", look, footer)
    for part in parts_of(page.parts):
        left, _, right, bottom = bounds(part)
        assert left >= look.margin - 1 and right <= page.wide - look.margin + 1
        assert bottom <= page.high - look.margin + 1


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (3, 4), (6, 8), (20, 20)])
def test_the_number_asked_for_is_drawn(columns, rows):
    """Boxes come in the columns and rows asked for: one line for a name above each."""
    page = empty_page("boxes", PageStyle(), columns=columns, rows=rows)
    names = [part for part in page.parts if isinstance(part, Stroke) and part.grey == 0.5]
    assert len(names) == columns * rows
    assert len({part.y1 for part in names}) == rows


def test_tablature_has_a_line_for_each_string_under_a_five_line_staff():
    """Each system of tab paper has five lines and then as many as the instrument has strings."""
    page = empty_page("tab", PageStyle(), strings=7, rows=3)
    level = [part for part in page.parts if isinstance(part, Stroke) and part.y1 == part.y2]
    assert len(level) == 3 * (5 + 7)


def test_frets_asked_for_are_drawn():
    """A neck of seven frets has eight wires."""
    page = empty_page("necks", PageStyle(), columns=1, rows=1, frets=7)
    assert len([part for part in page.parts if isinstance(part, Stroke) and part.x1 == part.x2]) == 8


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"kind": "circles"}, "kind: expected one of boxes, necks, tab, bars, got 'circles'"),
        ({"columns": 21}, "columns: expected 1 to 20, got 21"),
        ({"rows": -1}, "rows: expected 1 to 20, got -1"),
        ({"frets": 2}, "frets: expected 3 to 24, got 2"),
        ({"strings": 13}, "strings: expected 1 to 12, got 13"),
    ],
)
def test_what_no_page_can_hold_is_refused(options, message):
    """A kind or number out of range is refused by name, with what was expected."""
    with pytest.raises(SettingsError, match=f"empty paper, {message}"):
        empty_page(**{"kind": "boxes", "look": PageStyle()} | options)
