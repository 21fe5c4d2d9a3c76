"""Chords written alt: their fifth is lowered or raised (common practice), and nothing plays or draws a perfect one."""

import pytest

from drills.changes.changes_reading import parse_changes
from drills.diagrams.answer import remarks
from drills.harmony.chord_timeline import Tones, spans_of
from drills.harmony.neck_map import map_lines, map_speech, neck_maps
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line import MODE_NOTE
from drills.lines.note_reasons import reason
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.shapes.answers import shapes_named
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.altered_dominant import altered_fifth_words, is_altered_dominant, with_altered_fifth
from drills.theory.mode import mode_named
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines

FINDER = ShapeFinder(Neck())
PAGES = ("| Dm7b5 | G7alt | Cm6 | Cm6 |", "| F#m7b5 B7alt | Em6 | C7alt | Fm7 |")


def plain_fifths(line):
    """(beat, role) of each note that is the perfect fifth of an altered dominant it sounds over."""
    spans = [span for span in spans_of(line.changes) if span.chord is not None and is_altered_dominant(span.chord)]
    assert spans
    return [
        (note.beat, note.role)
        for note in line.notes
        for span in spans
        if span.start <= note.start + note.early < span.end and (note.midi - span.sounding.root.pitch_class) % 12 == 7
    ]


def altered(text):
    """A chord as a page writes it."""
    return parse_chord(text, reduce=True)


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("stage", [2, 3, 4, 5, 6, "octaves", "cells", "ninths", "passing"])
def test_no_stage_plays_a_perfect_fifth_over_an_altered_dominant(stage, page):
    """Arpeggios, grips, connections and figures of four notes keep to 1 3 #5 b7 or to the altered scale."""
    for line in stage_lines(stage, stage_material(parse_changes(page), FINDER)).lines:
        assert plain_fifths(line) == []
        arpeggios = line.kind in ("grips", "spell up", "spell down", "connect", "octaves")
        assert any("is no note of" in remark for remark in line.remarks) == arpeggios


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("difficulty", [1, 2, 3])
def test_no_line_puts_a_perfect_fifth_on_a_beat_of_an_altered_dominant(page, difficulty):
    """A chromatic note may pass through it between beats; with chord tones and the mode alone it is not there."""
    for seed in range(3):
        line = etude_line(parse_changes(page), FINDER.neck, EtudeOptions(seed=seed, difficulty=difficulty)).line
        found = plain_fifths(line)
        assert all(beat.denominator > 1 for beat, _ in found)
        assert difficulty == 3 or not found


def test_a_shape_says_that_its_fifth_is_not_the_chord_s():
    """G7alt is drawn as G7 (rule D1), whose D is pointed out; G7 and G7b9 have their fifth."""
    shape = FINDER.find(altered("G7alt"), ARPEGGIO, parse_strings("543"))
    assert remarks(shape)[-1] == "The plain 5th, D, is no note of G7alt: pass over it, or play G7#5."
    for text in ("G7", "G7b9", "G13", "G7#11"):
        assert not altered_fifth_words(altered(text)) and with_altered_fifth(altered(text)) == altered(text)


def test_the_whole_neck_shows_the_raised_fifth():
    """G7 and G7alt have a map each; the altered one holds D# and no D, and says so on the screen and aloud."""
    plain, changed = neck_maps(parse_changes("| G7 | G7alt |"), Neck())
    assert {place.pitch.note.name for place in plain.places} == {"G", "B", "D", "F"}
    assert {place.pitch.note.name for place in changed.places} == {"G", "B", "D#", "F"}
    said = "Shown as G7#5: the plain 5th, D, is no note of G7alt."
    assert map_lines(changed)[1] == said and map_speech(changed)[1] == said
    assert not any("plain" in line for line in [*map_lines(plain), *map_speech(plain)])


ALTERED_TONES = ["G", "Ab", "Bb", "B", "Db", "D#", "F"]
"""Root, 3rd and b7, and b9, #9, #11 and b13, as the altered scale spells them."""


@pytest.mark.parametrize("form", ["scale", "scale-three-per-string"])
def test_the_scale_of_an_altered_dominant_is_the_altered_one(form):
    """No A, D or E, which the Mixolydian of the plain seventh chord has."""
    found, _ = shapes_named(FINDER, "G7alt", form, None, shipped_qualities())
    assert {note.pitch.note.name for shape in found for note in shape.notes} == set(ALTERED_TONES)
    plain, _ = shapes_named(FINDER, "G7", form, None, shipped_qualities())
    assert {note.pitch.note.name for shape in plain for note in shape.notes} == set("GABCDEF")


def test_the_bass_of_an_altered_slash_chord_is_left_to_the_band_over_its_scale_too():
    """As over G7/B: what is not played is said."""
    (shape, *_), _ = shapes_named(FINDER, "G7alt/B", "scale", "543", shipped_qualities())
    assert shape.form.id == "scale-altered"
    assert remarks(shape)[-1] == "The bass note B is left to the band: the shape is G7#5."


@pytest.mark.parametrize(
    ("text", "mode"),
    [
        ("G7", "Mixolydian"), ("G13", "Mixolydian"), ("G7#11", "Lydian dominant"),
        ("G7b9", "Phrygian dominant"), ("G7#9", "half-whole diminished"), ("Gmaj9", "Ionian"),
        ("Gmaj7#11", "Lydian"), ("Gm9", "Dorian"), ("G7alt", "altered"),
    ],
)  # fmt: skip
def test_a_scale_holds_the_tensions_of_its_chord(text, mode):
    """The usual scale for an extended chord (common practice), as a page of changes reads it; nothing is left out."""
    found, _ = shapes_named(FINDER, text, "scale", "654", shipped_qualities())
    assert found[0].name == f"G {mode}"
    assert not any("left out" in line for line in remarks(found[0]))
    arpeggio, _ = shapes_named(FINDER, text, "arpeggio", "654", shipped_qualities())
    assert any("left out" in line for line in remarks(arpeggio[0])) == bool(arpeggio[0].chord.tensions)


@pytest.mark.parametrize("page", PAGES)
def test_altered_notes_are_called_ninths_and_thirteenths(page):
    """A dominant has a major third: what lies three semitones above its root is a sharp ninth (common practice)."""
    said = set()
    for seed in range(4):
        line = etude_line(parse_changes(page), FINDER.neck, EtudeOptions(seed=seed)).line
        spans = [span for span in spans_of(line.changes) if span.chord is not None and is_altered_dominant(span.chord)]
        for note in line.notes:
            for span in spans:
                if span.start <= note.start + note.early < span.end and note.role == MODE_NOTE:
                    word = {1: "flat ninth", 3: "sharp ninth", 8: "flat thirteenth"}.get(
                        (note.midi - span.sounding.root.pitch_class) % 12, ""
                    )
                    assert note.why.startswith(f"{word} of " if word else ""), note.why
                    said.add(word)
    assert "sharp ninth" in said


@pytest.mark.parametrize(
    ("mode", "said"),
    [("altered", "sharp ninth of C altered"), ("blues", "flat third of C blues"), ("Dorian", "flat third of C Dorian")],
)
def test_a_flat_third_is_a_ninth_only_where_the_scale_has_the_major_one(mode, said):
    """A blue third over a seventh chord is no tension (common practice)."""
    tones = Tones(parse_chord("C7"), mode_named(mode))
    assert reason(tones, 63, (tones, 64), (tones, 60), strong=False, new_chord=False).startswith(said)
