"""All shapes of the default deck on the screen and in finished files show the same frets, fingers and labels."""

from __future__ import annotations

import pytest

from drills.diagrams.answer import answer_lines
from drills.diagrams.grid_picture import shape_picture
from drills.diagrams.picture_pdf import pdf_bytes
from drills.diagrams.picture_svg import svg_text
from drills.paper.handouts import handout_pages, handout_pdf
from drills.paper.layouts import booklet
from drills.paper.page_style import Footer, PageStyle
from tests.diagrams.page_reading import diagrams, pdf_pages, svg_words
from tests.diagrams.reading import box_places, neck_places
from tests.diagrams.shapes import default_deck

FOOTER = Footer("E2 A2 D3 G3 B3 E4", 15, "Teacher 1", "14 March 2026")
READ = {"degrees": lambda n: n.degree, "fingers": lambda n: str(n.finger), "notes": lambda n: n.pitch.note.name}


def screen(shape, labels, box, left_handed):
    """The places of the drawing that a session shows, read off its characters."""
    lines = answer_lines(shape, 6, labels=labels, box=box, left_handed=left_handed)
    start = next(i for i, line in enumerate(lines) if i and line.strip())
    drawing = lines[start : lines.index("", start)]
    return (box_places if box else neck_places)(drawing)


LOOKS = [
    ("degrees", False, False), ("fingers", False, True), ("notes", False, False), ("fingers", True, False),
    ("degrees", True, True),
]  # fmt: skip


@pytest.mark.long
@pytest.mark.parametrize(("labels", "box", "left_handed"), LOOKS)
def test_screen_svg_pdf_and_handout_agree_on_every_shape(labels, box, left_handed):
    """The 144 answers: what the screen draws is read back, place by place, from an SVG, a PDF and a handout in both."""
    deck = default_deck()
    assert len(deck) == 144
    wanted = [screen(shape, labels, box, left_handed) for shape in deck]
    for shape, places in zip(deck, wanted, strict=True):
        assert places == {(n.string, n.fret, READ[labels](n), n.is_root) for n in shape.notes}
    orientation = "box" if box else "neck"
    pictures = [shape_picture(shape, 6, labels, orientation, left_handed) for shape in deck]
    for places, picture in zip(wanted, pictures, strict=True):
        (read,) = diagrams(svg_words(svg_text(picture)), box=box)
        assert read.places == places
    for places, page in zip(wanted, pdf_pages(pdf_bytes(pictures)), strict=True):
        (read,) = diagrams(page, box=box)
        assert read.places == places
    look = PageStyle(labels=labels, orientation=orientation, left_handed=left_handed)
    sheets = booklet(deck, 6)
    shown = [(panel.name, panel.where) for sheet in sheets for panel in sheet.drawn]
    expected = {(s.name, s.strings.name): places for s, places in zip(deck, wanted, strict=True)}
    # As `handout_svgs` writes them, but for the fonts, which take a while.
    svgs = [svg_words(svg_text(page)) for page in handout_pages(sheets, look, FOOTER)]
    pages = pdf_pages(handout_pdf(sheets, look, FOOTER)), svgs
    for kind in pages:
        read = [diagram for page in kind for diagram in diagrams(page, box=box)]
        assert [(one.name, one.said.split(",")[0]) for one in read] == shown
        assert [one.places for one in read] == [expected[name] for name in shown]


def test_the_reader_would_notice_a_wrong_place():
    """A label moved by a fret or a string, or a root that is none, is read as it is drawn, not as it was meant."""
    shape = default_deck()[0]
    text = svg_text(shape_picture(shape, 6))
    (right,) = diagrams(svg_words(text))
    x = next(word for word in svg_words(text) if word.white).x
    (moved,) = diagrams(svg_words(text.replace(f'<text x="{x:g}"', f'<text x="{x + 30:g}"')))
    assert moved.places != right.places
    (plain,) = diagrams(svg_words(text.replace('fill="#ffffff"', 'fill="#000000"')))
    assert not any(is_root for *_, is_root in plain.places)
