"""The printed staff of a line: what stands on it is the line, as another program reads the same line's MusicXML."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pdfplumber
import pytest
from music21 import converter, harmony

from drills.changes.changes import Metre
from drills.changes.changes_reading import parse_changes
from drills.diagrams.picture import MusicSign, Picture, Words
from drills.diagrams.picture_pdf import pdf_bytes
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line import Line, LineNote
from drills.lines.line_pages import line_pages
from drills.lines.notation import bar_signs
from drills.lines.score_xml import line_musicxml
from drills.lines.staff_drawing import StaffDrawing, staff_bar
from drills.neck.neck import Neck
from drills.neck.tuning import parse_tuning
from drills.shapes.finder import ShapeFinder
from drills.theory.note import Pitch
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines
from tests.paper.pages import bounds
from tests.tunes.staff_reading import HEADS, ink, read_pages, threes

A4, LETTER = (595.28, 841.89), (612.0, 792.0)
BASS = Neck(parse_tuning("E1 A1 D2 G2"), scale_mm=864, reach_limit_mm=150)
UKULELE = Neck(parse_tuning("G4 C4 E4 A4"), scale_mm=380, top_fret=12)
BLUES = "key: F\nfeel: swing\n| F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | D7b9 |"
LINES = {
    "phrases over a blues": (BLUES, "phrases", Neck()),
    "triplets": ("key: Ab\n| Bbm7 | Eb7b9 | Abmaj7 | F7 |", "triplets", Neck()),
    "a waltz in a minor key": ("key: C# minor\nmetre: 3/4\n| D#m7b5 | G#7 | C#m6 | C#m6 |", "phrases", Neck()),
    "five in a bar": ("key: D\nmetre: 5/4\n| Em7 A7 | Dmaj7 | Em7b5 A7 | Dm6 |", "eighths", Neck()),
    "twelve eighths": ("key: Eb\nmetre: 12/8\n| Fm7 | Bb7 | Ebmaj7 |", "eighths", Neck()),
    "a key and a metre that change": (
        "key: A\n[A]\n| Bm7 E7 | Amaj7 |\n[B] key: Ab\nmetre: 3/4\n| Bbm7 | Eb7 | Abmaj7 |", "phrases", Neck()),
    "a bass": ("key: G\n| Am7 | D7 | Gmaj7 | % |", "phrases", BASS),
    "a ukulele": ("key: C\n| Dm7 | G7 | Cmaj7 | % |", "space", UKULELE),
}  # fmt: skip


@cache
def etude(name: str) -> Line:
    """A line of the table."""
    text, density, neck = LINES[name]
    return etude_line(parse_changes(text), neck, EtudeOptions(density=density, difficulty=3)).line


def heard(line: Line) -> list[tuple[int, str, int, tuple[str, int, int] | None]]:
    """Bar, type, dots and pitches of the line's staff in MusicXML, as music21 reads it; a chord's from the lowest."""
    found = []
    for number, measure in enumerate(converter.parseData(line_musicxml(line)).parts[0].getElementsByClass("Measure")):
        for each in measure.notesAndRests:
            if isinstance(each, harmony.Harmony):
                continue
            if each.isRest:
                full = each.duration.quarterLength == measure.barDuration.quarterLength
                found.append((number, "whole" if full else each.duration.type, 0 if full else each.duration.dots, None))
                continue
            for pitch in sorted(each.pitches, key=lambda one: one.diatonicNoteNum):
                named = (pitch.step, int(pitch.alter), pitch.octave)
                found.append((number, each.duration.type, each.duration.dots, named))
    return found


@cache
def pages_of(name: str, size: tuple[float, float] = A4) -> list[Picture]:
    """Its pages on paper of a size."""
    return line_pages([etude(name)], size, title="Staff")


@pytest.mark.parametrize("name", LINES)
def test_a_staff_is_read_back_as_the_line(name):
    """Every head, rest, dot and accidental means what music21 reads in the MusicXML of the same line, bar by bar."""
    line = etude(name)
    pages = pages_of(name)
    read = [(sign.bar, sign.type, sign.dots, sign.pitch) for sign in read_pages(pages)]
    assert read == heard(line)
    beats = {edge // 1 for note in line.notes for edge in (note.start, note.end) if edge.denominator == 3}
    assert sum(map(threes, pages)) == len(beats)


def test_chords_of_a_stage_are_read_back_too():
    """Notes struck together stand on one stem: the guide tones of a tune, two at a time."""
    given = stage_material(parse_changes("key: Bb\n| Cm7 F7 | Bbmaj7 G7 |"), ShapeFinder(Neck()))
    lines = [line for number in range(1, 10) for line in stage_lines(number, given).lines]
    together = [line for line in lines if any(len(group) > 1 for group in line.struck())]
    assert together
    for line in together:
        read = read_pages(line_pages([line], LETTER, title="Staff"))
        assert [(sign.bar, sign.type, sign.dots, sign.pitch) for sign in read] == heard(line)


@pytest.mark.parametrize("name", LINES)
def test_nothing_on_a_staff_runs_into_anything(name):
    """No head, rest or accidental touches another; none reaches a word of another kind; all lie inside the margins."""
    for size in (A4, LETTER):
        for page in pages_of(name, size):
            signs = [part for part in page.parts if isinstance(part, MusicSign)]
            words = [part for part in page.parts if isinstance(part, Words)]
            boxes = [ink(sign) for sign in signs]
            for number, box in enumerate(boxes):
                others = [*boxes[:number], *boxes[number + 1 :], *map(bounds, words)]
                assert not [other for other in others if _overlap(box, other)]
                assert box[0] >= 40 and box[2] <= size[0] - 39 and box[1] >= 40 and box[3] <= size[1] - 40


def _overlap(one, other) -> bool:
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across > 0.3 and down > 0.3


def test_a_pdf_reader_finds_every_head_where_it_was_drawn():
    """pdfplumber reads the heads of the music font at the same places, and the font is embedded."""
    pages = pages_of("a bass")
    with pdfplumber.open(io.BytesIO(pdf_bytes(pages))) as pdf:
        for page, drawn in zip(pdf.pages, pages, strict=True):
            chars = [c for c in page.chars if "NotoMusic" in c["fontname"] and c["text"] in HEADS]
            signs = [part for part in drawn.parts if isinstance(part, MusicSign) and part.text in HEADS]
            assert [c["text"] for c in chars] == [sign.text for sign in signs]
            for char, sign in zip(chars, signs, strict=True):
                assert (char["matrix"][4], page.height - char["matrix"][5]) == pytest.approx((sign.x, sign.y), abs=0.02)


def test_a_page_may_be_tablature_alone():
    """Without a staff there is no sign of notation, and as many frets."""
    (page,) = line_pages([etude("a bass")], A4, title="Staff", staff=False)
    assert not any(isinstance(part, MusicSign) for part in page.parts)
    frets, with_staff = (
        [part.text for each in pages for part in each.parts if isinstance(part, Words) and part.size == 9.0]
        for pages in ([page], pages_of("a bass"))
    )
    assert frets == with_staff == [str(note.fret) for note in etude("a bass").notes]


def _note(start: Fraction, length: Fraction) -> LineNote:
    return LineNote(start, length, 1, start + 1, 1, 0, 0, Pitch.parse("E4"))


@pytest.mark.parametrize(("length", "shared"), [("4", 0.0), ("2", 0.72), ("1", 0.72)])
@pytest.mark.parametrize("names", [("E4", "F4"), ("B2", "C3"), ("C4", "D4", "E4")])
def test_heads_a_second_apart_stand_side_by_side(length, shared, names):
    """On the two sides of one stem, which they share; without a stem they only touch (Gould 2011)."""
    chord = tuple(replace(_note(Fraction(0), Fraction(length)), pitch=Pitch.parse(name)) for name in names)
    drawing = StaffDrawing("G8")
    bar = staff_bar((chord,), parse_changes("| C |").bars[0], Fraction(0), None)
    drawing.bar(bar, lambda at: 50.0 + 40 * float(at), 100.0, 40.0)
    heads = sorted(ink(part) for part in drawing.parts if isinstance(part, MusicSign) and part.text in HEADS)
    assert len(heads) == len(names)
    edges = sorted({(round(left, 2), round(right, 2)) for left, _, right, _ in heads})
    assert len(edges) == 2 and edges[0][1] - edges[1][0] == pytest.approx(shared, abs=0.02)


@pytest.mark.parametrize(
    ("metre", "start", "length", "lengths"),
    [
        ((4, 4), "1/2", "1", ["1"]),  # an eighth's rest and a plain quarter off the beat
        ((4, 4), "3/2", "1", ["1/2", "1/2"]),  # the middle of the bar stays visible
        ((4, 4), "1/2", "3/2", ["1/2", "1"]),
        ((4, 4), "0", "3", ["3"]),
        ((4, 4), "1", "2", ["2"]),
        ((4, 4), "1", "3/2", ["1", "1/2"]),
        ((4, 4), "2/3", "4/3", ["1/3", "1"]),
        ((3, 4), "1/2", "5/2", ["1/2", "2"]),
        ((12, 8), "1/2", "2", ["1", "1"]),
        ((4, 4), "3", "1", ["1"]),
    ],
)
def test_a_note_is_cut_where_beats_must_be_seen(metre, start, length, lengths):
    """Gould, Behind Bars (2011): the middle of a common bar is shown, and so is the beat after a note off the beat."""
    note = _note(Fraction(start), Fraction(length))
    signs = bar_signs(((note,),), Fraction(0), Metre(*metre))
    assert [sign.value.length for sign in signs if sign.struck] == [Fraction(each) for each in lengths]
    assert sum(sign.value.length for sign in signs) == Metre(*metre).quarters


@pytest.mark.parametrize(
    ("metre", "start", "rests"),
    [((4, 4), "3", ["2", "1"]), ((4, 4), "2", ["2"]), ((3, 4), "2", ["1", "1"]), ((4, 4), "7/2", ["2", "1", "1/2"]),
     ((6, 8), "5/2", ["3/2", "1"])],
)  # fmt: skip
def test_rests_show_the_beats(metre, start, rests):
    """A rest of two beats stands only on the halves of a common bar; others are cut at each beat (Gould 2011)."""
    full = Metre(*metre).quarters
    signs = bar_signs(((_note(Fraction(start), full - Fraction(start)),),), Fraction(0), Metre(*metre))
    assert [sign.value.length for sign in signs if not sign.struck] == [Fraction(each) for each in rests]
