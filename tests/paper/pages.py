"""Sheets of every layout for the paper tests, and a reader of finished pages."""

import io
from datetime import UTC, datetime

from pypdf import PdfReader

from drills.diagrams.picture import Group, Mark, MusicSign, Patch, Rect, Ring, Stroke, Words
from drills.neck.neck import Neck
from drills.neck.strings import core_sets, parse_strings
from drills.paper.layouts import (
    key_overview,
    key_sheets,
    qualities_on_set,
    quality_on_sets,
    same_place,
    shapes_sheet,
    whole_neck,
)
from drills.paper.page_style import Footer, PageStyle
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.key import parse_key
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests.tunes.staff_reading import ink

AT = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
FINDER = ShapeFinder(Neck())
FOOTER = Footer("E2 A2 D3 G3 B3 E4", 15, "Teacher 1", "14 March 2026", "Teacher 1")
SETS = core_sets(FINDER.tuning)
QUALITY = shipped_qualities().named
LOOKS = tuple(
    PageStyle(paper, large, orientation, labels, left_handed)
    for paper, large, orientation, labels, left_handed in (
        ("A4", False, "neck", "fingers", False),
        ("A4", False, "box", "degrees", True),
        ("A4", True, "neck", "notes", False),
        ("Letter", False, "neck", "degrees", True),
        ("Letter", True, "box", "fingers", False),
        ("phone", False, "neck", "fingers", False),
    )
)


def chords(*names):
    """Chords by name."""
    return [parse_chord(name) for name in names]


def roots(*names):
    """Notes by name."""
    return [Note.parse(name) for name in names]


def layouts(finder=FINDER):
    """Every kind of handout, by a name of its own."""
    four = [QUALITY(name) for name in ("maj7", "m7", "7", "m7b5")]
    sets = core_sets(finder.tuning)
    weak = [finder.find(chord, ARPEGGIO, sets[0]) for chord in chords("Bbm7b5", "Ebm7", "C7")]
    return {
        "one quality": [quality_on_sets(finder, QUALITY("m7b5"), sets, roots("C", "F", "Bb", "G"))],
        "four qualities": [qualities_on_set(finder, four, sets[1], roots("C", "F"))],
        "one key": key_sheets(finder, parse_key("Gb"), sets),
        "overview": [key_overview(finder, parse_key("Eb"), sets)],
        "same place": [same_place(finder, chords("Dm7", "G7", "Cmaj7"), parse_strings("543"))],
        "weakest": [shapes_sheet(weak, finder.tuning.strings, "Your weakest three", "Slowly, from the root.")],
        "whole neck": [whole_neck(finder, chords("Bb7", "Cdim7", "F#m7b5"))],
    }


def read(pdf):
    """The pages of a PDF, read by pypdf."""
    return PdfReader(io.BytesIO(pdf)).pages


def parts_of(parts):
    """Every line, box, ring and word of a page, groups opened."""
    for part in parts:
        if isinstance(part, Mark | Group):
            yield from parts_of(part.parts)
        else:
            yield part


def bounds(part):
    """Left, top, right, bottom of a part; text as wide as DejaVu Sans makes it at most."""
    match part:
        case Stroke():
            return min(part.x1, part.x2), min(part.y1, part.y2), max(part.x1, part.x2), max(part.y1, part.y2)
        case Rect():
            return part.x, part.y, part.x + part.wide, part.y + part.high
        case Ring():
            return part.x - part.radius, part.y - part.radius, part.x + part.radius, part.y + part.radius
        case Words():
            wide = text_wide(part)
            left = part.x - {"start": 0, "middle": wide / 2, "end": wide}[part.anchor]
            return left, part.y - part.size * 0.76, left + wide, part.y + part.size * 0.1
        case MusicSign():
            return ink(part)
        case Patch():
            xs, ys = zip(*part.corners, strict=True)
            return min(xs), min(ys), max(xs), max(ys)
        case _:
            raise TypeError(f"not a part: {part!r}")


_FONTS = {}


def text_wide(words):
    """Width of a text in points, measured in the font that is embedded."""
    from fontTools.ttLib import TTFont

    from drills.configuration.shipped import data_file

    name = "DejaVuSans-Bold.ttf" if words.bold else "DejaVuSans.ttf"
    if name not in _FONTS:
        font = TTFont(data_file(f"fonts/{name}"), lazy=True)
        _FONTS[name] = (font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm)
    glyphs, widths, em = _FONTS[name]
    return words.size * sum(widths[glyphs.get(ord(character), ".notdef")][0] for character in words.text) / em
