"""What a teacher's hand puts on a page, and how much of the page the diagrams take."""

import io
from itertools import pairwise

import pytest
from pypdf import PdfReader

from drills.diagrams.grid import blank_grid
from drills.diagrams.grid_picture import box_picture, grid_picture, neck_picture
from drills.diagrams.picture import Group, Mark, Ring, Stroke, Words
from drills.neck.inlays import inlay_dots
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.paper.handouts import handout_pages, handout_pdf
from drills.paper.layouts import booklet, key_sheets, qualities_on_set, quality_on_sets, same_place
from drills.paper.page_style import Footer, PageStyle
from drills.paper.pages import sheet_pages
from drills.shapes.finder import ShapeFinder
from drills.theory.key import parse_key
from tests.diagrams.shapes import default_deck
from tests.paper.pages import AT, FINDER, FOOTER, QUALITY, SETS, bounds, chords, layouts, parts_of, roots

LEAST = {"neck": 0.45, "box": 0.44}
"""What diagrams take of each page at least; three boxes left over take least, and leave the rest to the pen. Before
frets were drawn out and columns chosen the least was .27 and the mean over all layouts .44."""


def _words(page):
    return [part.text for part in parts_of(page.parts) if isinstance(part, Words)]


def _share(page, look):
    area = 0.0
    for group in (part for part in page.parts if isinstance(part, Group)):
        lefts, tops, rights, bottoms = zip(*map(bounds, parts_of(group.parts)), strict=True)
        area += (max(rights) - min(lefts)) * (max(bottoms) - min(tops))
    return area / ((page.wide - 2 * look.margin) * (page.high - 2 * look.margin))


@pytest.mark.parametrize("orientation", LEAST)
def test_diagrams_take_half_of_a_page_and_more(orientation):
    """Of what lies inside the margins, diagrams with their words take half or more, over all layouts."""
    look = PageStyle(orientation=orientation)
    shares = [
        _share(page, look) for sheets in layouts().values() for s in sheets for page in sheet_pages(s, look, FOOTER)
    ]
    assert min(shares) >= LEAST[orientation]
    assert sum(shares) / len(shares) >= 0.5


def test_other_columns_never_cost_a_page_nor_break_a_row_that_means_something():
    """Four qualities of a root stay in one row or in two whole ones, in necks and in boxes, on one page."""
    sheet = qualities_on_set(FINDER, [QUALITY(n) for n in ("maj7", "m7", "7", "m7b5")], SETS[1], roots("C", "F"))
    for orientation in ("neck", "box"):
        (page,) = sheet_pages(sheet, PageStyle(orientation=orientation), FOOTER)
        heads = [next(p for p in g.parts if isinstance(p, Words)) for g in page.parts if isinstance(g, Group)]
        rows = [[word.text[0] for word in heads if word.y == y] for y in sorted({word.y for word in heads})]
        assert all(len(set(row)) == 1 and len(row) in (2, 4) for row in rows)


@pytest.mark.parametrize("way", ["neck", "box"])
def test_only_the_frets_of_a_drawing_grow(way):
    """Drawn twice as long, a drawing keeps its strings and marks and doubles its frets."""
    grid = layouts()["one quality"][0].drawn[0].grid(PageStyle())
    natural, long = grid_picture(grid, way), grid_picture(grid, way, 2.0)
    along, across = ("wide", "high") if way == "neck" else ("high", "wide")
    frets = 30.0 * len(grid.frets) * (1.0 if way == "neck" else 0.8)
    assert getattr(long, along) == pytest.approx(getattr(natural, along) + frets)
    assert getattr(long, across) == getattr(natural, across)
    marks = [[(m.string, m.fret, m.label) for m in p.parts if isinstance(m, Mark)] for p in (natural, long)]
    assert marks[0] == marks[1]


def test_dots_lie_where_a_fretboard_has_them():
    """Frets 3 5 7 9 15 one dot, 12 two; with a capo counted from it; a ukulele has its dot at 10 (common practice)."""
    assert inlay_dots(Neck()) == ((3, 1), (5, 1), (7, 1), (9, 1), (12, 2), (15, 1))
    assert inlay_dots(Neck(capo=3)) == ((2, 1), (4, 1), (6, 1), (9, 2), (12, 1))
    assert inlay_dots(Neck(scale_mm=380.0))[:4] == ((3, 1), (5, 1), (7, 1), (10, 1))


@pytest.mark.parametrize("draw", [neck_picture, box_picture])
def test_strings_played_are_heavier_and_dots_are_under_the_marks(draw):
    """Strings 6 5 4 of a shape on 6-5-4 are twice as heavy as the others; grey dots come before the first mark."""
    panel = layouts()["one quality"][0].drawn[0]
    grid = panel.grid(PageStyle())
    assert grid.used == {6, 5, 4} and any(grid.first_fret <= fret <= grid.last_fret for fret, _ in grid.dots)
    picture = draw(grid)
    along = (lambda p: p.y1 == p.y2) if draw is neck_picture else (lambda p: p.x1 == p.x2)
    lines = [part.width for part in picture.parts if isinstance(part, Stroke) and along(part)]
    assert sorted(lines)[-3:] == [1.5] * 3 and lines.count(0.7) == 3
    kinds = [type(part) for part in picture.parts if isinstance(part, Ring | Mark)]
    assert kinds[0] is Ring and Ring not in kinds[kinds.index(Mark) :]
    assert not any(isinstance(part, Ring) for part in draw(blank_grid(grid, numbered=False)).parts)


def test_a_circle_and_an_arrow_belong_to_notes():
    """A circled note has a ring under its mark; an arrow runs between two marks, touching neither; no blank has any."""
    panel = layouts()["one quality"][0].drawn[0]
    first, last = ((n.string, n.fret) for n in (panel.notes[0], panel.notes[-1]))
    look = PageStyle(dots=(), circled=(first, (1, 24)), arrows=((first, last), (first, (1, 24))))
    plain = neck_picture(panel.grid(PageStyle(dots=())))
    picture = neck_picture(panel.grid(look))
    added = [part for part in picture.parts if part not in plain.parts]
    rings, strokes = ([p for p in added if isinstance(p, kind)] for kind in (Ring, Stroke))
    spots = {(m.string, m.fret): (m.parts[1].x, m.parts[1].y) for m in picture.parts if isinstance(m, Mark)}
    assert len(rings) == 1 and len(strokes) == 3
    assert abs(rings[0].x - spots[first][0]) < 0.01 and abs(rings[0].y - spots[first][1]) < 5
    shaft = strokes[0]
    for (x, y), at in (((shaft.x1, shaft.y1), first), ((shaft.x2, shaft.y2), last)):
        assert 8 < ((x - spots[at][0]) ** 2 + (y - spots[at][1]) ** 2) ** 0.5 < 14
    blank = panel.grid(look, blank=True)
    assert not blank.circled and not blank.arrows


def test_a_handout_has_lines_for_name_date_and_tempo_and_for_next_week():
    """On the first page of a sheet, on paper; not on a phone, and not in a booklet."""
    (sheet,) = layouts()["whole neck"]
    asked = {"Name", "Date", "Tempo ♩ ="}
    (page,) = sheet_pages(sheet, PageStyle(), FOOTER)
    assert asked <= set(_words(page)) and "For next week" in _words(page)
    for phone in sheet_pages(sheet, PageStyle("phone"), FOOTER):
        assert not asked & set(_words(phone))
    for one in booklet(default_deck()[:12], 6):
        assert not any(asked & set(_words(page)) for page in sheet_pages(one, PageStyle(), FOOTER))
    first, second = sheet_pages(layouts()["same place"][0], PageStyle(large=True), FOOTER)[:2]
    assert asked <= set(_words(first)) and not asked & set(_words(second))


def test_pages_are_numbered_and_bookmarked_where_there_are_several():
    """Each of several pages says which of how many it is; a PDF reader lists their titles; one page has neither."""
    sheets = booklet(default_deck(), 6, title="First four")
    pages = handout_pages(sheets, PageStyle(), Footer(teacher="Teacher 1 " * 30))
    assert [_words(page)[-1] for page in pages] == [f"page {n} of {len(pages)}" for n in range(1, len(pages) + 1)]
    read = PdfReader(io.BytesIO(handout_pdf(sheets, PageStyle(), FOOTER, at=AT, title="First four")))
    titles = [item["/Title"] for item in read.outline]
    assert titles == list(dict.fromkeys(page.title for page in pages)) and len(titles) == len(sheets)
    assert all(title.startswith("First four: ") for title in titles) and read.metadata.title == "First four"
    assert read.get_destination_page_number(read.outline[0]) == 0
    (single,) = handout_pages(layouts()["overview"], PageStyle(), FOOTER)
    assert not any(text.startswith("page ") for text in _words(single))
    assert PdfReader(io.BytesIO(handout_pdf(layouts()["overview"], PageStyle(), FOOTER))).outline == []


@pytest.mark.parametrize("tonic", ["C", "G", "Db", "A minor", "E natural minor"])
def test_a_page_of_a_key_says_where_its_roots_go_down_again(tonic):
    """The subtitle names exactly the chords whose root lies below the one before, and the key by its scale."""
    key = parse_key(tonic)
    for sheet in key_sheets(FINDER, key, SETS):
        frets = [(panel.name, panel.notes[0].fret) for panel in sheet.drawn]
        again = [f"{name} at fret {fret}" for (_, before), (name, fret) in pairwise(frets) if fret < before]
        assert all(said in sheet.idea for said in again)
        assert ("begin again" in sheet.idea) == bool(again) and sheet.idea.count("at fret") == len(again)
        assert sheet.title.startswith(key.scale_name) and sheet.title.split()[1] != "on"


def test_a_place_says_the_same_frets_only_when_they_are():
    """Where grip or mode goes beyond the arpeggio's frets the subtitle says by how many; else that the hand stays."""
    seen = set()
    for name in ("Dm7", "G7", "Cmaj7", "Bm7b5", "Fmaj7"):
        for strings in ("654", "543", "432"):
            sheet = same_place(FINDER, chords(name), parse_strings(strings))
            grip, arpeggio, mode = sheet.panels
            low, high = (edge(n.fret for n in arpeggio.notes) for edge in (min, max))
            others = [n.fret for panel in (grip, mode) if panel for n in panel.notes]
            beyond = max(0, low - min(others, default=low), max(others, default=high) - high)
            assert ("at the same frets" in sheet.idea) == (beyond == 0)
            assert (f"more than {beyond} fret" in sheet.idea) == (beyond > 0)
            seen.add(beyond)
    assert len(seen) > 1


def test_one_set_says_that_the_root_stays_only_when_it_does():
    """Four arpeggios on one root share its place; where a layout moves one of them, nothing is claimed."""
    four = [QUALITY(n) for n in ("maj7", "m7", "7", "m7b5")]
    for finder in (FINDER, ShapeFinder(Neck(alternates=True))):
        for strings in SETS:
            sheet = qualities_on_set(finder, four, strings, roots("C", "F"))
            places = {}
            for panel in sheet.drawn:
                places.setdefault(panel.shape.chord.root, set()).add(min(n.fret for n in panel.notes if n.is_root))
            assert ("the root stays" in sheet.idea) == all(len(frets) == 1 for frets in places.values())
    scales = quality_on_sets(FINDER, QUALITY("m7"), [parse_strings("6543")], roots("C"), "grip-drop2")
    assert "from root to root" not in scales.idea
