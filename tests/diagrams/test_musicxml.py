"""MusicXML 4.0 of shapes: valid, bars full, tablature that sounds the staff, frames that hold their grips."""

import importlib.util
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
import xmlschema
from music21 import converter

from drills.diagrams.musicxml import musicxml_text
from drills.neck.neck import Neck
from drills.neck.tuning import read_tunings
from drills.shapes.finder import ShapeFinder
from drills.theory.chord_kinds import kind_of
from drills.theory.quality import read_qualities, shipped_qualities
from tests.diagrams.shapes import FINDER, every_kind, shape_named

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@cache
def _schema():
    """The W3C schema of MusicXML 4.0, as the musicxml package carries it."""
    folder = Path(importlib.util.find_spec("musicxml").origin).parent / "generate_classes"
    return xmlschema.XMLSchema(str(folder / "musicxml_4_0.xsd"), allow="local")


def _errors(text):
    return [f"{error.path}: {error.reason}" for error in _schema().iter_errors(text)]


@cache
def _whole():
    return musicxml_text(every_kind(), FINDER.tuning, title="Every kind")


def _midi(note):
    pitch = note.find("pitch")
    alter = int(pitch.findtext("alter") or 0)
    return 12 * (int(pitch.findtext("octave")) + 1) + STEPS[pitch.findtext("step")] + alter


def test_every_form_of_every_quality_is_valid():
    """The schema finds nothing wrong with any quality as arpeggio and grip, nor with any other form."""
    seen = {}
    for shape in every_kind():
        form = shape.form.id if shape.form.kind != "scale" else "scale"
        usual = form == "arpeggio" or shape.form.kind == "grip"
        seen.setdefault((form, shape.chord.quality.name if usual else ""), shape)
    assert len(seen) > 40
    assert _errors(musicxml_text(list(seen.values()), FINDER.tuning)) == []


def test_the_schema_would_notice_a_wrong_kind():
    """The check above can fail: a kind that does not exist is refused."""
    text = musicxml_text([shape_named("C7", "543")], FINDER.tuning)
    assert _errors(text) == []
    assert _errors(text.replace(">dominant<", ">maj7<")) != []


@pytest.mark.parametrize("name", ["drop-d", "bass", "mandolin", "seven-low-b"])
def test_other_tunings_and_a_capo_are_valid_and_sound_right(name):
    """On any rising tuning the tablature's own strings sound the notes of the staff."""
    named = read_tunings()[name]
    finder = ShapeFinder(Neck(tuning=named.tuning, scale_mm=named.scale_mm, capo=2))
    text = musicxml_text([shape_named("Dm7", None, finder=finder)], finder.tuning, capo=2)
    assert _errors(text) == []
    root = ElementTree.fromstring(text)
    assert root.find(".//capo").text == "2"
    _check_tablature(root)


def _check_tablature(root):
    lines = {}
    for string in root.iter("staff-tuning"):
        alter = int(string.findtext("tuning-alter") or 0)
        step, octave = string.findtext("tuning-step"), int(string.findtext("tuning-octave"))
        lines[int(string.get("line"))] = 12 * (octave + 1) + STEPS[step] + alter
    checked = 0
    for note in root.iter("note"):
        technical = note.find("notations/technical")
        if technical is None or technical.find("string") is None:
            continue
        line = len(lines) + 1 - int(technical.findtext("string"))  # string 1 is the top line
        assert lines[line] + int(technical.findtext("fret")) == _midi(note)
        checked += 1
    assert checked


def test_tablature_sounds_what_the_staff_says():
    """Open string plus fret is the written pitch, for every note of every form."""
    _check_tablature(ElementTree.fromstring(_whole()))


def test_every_bar_is_full_on_both_staves():
    """Each staff of each bar lasts four quarters, and the second starts where the first did."""
    bars = list(ElementTree.fromstring(_whole()).iter("measure"))
    assert len(bars) > 300
    for bar in bars:
        lasts = {"1": 0, "2": 0}
        for note in bar.iter("note"):
            if note.find("chord") is None:
                lasts[note.findtext("staff")] += int(note.findtext("duration"))
        assert lasts == {"1": 4, "2": 4}
        assert bar.findtext("backup/duration") == "4"


def test_frames_hold_their_grips():
    """A frame's notes lie on its strings and inside its frets, each on a string of its own, and sound the grip."""
    frames = list(ElementTree.fromstring(_whole()).iter("frame"))
    grips = [shape for shape in every_kind() if shape.form.kind == "grip"]
    assert len(frames) == len(grips) > 20
    for frame, shape in zip(frames, grips, strict=True):
        first = int(frame.findtext("first-fret") or 1)
        last = first + int(frame.findtext("frame-frets")) - 1
        places = [(int(n.findtext("string")), int(n.findtext("fret"))) for n in frame.iter("frame-note")]
        assert places == [(note.string, note.fret) for note in shape.notes]
        assert all(fret == 0 or first <= fret <= last for _, fret in places)
        assert len({string for string, _ in places}) == len(places) <= int(frame.findtext("frame-strings"))


def test_music21_reads_back_pitches_and_chords(tmp_path):
    """music21, reading the file on its own, finds the sounding pitches and the chord tones of the symbols."""
    shapes = [shape_named(f"Eb{quality.symbol}", "543") for quality in shipped_qualities()]
    path = tmp_path / "shapes.musicxml"
    path.write_text(musicxml_text(shapes, FINDER.tuning), encoding="utf-8")
    score = converter.parse(path)
    staff = score.parts[0].recurse().getElementsByClass("Note")
    assert [note.pitch.midi for note in staff] == [note.midi for shape in shapes for note in shape.notes]
    symbols = list(score.parts[0].recurse().getElementsByClass("ChordSymbol"))
    assert len(symbols) == len(shapes)
    for symbol, shape in zip(symbols, shapes, strict=True):
        assert {pitch.pitchClass for pitch in symbol.pitches} == shape.chord.pitch_classes, shape.name


def test_a_players_own_quality_is_said_by_its_degrees(tmp_path):
    """A quality the format has no word for is `other`, with every tone as an added degree, and valid."""
    own = tmp_path / "qualities.toml"
    own.write_text(
        '[quality.own]\ndegrees = ["1", "2", "5", "7"]\nsemitones = [0, 2, 7, 11]\ntier = 3\n'
        'symbols = ["own"]\nmodes = []\nmet = "here"\n',
        encoding="utf-8",
    )
    quality = read_qualities(own).named("own")
    # From the dominant chord: a second as it is, a fifth as it is, a seventh raised.
    assert kind_of(quality) == ("other", (("add", 2, 0), ("add", 5, 0), ("add", 7, 1)))


def test_no_shape_is_refused():
    """Asking for a file of nothing is refused with what was expected."""
    with pytest.raises(ValueError, match="at least one shape"):
        musicxml_text([], FINDER.tuning)
