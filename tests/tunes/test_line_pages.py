"""Printed pages of lines: the same frets on the same strings as the line, nothing cut, text that a PDF reader finds."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from functools import cache

import pytest

from drills.changes.changes_reading import parse_changes
from drills.diagrams.picture import Stroke as Stroke
from drills.diagrams.picture import Words
from drills.diagrams.picture_pdf import pdf_bytes
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line_pages import line_pages
from drills.lines.line_stretch import stretch_words, with_stretch
from drills.neck.neck import Neck
from drills.neck.tuning import parse_tuning
from drills.shapes.finder import ShapeFinder
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines

A4 = (595.28, 841.89)  # ISO 216: 210 x 297 mm in points
LETTER = (612.0, 792.0)  # ANSI/ASME Y14.1: 8.5 x 11 inches
PAGES = {
    "blues": "F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7",
    "two in a bar": "| Bbmaj7 G7 | Cm7 F7 | Dm7b5 G7alt | N.C. |",
    "twelve eight": "metre: 12/8\n| Ebmaj7 | Abmaj7 Abm6 |",
}


@cache
def lines_over(text, neck=None):
    """All lines of the nine written stages, and one in triplets; made once for each page and neck."""
    neck = neck or Neck()
    page = parse_changes(text)
    given = stage_material(page, ShapeFinder(neck))
    found = [line for number in range(1, 10) for line in stage_lines(number, given).lines]
    return [*found, etude_line(page, neck, EtudeOptions(density="triplets")).line]


def frets_drawn(page) -> list[tuple[float, float, str]]:
    """(height, x, text) of every number that stands on a string."""
    numbers = {part.y for part in page.parts if isinstance(part, Words) and part.size == 7.0}
    lines = {part.y1 for part in page.parts if isinstance(part, Stroke) and part.y1 == part.y2 and part.grey < 1}
    # A string has its number at its left end; a line of the staff has none.
    heights = {line for line in lines if any(0 < number - line < 4.5 for number in numbers)}
    return [
        (part.y, part.x, part.text)
        for part in page.parts
        if isinstance(part, Words)
        and part.text.isdigit()
        and part.anchor == "middle"
        and any(0 < part.y - height < 4.5 for height in heights)
    ]


@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("name", PAGES)
def test_every_note_is_drawn_once_and_nothing_is_cut(name, size):
    """As many numbers on strings as the lines have notes, with the same frets; all inside the margins."""
    lines = lines_over(PAGES[name])
    pages = line_pages(lines, size, title="A page", idea="Slowly.")
    drawn = sorted(int(text) for page in pages for _, _, text in frets_drawn(page))
    assert drawn == sorted(note.fret for line in lines for note in line.notes)
    for page in pages:
        assert (page.wide, page.high) == size
        for part in page.parts:
            if isinstance(part, Words):
                assert 30 <= part.x <= size[0] - 30 and 30 <= part.y <= size[1] - 30
            elif isinstance(part, Stroke):
                assert max(part.x1, part.x2) <= size[0] - 39 and part.y2 <= size[1] - 39


def test_each_fret_stands_on_its_string():
    """In one row the height of a number tells its string, counted from the strings' own numbers at the left."""
    (line,) = stage_lines(3, stage_material(parse_changes("Cm7 F7 Bbmaj7"), ShapeFinder(Neck()))).lines
    (page,) = line_pages([line], A4, title="ii-V-I")
    rows = {int(part.text): part.y for part in page.parts if isinstance(part, Words) and part.size == 7.0}
    found = []
    for height, x, text in frets_drawn(page):
        string = min(rows, key=lambda each: abs(rows[each] - height))
        found.append((x, string, int(text)))
    assert [place[1:] for place in sorted(found)] == [(note.string, note.fret) for note in line.notes]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
def test_a_pdf_reader_finds_chords_frets_and_titles(tmp_path):
    """Poppler reads every chord symbol and every title back from the PDF, and all fonts are embedded."""
    lines = lines_over(PAGES["two in a bar"])
    path = tmp_path / "page.pdf"
    path.write_bytes(pdf_bytes(line_pages(lines, A4, title="Own changes")))
    text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    for line in lines:
        assert line.title in text
    for symbol in ("B♭maj7", "Dm7♭5", "G7alt", "N.C."):
        assert text.count(symbol) >= len(lines)
    fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout
    assert re.findall(r" (yes|no) +(?:yes|no) +(?:yes|no) ", fonts) and " no  " not in fonts.split("\n", 2)[2]


def test_the_foot_says_tuning_and_signs():
    """Open pitches apart, as guitarists write them (common practice), and what the signs under the staff mean."""
    (page,) = line_pages(lines_over("Cm7 F7")[:1], A4, title="Foot")
    words = [part.text for part in page.parts if isinstance(part, Words)]
    assert "Tuning E2 A2 D3 G3 B3 E4 · a dot holds, r rests" in words


def test_other_instruments_and_remarks():
    """A bass has four strings on the page; a remark about a shape laid elsewhere is printed."""
    bass = Neck(parse_tuning("E1 A1 D2 G2"), scale_mm=864, reach_limit_mm=150)
    (page,) = line_pages(lines_over("Cm7 F7", bass)[:1], A4, title="Bass")
    assert {part.text for part in page.parts if isinstance(part, Words) and part.size == 7.0} == set("1234")
    short = stage_material(parse_changes("Em7 A7"), ShapeFinder(Neck(top_fret=12)))
    (page,) = line_pages(stage_lines(3, short).lines, A4, title="Short neck")
    assert any("does not fit" in part.text for part in page.parts if isinstance(part, Words))


def test_rows_end_at_one_edge_and_a_short_last_row_has_bars_as_wide():
    """Every row but the last ends at one edge, whatever its bars hold; eight bars leave a shorter last row, whose bars
    are as wide as the mean of those above it."""
    line = etude_line(parse_changes("Dm7 G7 Cmaj7 Cmaj7 Fm7 Cm6 Dm7 G7"), Neck()).line
    (page,) = line_pages([line], A4, title="Eight bars")
    strokes = [part for part in page.parts if isinstance(part, Stroke) and part.grey < 1]
    ends = {part.y1: part.x2 for part in strokes if part.y1 == part.y2 and part.x2 - part.x1 > 100}
    rows = sorted(set(ends.values()), reverse=True)
    assert len(rows) == 2 and rows[0] == pytest.approx(A4[0] - 40, abs=0.1)
    # Staff and tablature of the last row, five lines and six strings, end earlier.
    assert sorted(ends.values()).count(rows[1]) == 11 and max(ends) in {y for y, x in ends.items() if x == rows[1]}
    left = 40 + 14
    clef = 30  # what stands before the notes of a row, about
    assert (rows[1] - left - clef) / 2 == pytest.approx((rows[0] - left - clef) / 3, rel=0.08)


@pytest.mark.parametrize(("low", "fingers", "told"), [(1, (1, 4), True), (8, (1, 4), False), (1, (1, 1), False)])
def test_a_stretch_is_told_as_beside_a_shape(low, fingers, told):
    """First and fourth finger four frets apart are 126 mm at fret 1 and 84 mm at fret 8 of a 648 mm scale (equal
    temperament); one finger that slides does not stretch the hand."""
    line = etude_line(parse_changes("Cm7 F7"), Neck(), EtudeOptions(density="eighths")).line
    pair = [
        replace(note, string=3, fret=fret, finger=finger)
        for note, fret, finger in zip(line.notes[:2], (low, low + 4), fingers, strict=True)
    ]
    reach = 648 * (2 ** (-low / 12) - 2 ** (-(low + 4) / 12))
    words = stretch_words(replace(line, notes=tuple(pair)), Neck())
    assert words == (
        f"A stretch of {reach:.0f} mm in bar 1, frets 1 to 5: learn it higher up first, and stop if it hurts" * told
    )
    assert with_stretch(replace(line, notes=tuple(pair)), Neck()).remarks == (*line.remarks, *[words] * told)
    struck = tuple(replace(note, start=pair[0].start) for note in pair)
    assert bool(stretch_words(replace(line, notes=struck), Neck())) == (low == 1)
