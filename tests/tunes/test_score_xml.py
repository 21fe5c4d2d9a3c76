"""MusicXML of lines: valid by the standard's own schema, full bars, tablature that sounds its pitches, read back by
other readers."""

from __future__ import annotations

import importlib.util
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
import xmlschema
from music21 import chord as m21chord
from music21 import converter, harmony

from drills.changes.changes_reading import parse_changes, read_changes
from drills.changes.lead_sheet import read_musicxml
from drills.configuration.shipped import decks_folder
from drills.harmony.harmony import analyse
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.lead_sheet_xml import changes_musicxml
from drills.lines.notation import note_values
from drills.lines.score_xml import line_musicxml
from drills.neck.neck import Neck
from drills.neck.tuning import parse_tuning
from drills.shapes.finder import ShapeFinder
from drills.theory.chord_kinds import degrees_of_kind, kind_and_degrees
from drills.theory.quality import shipped_qualities
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines

FINDER = ShapeFinder(Neck())
PAGES = (
    "Cm7 F7 Bbmaj7",
    "key: C minor\nmetre: 3/4\ntempo: 96\n| Dm7b5 | G7b9 | Cm6 | N.C. |",
    "key: F#\n| F#maj7 A#m7 | G#m7 C#7sus4 | metre: 5/4 | F#6 |",
    "metre: 12/8\n| Bb7 | Eb9 Edim7 | Bb13 G7alt/B |",
    "metre: 7/8\nkey: Eb\n| Ebmaj7 | Abm6 |",
)
NATURAL = dict(zip("CDEFGAB", (0, 2, 4, 5, 7, 9, 11), strict=True))


@pytest.fixture(scope="module")
def schema():
    """The MusicXML 4.0 schema, as the W3C published it."""
    root = Path(importlib.util.find_spec("musicxml").origin).parent
    return xmlschema.XMLSchema(str(root / "generate_classes" / "musicxml_4_0.xsd"), allow="local")


def lines_of(text, finder=FINDER, stages=range(1, 10)):
    """Every line of the nine written stages over a page, or of some of them."""
    given = stage_material(parse_changes(text.replace("| metre", "|\nmetre").replace("5/4 |", "5/4\n|")), finder)
    return [line for number in stages for line in stage_lines(number, given).lines]


def midi_of(pitch) -> int:
    """MIDI key of a MusicXML pitch."""
    alter = int(pitch.findtext("alter", "0"))
    return 12 * (int(pitch.findtext("octave")) + 1) + NATURAL[pitch.findtext("step")] + alter


def check_meaning(text: str, line) -> None:
    """What no schema sees: every bar is full on both staves, and every fret sounds its pitch."""
    root = ElementTree.fromstring(text.encode())
    divisions = int(root.find(".//divisions").text)
    opens = {}
    strings = int(root.findtext(".//staff-lines"))
    for tuning in root.iter("staff-tuning"):
        midi = 12 * (int(tuning.findtext("tuning-octave")) + 1) + NATURAL[tuning.findtext("tuning-step")]
        opens[strings + 1 - int(tuning.get("line"))] = midi + int(tuning.findtext("tuning-alter", "0"))
    beats = unit = None
    sounded = []
    at = Fraction(0)
    for measure in root.iter("measure"):
        if measure.find("attributes/time") is not None:
            beats, unit = (int(measure.findtext(f"attributes/time/{tag}")) for tag in ("beats", "beat-type"))
        full = Fraction(4 * beats, unit)
        sums = {"1": Fraction(0), "2": Fraction(0)}
        for note in measure.iter("note"):
            length = Fraction(int(note.findtext("duration")), divisions)
            staff = note.findtext("staff")
            start = sums[staff]
            if note.find("chord") is None:
                sums[staff] += length
            else:
                start -= length
            if note.find("rest") is not None:
                continue
            key = midi_of(note.find("pitch"))
            if staff == "2":
                technical = note.find("notations/technical")
                assert opens[int(technical.findtext("string"))] + int(technical.findtext("fret")) == key
                if not [tie for tie in note.findall("tie") if tie.get("type") == "stop"]:
                    sounded.append((at + start, key))
            if note.find("type") is not None:
                assert length == shown_length(note)
        assert sums == {"1": full, "2": full}
        assert int(measure.findtext("backup/duration")) == full * divisions
        at += full
    assert sounded == [(note.start, note.midi) for note in line.notes]


def shown_length(note) -> Fraction:
    """Quarter notes a note's type, dots and tuplet say."""
    names = ("whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th")
    length = Fraction(4, 2 ** names.index(note.findtext("type")))
    dots = len(note.findall("dot"))
    length *= 2 - Fraction(1, 2**dots)
    change = note.find("time-modification")
    if change is not None:
        length *= Fraction(int(change.findtext("normal-notes")), int(change.findtext("actual-notes")))
    return length


@pytest.mark.parametrize("page", range(len(PAGES)))
def test_every_stage_is_valid_and_means_what_it_says(schema, page):
    """Each stage over each page validates by the XSD, fills its bars and sounds its tablature."""
    for line in lines_of(PAGES[page]):
        text = line_musicxml(line)
        assert [error.reason for error in schema.iter_errors(ElementTree.fromstring(text.encode()))] == []
        check_meaning(text, line)


def test_triplets_and_other_tunings(schema):
    """Triplets, a seven-string and a bass are written as truly."""
    for tuning in ("B1 E2 A2 D3 G3 B3 E4", "E1 A1 D2 G2"):
        neck = Neck(parse_tuning(tuning), reach_limit_mm=150)
        line = etude_line(parse_changes("Cm7 F7 Bbmaj7"), neck, EtudeOptions(density="triplets")).line
        text = line_musicxml(line)
        assert list(schema.iter_errors(ElementTree.fromstring(text.encode()))) == []
        check_meaning(text, line)


def test_lengths_are_split_into_signs_that_exist():
    """Five quarters are a whole and a quarter tied; a third is a triplet eighth; a fifth has no sign and says so."""
    assert [value.length for value in note_values(Fraction(5))] == [4, 1]
    assert [(value.type, value.triplet) for value in note_values(Fraction(1, 3))] == [("eighth", True)]
    assert [(value.type, value.dots) for value in note_values(Fraction(7, 2))] == [("half", 2)]
    assert [value.type for value in note_values(Fraction(1, 5))] == [""]


@pytest.mark.parametrize("text", ["Cm7 F7 Bbmaj7", "Dm7b5 G7b9 Cm6", "key: A\n| F#m7 B7 | E7 | Amaj7 |"])
def test_music21_hears_the_same_notes_and_chord_tones_on_strong_beats(tmp_path, text):
    """Read by music21, the line has our pitches at our times, and on beats 1 and 3 only tones of the chord symbol."""
    for seed in range(3):
        line = etude_line(parse_changes(text), Neck(), EtudeOptions(difficulty=3, seed=seed)).line
        path = tmp_path / f"line{seed}.musicxml"
        path.write_text(line_musicxml(line), encoding="utf-8")
        score = converter.parse(path)
        staff = score.parts[0].flatten()
        notes = [note for note in staff.notes if not isinstance(note, harmony.Harmony)]
        assert [(Fraction(note.offset), Fraction(note.quarterLength), note.pitch.midi) for note in notes] == [
            (note.start, note.length, note.midi) for note in line.notes
        ]
        assert [note.pitch.name.replace("-", "b") for note in notes] == [note.pitch.note.name for note in line.notes]
        symbols = list(staff.getElementsByClass(harmony.ChordSymbol))
        for note in notes:
            if note.beat in (1, 3):
                under = max((each for each in symbols if each.offset <= note.offset), key=lambda each: each.offset)
                assert note.pitch.pitchClass in {pitch.pitchClass for pitch in under.pitches}


def test_music21_reads_grips_as_chords(tmp_path):
    """The grips of stage 2 are chords of four notes to another reader."""
    line = stage_lines(2, stage_material(parse_changes("Cm7 F7 Bbmaj7"), FINDER)).lines[0]
    path = tmp_path / "grips.musicxml"
    path.write_text(line_musicxml(line), encoding="utf-8")
    found = [each for each in converter.parse(path).parts[0].flatten().getElementsByClass(m21chord.Chord)]
    grips = [each for each in found if not isinstance(each, harmony.Harmony)]
    assert [sorted(pitch.midi for pitch in grip.pitches) for grip in grips] == [
        sorted(note.midi for note in group) for group in line.struck()
    ]


@pytest.mark.parametrize("page", range(len(PAGES)))
def test_our_own_reader_reads_the_changes_back(tmp_path, page):
    """Chords, metres and keys written beside a line are read back as they were."""
    line = lines_of(PAGES[page], stages=[1])[0]
    path = tmp_path / "line.musicxml"
    path.write_text(line_musicxml(line), encoding="utf-8")
    read = read_musicxml(path)
    assert [bar.metre for bar in read.bars] == [bar.metre for bar in line.changes.bars]

    def plain(changes):
        return [
            (bar.number, slot.beat, slot.chord and (slot.chord.root, slot.chord.quality.name, slot.chord.bass))
            for bar, slot in changes.slots
        ]

    assert plain(read) == plain(line.changes)


@pytest.mark.parametrize("quality", list(shipped_qualities()), ids=lambda quality: quality.name)
def test_every_quality_has_a_kind_that_means_it(quality):
    """Kind and degrees of each quality give back its degrees, with the standard's own kinds only."""
    kind, degrees = kind_and_degrees(quality.degrees)
    found = degrees_of_kind(kind, list(degrees))
    labels = {("#" * alter if alter > 0 else "b" * -alter) + str(number) for number, alter in found.items()}
    assert labels == set(quality.degrees)


def test_seventh_suspended_chord_is_written_for_every_reader():
    """7sus4 is a dominant without its 3rd and with a 4th, which other readers take rightly."""
    assert kind_and_degrees(("1", "4", "5", "b7")) == ("dominant", (("subtract", 3, 0), ("add", 4, 0)))


def test_accidentals_are_printed_once_and_cancelled():
    """In C, the Eb of Cm7 is printed flat; in Bb it needs no sign."""
    line = stage_lines(3, stage_material(parse_changes("key: C\n| Cm7 | Cmaj7 |"), FINDER)).lines[0]
    signs = [element.text for element in ElementTree.fromstring(line_musicxml(line).encode()).iter("accidental")]
    assert signs == ["flat", "flat"]
    line = stage_lines(3, stage_material(parse_changes("key: Bb\n| Cm7 | Cmaj7 |"), FINDER)).lines[0]
    signs = [element.text for element in ElementTree.fromstring(line_musicxml(line).encode()).iter("accidental")]
    assert signs == ["natural", "natural"]


@pytest.mark.parametrize(
    ("head", "swing"),
    [("feel: swing\ntempo: 132\n", "2 1 eighth"), ("feel: swing\n", "2 1 eighth"), ("feel: straight\n", "straight"),
     ("feel: swing\nmetre: 6/8\n", "straight"), ("tempo: 132\n", None)],
)  # fmt: skip
def test_tempo_and_swing_are_in_the_file(schema, head, swing):
    """The tempo mark, and MusicXML 4.0's swing element with two thirds and one third of a beat; metres in eighths are
    straight. Valid by the XSD, and music21 reads the tempo."""
    line = stage_lines(1, stage_material(parse_changes(f"{head}| Cm7 | F7 |"), FINDER)).lines[0]
    text = line_musicxml(line)
    root = ElementTree.fromstring(text.encode())
    assert list(schema.iter_errors(root)) == []
    found = root.find(".//sound/swing")
    shown = None if found is None else " ".join(child.text or child.tag for child in found)
    assert shown == swing
    marks = [
        mark.number for mark in converter.parse(text, format="musicxml").recurse().getElementsByClass("MetronomeMark")
    ]
    # music21 makes a part of each staff, and repeats the mark in both.
    assert set(filter(None, marks)) == ({132} if "tempo" in head else set())


@pytest.mark.parametrize("path", sorted(decks_folder().glob("*.changes")), ids=lambda path: path.stem)
def test_a_page_written_as_a_lead_sheet_reads_back_to_the_same_bars(path: Path, tmp_path: Path, schema) -> None:
    """Chords, beats, metres, keys, sections, tempo and readings of every page that ships; the file keeps the schema."""
    page = read_changes(path)
    file = tmp_path / "page.musicxml"
    file.write_text(changes_musicxml(page), encoding="utf-8")
    schema.validate(file.read_text(encoding="utf-8"))
    read = read_musicxml(file)
    assert not read.remarks
    assert (read.title, read.tempo) == (page.title, page.tempo)
    assert [(bar.metre, bar.key, bar.section) for bar in read.bars] == [
        (bar.metre, bar.key, bar.section) for bar in page.bars
    ]
    assert [[(slot.beat, slot.beats, slot.chord) for slot in bar.chords] for bar in read.bars] == [
        [(slot.beat, slot.beats, slot.chord) for slot in bar.chords] for bar in page.bars
    ]
    assert list(map(str, analyse(read))) == list(map(str, analyse(page)))
