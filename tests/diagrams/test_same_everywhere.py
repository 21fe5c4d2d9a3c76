"""One shape, many drawings: screen, box, SVG, PDF, tablature, speech and MusicXML show the same."""

import io
import re
from collections import Counter
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from drills.configuration.diagram_style import LABELS
from drills.diagrams.grid import blank_grid, grid_of
from drills.diagrams.grid_picture import grid_picture
from drills.diagrams.musicxml import musicxml_text
from drills.diagrams.picture import Mark
from drills.diagrams.picture_pdf import pdf_bytes
from drills.diagrams.picture_svg import svg_text
from drills.diagrams.speech import say_shape
from drills.diagrams.text import PLAIN, UNICODE, box_lines, neck_lines, tab_lines
from drills.diagrams.typesetting import printed
from tests.diagrams.reading import box_places, neck_places, svg_places
from tests.diagrams.shapes import FINDER, default_deck, every_kind

SAID = {"degrees": lambda n: n.degree, "fingers": lambda n: str(n.finger), "notes": lambda n: n.pitch.note.name}


def _wanted(shape, labels):
    return {(note.string, note.fret, SAID[labels](note), note.is_root) for note in shape.notes}


def _printed(places):
    return {(string, fret, printed(label), is_root) for string, fret, label, is_root in places}


def test_the_default_deck_is_walked_whole():
    """The walk below is over all 144 shapes."""
    assert len(default_deck()) == 144


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("labels", LABELS)
def test_every_drawing_of_the_default_deck_shows_the_same_places(labels, left_handed):
    """Frets, strings, labels and roots agree on screen, in the box and in both SVG drawings, either hand."""
    for shape in default_deck():
        grid = grid_of(shape, 6, labels, left_handed)
        wanted = _wanted(shape, labels)
        assert neck_places(neck_lines(grid, 80, UNICODE)) == wanted
        assert neck_places(neck_lines(grid, 40, PLAIN)) == wanted
        assert box_places(box_lines(grid, PLAIN)) == wanted
        assert svg_places(svg_text(grid_picture(grid, "neck")), "neck") == _printed(wanted)
        assert svg_places(svg_text(grid_picture(grid, "box")), "box") == _printed(wanted)


def test_other_forms_are_drawn_the_same_everywhere_too():
    """Two octaves, scales, grips and starts on other tones, of every quality, agree in all drawings."""
    assert len(every_kind()) > 150
    for shape in every_kind():
        grid = grid_of(shape, 6, "degrees")
        wanted = _wanted(shape, "degrees")
        assert neck_places(neck_lines(grid, 60)) == wanted
        assert box_places(box_lines(grid)) == wanted
        assert svg_places(svg_text(grid_picture(grid, "neck")), "neck") == _printed(wanted)


def test_the_pdf_prints_the_labels_of_the_picture():
    """Read back with pypdf, every page holds the labels, fret numbers and string numbers of its grid."""
    shapes = default_deck()[::12]
    pages = PdfReader(io.BytesIO(pdf_bytes([grid_picture(grid_of(s, 6, "notes")) for s in shapes]))).pages
    for shape, page in zip(shapes, pages, strict=True):
        grid = grid_of(shape, 6, "notes")
        wanted = [printed(mark.label) for mark in grid.marks] + [str(f) for f in grid.frets] + list("123456")
        assert Counter(page.extract_text().split()) == Counter(wanted)


def test_speech_says_the_places_of_the_grid():
    """Strings and frets spoken are those drawn, in playing order."""
    for shape in default_deck():
        spoken = re.findall(r"string (\d+) (?:fret (\d+)|open)", say_shape(shape))
        assert [(int(string), int(fret or 0)) for string, fret in spoken] == [(n.string, n.fret) for n in shape.notes]


def test_tablature_has_the_frets_in_playing_order():
    """Read column by column, the tab gives each note's string and fret in order."""
    for shape in every_kind():
        lines = tab_lines(shape, 6)
        assert len({len(line) for line in lines}) == 1
        seen = sorted(
            (match.start(), int(line[:2]), int(match[0])) for line in lines for match in re.finditer(r"(?<=-)\d+", line)
        )
        wanted = [(note.string, note.fret) for note in shape.notes]
        read = [(string, fret) for _, string, fret in seen]
        assert (sorted(read) == sorted(wanted)) if shape.form.kind == "grip" else (read == wanted)


def test_musicxml_has_the_same_strings_frets_and_fingers():
    """The tablature staff of the file holds what the screen shows."""
    shapes = default_deck()[::7]
    root = ElementTree.fromstring(musicxml_text(shapes, FINDER.tuning))
    read = [
        (int(t.findtext("string")), int(t.findtext("fret")), int(t.findtext("fingering") or 0))
        for t in root.iter("technical")
        if t.find("fret") is not None
    ]
    assert read == [(note.string, note.fret, note.finger) for shape in shapes for note in shape.notes]


def test_a_blank_has_the_same_neck_and_nothing_on_it():
    """A blank diagram has the same strings and wires as its key, no mark and, when asked, no fret numbers."""
    for shape in default_deck()[::10]:
        grid = grid_of(shape, 6)
        blank = blank_grid(grid, numbered=False)
        drawn = svg_text(grid_picture(blank))
        assert svg_places(drawn, "neck") == set()
        one, other = grid_picture(blank), grid_picture(grid)
        assert (one.wide, one.high) == (other.wide, other.high)
        assert drawn.count("<text") == 6
        assert not any(isinstance(part, Mark) for part in grid_picture(blank).parts)
        assert not re.search(r"\d", "".join(line[2:] for line in neck_lines(blank)))
