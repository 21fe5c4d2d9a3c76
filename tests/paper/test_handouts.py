"""Handouts: what is on the page is what is on the screen, on the right paper, readable, with its blank and key."""

import base64
import io
import os
import re
import shutil
import subprocess
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont

from drills.diagrams.grid import blank_grid, grid_of
from drills.diagrams.picture import Group, Mark, Stroke, Words
from drills.errors import NotPlayableError, SettingsError
from drills.neck.strings import parse_strings
from drills.paper.handouts import handout_pages, handout_pdf, handout_svgs, handout_text
from drills.paper.layouts import booklet, key_overview, quality_on_sets, same_place, shapes_sheet, whole_neck
from drills.paper.page_style import MARGIN_PT, Footer, PageStyle
from drills.paper.pages import sheet_pages
from drills.shapes.form import ARPEGGIO
from drills.theory.key import parse_key
from drills.theory.symbol import parse_chord
from tests.diagrams.shapes import default_deck
from tests.paper.pages import (
    AT,
    FINDER,
    FOOTER,
    LOOKS,
    QUALITY,
    SETS,
    bounds,
    chords,
    layouts,
    parts_of,
    read,
    roots,
)  # fmt: skip

SHEETS = layouts()
SVG = "{http://www.w3.org/2000/svg}"


def _groups(page):
    return [part for part in page.parts if isinstance(part, Group)]


def _marks(group):
    return {(m.string, m.fret, m.label, m.is_root) for m in group.parts if isinstance(m, Mark)}


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("name", SHEETS)
def test_every_panel_shows_what_its_grid_shows(name, look):
    """On every layout in every look, each diagram holds the marks of the grid the screen would draw, in order."""
    for sheet in SHEETS[name]:
        groups = [group for page in sheet_pages(sheet, look, FOOTER) for group in _groups(page)]
        assert len(groups) == len(sheet.drawn) > 0
        for group, panel in zip(groups, sheet.drawn, strict=True):
            grid = panel.grid(look)
            assert _marks(group) == {(m.string, m.fret, m.label, m.is_root) for m in grid.marks}
            assert {(m.string, m.fret) for m in grid.marks} == {(n.string, n.fret) for n in panel.notes}


def test_a_booklet_shows_every_shape_of_the_default_deck_as_the_screen_does():
    """All 144 answers, once each, with the labels of the screen."""
    shown = [
        _marks(group)
        for sheet in booklet(default_deck(), 6)
        for page in sheet_pages(sheet, PageStyle(labels="degrees"), FOOTER)
        for group in _groups(page)
    ]
    wanted = [{(n.string, n.fret, n.degree, n.is_root) for n in shape.notes} for shape in default_deck()]
    assert sorted(map(sorted, shown)) == sorted(map(sorted, wanted))


@pytest.mark.parametrize("blank", [False, True])
@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("name", SHEETS)
def test_nothing_leaves_the_margins_and_no_panel_runs_into_another(name, look, blank):
    """Everything printed lies inside the page's margins, and the panels' own areas do not overlap."""
    wide, high = look.size
    for sheet in SHEETS[name]:
        for page in sheet_pages(sheet, look, FOOTER, blank):
            boxes = []
            for part in parts_of(page.parts):
                left, top, right, bottom = bounds(part)
                assert left >= look.margin - 8 and right <= wide - look.margin + 8, part
                assert top >= look.margin - 4 and bottom <= high - look.margin + 8, part
            for group in _groups(page):
                lefts, tops, rights, bottoms = zip(*map(bounds, parts_of(group.parts)), strict=True)
                boxes.append((min(lefts), min(tops), max(rights), max(bottoms)))
            for index, one in enumerate(boxes):
                for other in boxes[index + 1 :]:
                    beside = one[2] <= other[0] + 1 or other[2] <= one[0] + 1
                    above = one[3] <= other[1] + 1 or other[3] <= one[1] + 1
                    assert beside or above, (one, other)


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("name", SHEETS)
def test_names_are_twelve_points_and_no_line_is_lost_on_a_photocopier(name, look):
    """Every name is set in 12 points or more (rule F1); the thinnest line is half a point (common practice)."""
    for sheet in SHEETS[name]:
        for page in sheet_pages(sheet, look, FOOTER):
            for group in _groups(page):
                name = next(p for p in group.parts if isinstance(p, Words) and p.bold)
                assert name.size >= 12 and group.title.startswith(name.text)
            strokes = {part.width for part in parts_of(page.parts) if not isinstance(part, Words)}
            assert min(strokes) >= 0.5


@pytest.mark.parametrize("sets", [1, 2, 3])
def test_large_print_never_makes_an_overview_smaller(sets):
    """Still one page, with no label smaller than in usual print; one set alone fills more than half of the width."""
    sheet = key_overview(FINDER, parse_key("Eb"), SETS[:sets])
    sizes = []
    for large in (False, True):
        (page,) = sheet_pages(sheet, PageStyle(large=large), FOOTER)
        groups = _groups(page)
        assert len(groups) == 7 * sets
        marks = [mark for group in groups for mark in group.parts if isinstance(mark, Mark)]
        labels = [part for mark in marks for part in mark.parts if isinstance(part, Words)]
        sizes.append(min(label.size for label in labels))
        assert max(label.x for label in labels) > page.wide / 2
    assert sizes[1] >= sizes[0]


def test_the_overview_can_be_read_on_a_phone():
    """Seven chords on three sets on one page, no label under 9.5 points and no number under 8.4 across the screen.

    360 points are the width of a small phone held upright (common practice); a screen there has about 5.5 to the
    millimetre, so that 9.5 are what 5 points are on paper, a footnote's capital.
    """
    (page,) = sheet_pages(SHEETS["overview"][0], PageStyle("phone"), FOOTER)
    assert page.wide == 360 and len(_groups(page)) == 21
    labels = [part.size for group in _groups(page) for m in group.parts if isinstance(m, Mark) for part in m.parts
              if isinstance(part, Words)]  # fmt: skip
    numbers = [part.size for group in _groups(page) for part in group.parts if isinstance(part, Words)]
    assert min(labels) >= 9.5 and min(numbers) >= 8.4


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612, 792))])
def test_pages_have_the_papers_exact_size(paper, size):
    """Every page is A4 (210 x 297 mm, ISO 216) or Letter (8.5 x 11 inches) to a hundredth of a point."""
    pages = read(handout_pdf(SHEETS["one key"], PageStyle(paper), FOOTER, "both", AT))
    assert len(pages) == 6
    for page in pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.01)


def test_fonts_are_embedded_and_signs_are_real_glyphs():
    """Every font is in the file with a map to Unicode, and flats, sharps and double flats can be read back."""
    pages = read(handout_pdf([*SHEETS["one quality"], *SHEETS["whole neck"]], PageStyle(labels="notes"), FOOTER, at=AT))
    for page in pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            inner = font["/DescendantFonts"][0].get_object()
            assert "/FontFile2" in inner["/FontDescriptor"].get_object()
            assert "/ToUnicode" in font
    text = "\n".join(page.extract_text() for page in pages)
    assert "B♭m7♭5" in text and "F♯m7♭5" in text and "B♭♭" in text
    assert not re.search(r"[A-G]b(?![a-z])|[A-G]#", text)


def test_a_triangle_and_a_slashed_o_are_printed():
    """A teacher who writes CΔ7 and Cø gets these signs on paper: the embedded font has them."""
    sheet = shapes_sheet([default_deck()[0]], 6, "CΔ7 △ ø °", "", 1)
    assert "CΔ7 △ ø °" in read(handout_pdf([sheet], PageStyle(), FOOTER))[0].extract_text()


def test_the_footer_says_what_a_teacher_wants_to_know():
    """Tuning, top fret, teacher, date and whose fingerings stand at the foot; empty ones are left out."""
    text = read(handout_pdf(SHEETS["one quality"], PageStyle(), FOOTER))[0].extract_text()
    assert "Tuning E2 A2 D3 G3 B3 E4 · top fret 15 · fingerings: Teacher 1 · 14 March 2026" in text
    assert Footer(teacher="Teacher 1").text == "Teacher 1"
    assert Footer(teacher="Teacher 2", fingerings="Teacher 1").text == "fingerings: Teacher 1 · Teacher 2"
    assert Footer().text == ""


def test_a_blank_has_the_names_and_nothing_to_copy():
    """The blank keeps names and string sets, and has no mark, note name, position or fret number."""
    sheet = SHEETS["one quality"][0]
    (page,) = sheet_pages(sheet, PageStyle(), FOOTER, blank=True)
    assert len(_groups(page)) == 12
    for group, panel in zip(_groups(page), sheet.drawn, strict=True):
        said = [part.text for part in group.parts if isinstance(part, Words)]
        assert _marks(group) == set()
        assert said[0].replace("♭", "b") == panel.name and said[1] == panel.where
        assert sorted(said[2:]) == sorted([*"123456", "slow", "in time", "in a tune"])
        assert group.about == ""


@pytest.mark.parametrize("name", SHEETS)
def test_a_key_is_on_the_back_of_each_blank(name):
    """Asked for both, pages come in leaves: a blank, then its own key."""
    pages = handout_pages(SHEETS[name], PageStyle(), FOOTER, "both")
    assert len(pages) % 2 == 0
    for front, back in zip(pages[::2], pages[1::2], strict=True):
        assert front.title == f"{back.title}, blank"
        assert [group.title for group in _groups(front)] == [group.title for group in _groups(back)]
        assert not any(_marks(group) for group in _groups(front))
        assert all(_marks(group) for group in _groups(back))


def test_one_idea_fits_one_page():
    """Four roots on three sets, four qualities on two roots, seven chords on three sets, three places: a page each."""
    for name in ("one quality", "four qualities", "overview", "same place", "weakest", "whole neck"):
        assert len(handout_pages(SHEETS[name], PageStyle(), FOOTER)) == 1
    assert len(handout_pages(SHEETS["one key"], PageStyle(), FOOTER)) == 3


def test_grip_arpeggio_and_mode_cover_the_same_frets():
    """Side by side, the three drawings of a place show the same part of the neck (rule G15)."""
    (sheet,) = SHEETS["same place"]
    for start in range(0, len(sheet.panels), 3):
        row = [panel.grid(PageStyle()) for panel in sheet.panels[start : start + 3]]
        assert len({(grid.first_fret, grid.last_fret, grid.open_column) for grid in row}) == 1
    grip, arpeggio, mode = sheet.panels[:3]
    assert [(n.string, n.fret) for n in grip.notes] == [(5, 5), (4, 7), (3, 5), (2, 6)]
    assert [(n.string, n.fret) for n in arpeggio.notes] == [(5, 5), (5, 8), (4, 7), (3, 5), (3, 7)]
    assert mode.name == "D Dorian"
    assert {(n.string, n.fret) for n in arpeggio.notes} <= {(n.string, n.fret) for n in mode.notes}


def test_large_print_keeps_a_place_on_one_page():
    """In large print grip, arpeggio and mode stand one above another, three to a page, in line."""
    (sheet,) = SHEETS["same place"]
    pages = sheet_pages(sheet, PageStyle(large=True), FOOTER)
    assert [len(_groups(page)) for page in pages] == [3, 3, 3]
    for page in pages:
        assert len({min(bounds(part)[0] for part in parts_of(group.parts)) for group in _groups(page)}) == 1


def test_a_place_without_a_grip_keeps_its_row():
    """Where no grip fits, a gap is left so that the columns stay in line, and the page says what is missing."""
    sheet = same_place(FINDER, chords("Cdim"), parse_strings("543"))
    assert len(sheet.panels) == 3 and sheet.panels[0] is None
    assert "no grip fits" in sheet.left_out[0]
    text = read(handout_pdf([sheet], PageStyle(), FOOTER))[0].extract_text()
    assert "Left out: Cdim on 5-4-3: no grip fits at this place." in text


def test_the_map_marks_every_chord_tone_and_nothing_else():
    """From open strings to the top fret, exactly the places that sound a tone of the chord are marked."""
    (panel,) = whole_neck(FINDER, chords("Bb7")).drawn
    marked = {(note.string, note.fret) for note in panel.notes}
    tones = chords("Bb7")[0].pitch_classes
    for string in range(1, 7):
        for fret in range(16):
            assert ((string, fret) in marked) == (FINDER.tuning.midi(string, fret) % 12 in tones)
    assert all(FINDER.tuning.midi(note.string, note.fret) == note.pitch.midi for note in panel.notes)
    assert panel.grid(PageStyle()).frets == tuple(range(16))


def test_what_does_not_fit_is_printed_with_its_reason():
    """A chord beyond the top fret is left out of the page and named at its foot."""
    from drills.neck.neck import Neck
    from drills.shapes.finder import ShapeFinder

    finder = ShapeFinder(Neck(top_fret=12))
    sheet = quality_on_sets(finder, QUALITY("maj7"), SETS[:1], roots("C", "E"))
    assert len(sheet.panels) == 1
    text = read(handout_pdf([sheet], PageStyle(), FOOTER))[0].extract_text()
    assert "Left out: Emaj7 on 6-5-4 needs fret 14; the top fret is 12." in text


def test_plain_text_reads_aloud_what_the_page_shows():
    """The text variant says each shape in the words of the screen, in ASCII, with the footer at the end."""
    text = handout_text(SHEETS["one quality"], PageStyle(), FOOTER)
    assert text.isascii()
    assert "Cm7b5, 6-5-4, position VIII\nstring 6 fret 8 C root, finger 1; string 6 fret 11 E flat," in text
    assert text.count("root, finger") == 12
    assert text.endswith("14 March 2026\n")
    drawn = handout_text(
        SHEETS["one quality"], PageStyle(labels="degrees"), FOOTER, drawn=True, ascii_only=True, width=40
    )
    assert drawn.isascii() and max(len(line) for line in drawn.splitlines() if "[1]" in line) <= 40


def test_a_plain_text_blank_asks_and_its_key_answers():
    """The blank names every shape and says none of its notes; asked for both, the key comes after it."""
    blank = handout_text(SHEETS["one quality"], PageStyle(), FOOTER, "blank")
    assert "finger" not in blank.replace("fingerings", "") and "position" not in blank
    assert blank.count("Cm7b5, ") == 3 and blank.count("____\n") == 12
    both = handout_text(SHEETS["one quality"], PageStyle(), FOOTER, "both")
    assert both.index("____") < both.index("root, finger") and both.count("root, finger") == 12


def test_svg_pages_have_words_for_every_diagram():
    """Each SVG page is an image with a title; every diagram in it has its name and, on the key, its notes in words."""
    (text,) = handout_svgs(SHEETS["same place"], PageStyle(), FOOTER)
    root = ElementTree.fromstring(text)
    assert root.get("role") == "img" and root.find(f"{SVG}title").text == "The same place on 5-4-3"
    groups = [group for group in root.iter(f"{SVG}g") if group.get("role") == "group"]
    assert len(groups) == 9
    assert groups[1].find(f"{SVG}desc").text.startswith("string 5 fret 5 D root, finger 1;")
    colours = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]+)"', text))
    assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours)


def test_the_same_pages_at_the_same_date_give_the_same_bytes():
    """Nothing but what is asked for goes into the file."""
    one, two = (handout_pdf(SHEETS["overview"], PageStyle(), FOOTER, "both", AT) for _ in range(2))
    assert one == two
    assert b"CreationDate (D:20260314" in one


def test_a_long_teachers_name_in_any_script_is_printed_whole():
    """A footer too long for a line is wrapped, and a title too long is set smaller; nothing is cut off."""
    footer = Footer("E2 A2 D3 G3 B3 E4", 15, "Преподаватель Ångström " * 9, "14 March 2026", "γ" * 20)
    sheet = shapes_sheet(default_deck()[:2], 6, "A long title about many things " * 4, "An idea " * 40, 2)
    (page,) = sheet_pages(sheet, PageStyle(), footer)
    for part in parts_of(page.parts):
        left, _, right, bottom = bounds(part)
        assert left >= MARGIN_PT - 8 and right <= PageStyle().size[0] - MARGIN_PT + 8, part
        assert bottom <= PageStyle().size[1] - MARGIN_PT + 8
    text = " ".join(read(handout_pdf([sheet], PageStyle(), footer))[0].extract_text().split())
    assert text.count("Преподаватель") == 9


def test_other_instruments_are_printed_with_their_strings():
    """A bass has four strings on its page, a seven-string guitar seven."""
    from drills.neck.neck import Neck
    from drills.neck.tuning import read_tunings
    from drills.shapes.finder import ShapeFinder

    for name, strings in (("bass", 4), ("seven-low-b", 7)):
        named = read_tunings()[name]
        finder = ShapeFinder(Neck(tuning=named.tuning, scale_mm=named.scale_mm, reach_limit_mm=170))
        for sheets in layouts_of_one(finder):
            for page in handout_pages(sheets, PageStyle(), FOOTER):
                for group in _groups(page):
                    numbers = [p.text for p in group.parts if isinstance(p, Words) and p.anchor == "end"]
                    assert numbers == [str(number) for number in range(1, strings + 1)]


def layouts_of_one(finder):
    """A page of shapes and a map for an instrument."""
    from drills.neck.strings import core_sets

    return (
        [quality_on_sets(finder, QUALITY("m7"), core_sets(finder.tuning), roots("C"))],
        [whole_neck(finder, chords("Bb7"))],
    )


@pytest.mark.parametrize(("field", "value"), [("paper", "A5"), ("orientation", "upright"), ("labels", "names")])
def test_a_wrong_look_is_refused_by_name(field, value):
    """A paper, orientation or label that does not exist is refused with those that do."""
    with pytest.raises(SettingsError, match=f"handout, {field}: expected one of .*, got '{value}'"):
        PageStyle(**{field: value})


def test_nothing_to_print_is_refused():
    """A sheet of no shapes, or of shapes none of which fits, is an error that says what to do; so is no version."""
    with pytest.raises(NotPlayableError, match="no shape to print"):
        shapes_sheet([], 6, "Weakest", "")
    with pytest.raises(ValueError, match="key, blank, both"):
        handout_pages(SHEETS["overview"], PageStyle(), FOOTER, "answers")
    with pytest.raises(ValueError, match="at least one page"):
        handout_pdf([], PageStyle(), FOOTER)


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("name", SHEETS)
def test_rendered_pages_are_black_on_white_with_clean_margins(name, look):
    """Rendered by PDFium, every page has ink, no colour, and nothing in the outer 9 points that may be cut."""
    import pdfplumber

    data = handout_pdf(SHEETS[name], look, FOOTER, "both", AT)
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages[:2]:
            image = page.to_image(resolution=72).original.convert("RGB")
            red, green, blue = image.split()
            assert red.tobytes() == green.tobytes() == blue.tobytes()
            black = red.point(lambda level: 255 if level < 128 else 0)
            left, top, right, bottom = black.getbbox()
            assert min(left, top, image.width - right, image.height - bottom) >= 9
            assert 0.002 < black.histogram()[255] / (image.width * image.height) < 0.2


@pytest.mark.parametrize(
    ("paper", "size", "pages"),
    [("A4", "595.28 x 841.89", 2), ("Letter", "612 x 792", 2), ("phone", "360 x 1200", 4)],
)
def test_poppler_agrees_where_it_is_installed(tmp_path, paper, size, pages):
    """Poppler, where the machine has it (CI has), finds fonts embedded, the exact size, and every name in the text."""
    path = tmp_path / "handout.pdf"
    path.write_bytes(handout_pdf(SHEETS["one quality"], PageStyle(paper), FOOTER, "both", AT))
    assert len(read(path.read_bytes())) == pages
    if not shutil.which("pdffonts"):
        assert not os.environ.get("CI")
        return

    def run(*command):
        return subprocess.run(command, capture_output=True, text=True, timeout=60, check=True).stdout

    rows = run("pdffonts", path).splitlines()[2:]
    assert rows and all(re.search(r"yes yes yes\s+\d+\s+\d+$", row) for row in rows)
    info = run("pdfinfo", path)
    assert re.search(rf"Page size: +{size} pts", info) and re.search(rf"Pages: +{pages}\n", info)
    text = run("pdftotext", "-layout", path, "-")
    assert text.count("Cm7♭5") == text.count("B♭m7♭5") == 6


@pytest.mark.parametrize("deck", ["grips-drop2", "grips-drop3", "shells", "two-octaves", "pentatonics", "other-starts"])
def test_no_print_is_too_small_to_read(deck):
    """In a booklet of any shipped deck, on every paper, all words are 7 points or more (common practice)."""
    from drills.cards.deck import find_deck, read_deck
    from drills.cards.material import gather
    from drills.neck.neck import Neck

    material = gather(read_deck(find_deck(deck, None)), Neck())
    shapes = [material.answer(card) for card in list(material.cards.values())[::5]]
    for look in (PageStyle(), PageStyle("Letter", orientation="box"), PageStyle("phone")):
        for sheet in booklet(shapes, 6):
            for page in sheet_pages(sheet, look, FOOTER):
                words = [part for group in _groups(page) for part in group.parts if isinstance(part, Words)]
                small = [part for part in words if part.size < 7 and not part.text.isdecimal()]
                assert small == []


def test_an_svg_page_carries_its_signs():
    """The fonts in an SVG page hold every sign its words use, in plain and in bold, read by fontTools, so that
    another machine prints the same flats; and the same page is the same bytes."""
    (text,) = handout_svgs(SHEETS["one quality"], PageStyle(), FOOTER)
    assert handout_svgs(SHEETS["one quality"], PageStyle(), FOOTER) == [text]
    root = ElementTree.fromstring(text)
    faces = re.findall(
        r"@font-face\{font-family:'([^']+)';font-weight:(\w+);src:url\(data:font/ttf;base64,([^)]+)\)\}",
        root.find(f"{SVG}style").text,
    )
    assert root.get("font-family").startswith(f"'{faces[0][0]}'") and len(faces) == 2
    for _, weight, data in faces:
        held = TTFont(io.BytesIO(base64.b64decode(data)))
        used = {
            sign for words in root.iter(f"{SVG}text") if (words.get("font-weight") or "normal") == weight
            for sign in words.text
        }  # fmt: skip
        assert {ord(sign) for sign in used} == set(held.getBestCmap())
        assert "♭" in used and held["glyf"][held.getBestCmap()[ord("♭")]].numberOfContours > 0


@pytest.mark.parametrize("orientation", ["neck", "box"])
def test_all_blanks_of_a_page_are_equally_long(orientation):
    """F7 on 6-5-4 has its third on the open A string, C7 and B7 have no open string; a blank must not tell (F1)."""
    shapes = [FINDER.find(chord, ARPEGGIO, SETS[0]) for chord in chords("C7", "F7", "B7")]
    assert [min(note.fret for note in shape.notes) == 0 for shape in shapes] == [False, True, False]
    sheet = shapes_sheet(shapes, 6, "Sevenths", "")
    (page,) = sheet_pages(sheet, PageStyle(orientation=orientation), FOOTER, blank=True)
    assert len({sum(isinstance(part, Stroke) for part in group.parts) for group in _groups(page)}) == 1


def test_a_blank_does_not_give_the_place_away():
    """A shape at the nut and one up the neck have the same empty diagram on a blank: no nut, no open column."""
    for orientation in ("neck", "box"):
        drawn = []
        for name, strings in (("Fm7b5", "654"), ("Cm7b5", "654")):  # frets 1 to 4 and 8 to 11
            shape = FINDER.find(parse_chord(name), ARPEGGIO, parse_strings(strings))
            sheet = shapes_sheet([shape], 6, "One", "", 1)
            (page,) = sheet_pages(sheet, PageStyle(orientation=orientation), FOOTER, blank=True)
            (group,) = _groups(page)
            drawn.append([part for part in group.parts if not isinstance(part, Words)])
        assert drawn[0] == drawn[1] and drawn[0]
    at_nut = FINDER.find(parse_chord("Fmaj7"), ARPEGGIO, parse_strings("654"))
    grid = grid_of(at_nut, 6)
    assert grid.open_column and len(blank_grid(grid, numbered=False).frets) == len(grid.frets)
    assert not blank_grid(grid, numbered=False).open_column
