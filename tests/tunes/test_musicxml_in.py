"""MusicXML lead sheets, against music21's own reading of the same files, and against hostile files."""

from __future__ import annotations

import io
import warnings
import zipfile
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.changes.changes_reading import parse_changes
from drills.changes.chord_of_degrees import chord_of_degrees, symbol_of
from drills.changes.lead_sheet import read_musicxml
from drills.errors import LeadSheetError
from drills.lines.lead_sheet_xml import changes_musicxml
from drills.theory.chord_kinds import KINDS, degrees_of_kind
from drills.theory.interval import Interval, transpose_note
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests.tunes.changes_writing import write_changes


def music21_folder() -> Path:
    """Where music21 keeps its corpus and its own test files."""
    import music21

    return Path(music21.__file__).parent


SHEETS = (
    "corpus/leadSheet/berlinAlexandersRagtime.mxl",
    "corpus/leadSheet/fosterBrownHair.mxl",
    "corpus/demos/chord_realization_exercise.mxl",
    "musicxml/testNC.xml",
    "musicxml/testChordOffset.xml",
    "musicxml/lilypondTestSuite/71a-Chordnames.xml",
    "musicxml/lilypondTestSuite/71c-ChordsFrets.xml",
    "musicxml/lilypondTestSuite/71d-ChordsFrets-Multistaff.xml",
    "musicxml/lilypondTestSuite/46g-PickupMeasure-Chordnames-FiguredBass.xml",
)


def by_music21(path: Path) -> tuple[list[tuple[int, Fraction, int | None, int | None]], int]:
    """(bar, quarter in it, root, bass) of every symbol as music21 reads it, written order, and the bars played."""
    from music21 import converter, harmony, stream

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = converter.parse(path, forceSource=True)
        part = max(score.parts, key=lambda one: len(one.recurse().getElementsByClass(harmony.Harmony)))
        found = []
        for number, measure in enumerate(part.getElementsByClass(stream.Measure), 1):
            for symbol in measure.recurse().getElementsByClass(harmony.Harmony):
                place = (number, Fraction(symbol.getOffsetInHierarchy(measure)).limit_denominator(64))
                if isinstance(symbol, harmony.NoChord):
                    found.append((*place, None, None))
                else:
                    found.append((*place, symbol.root().pitchClass, symbol.bass().pitchClass))
        played = len(part.expandRepeats().getElementsByClass(stream.Measure))
    return found, played


@pytest.mark.parametrize("name", SHEETS)
def test_lead_sheets_are_read_as_music21_reads_them(name: str) -> None:
    """Root, bass, bar and beat of every symbol equal music21's, and so do the bars that repeats make."""
    path = music21_folder() / name
    theirs, played = by_music21(path)
    changes = read_musicxml(path)
    written = [bar for section in changes.sections for bar in section.bars]
    ours = {
        (number, (slot.beat - 1) * 4 / bar.metre.unit): slot
        for number, bar in enumerate(written, 1)
        for slot in bar.slots
    }
    assert theirs
    for bar, offset, root, bass in theirs:
        length = written[bar - 1].metre.quarters
        place = (bar, offset) if offset < length else (bar + 1, Fraction(0))
        while place not in ours:  # the same symbol twice running is one longer chord
            earlier = [key for key in ours if key[0] == place[0] and key[1] < place[1]]
            place = max(earlier)
        chord = ours[place].chord
        assert (chord is None) == (root is None)
        if chord is not None:
            assert chord.root.pitch_class == root
            assert (chord.bass or chord.root).pitch_class == bass
    assert len(changes.bars) == played
    assert parse_changes(write_changes(changes)) == changes


def test_every_kind_of_the_standard_sounds_as_music21_says() -> None:
    """Of the kinds in music21's file of all chord types, each keeps the pitch classes that kind names.

    Ours drop the 11th of a 13th (common practice) and give a chord without a third one; the
    four functional kinds and Tristan are left to the table.
    """
    from music21 import harmony

    checked = 0
    for kind, labels in KINDS.items():
        if kind in ("power", "Neapolitan", "Italian", "French", "German", "Tristan"):
            continue
        chord, exact = chord_of_degrees(Note.parse("C"), None, degrees_of_kind(kind, []))
        above = (transpose_note(chord.root, Interval.from_degree(tension)) for tension in chord.tensions)
        ours = chord.pitch_classes | {note.pitch_class for note in above}
        theirs = {pitch.pitchClass for pitch in harmony.ChordSymbol(root="C", kind=kind).pitches}
        if kind.endswith("13th"):
            theirs -= {5}
        assert exact and ours == theirs, kind
        assert len(labels.split()) == len(ours)
        checked += 1
    assert checked == 24


@pytest.mark.parametrize(
    ("kind", "changes", "symbol"),
    [
        ("major-sixth", [("add", 9, 0)], "C6/9"),
        ("dominant", [("add", 9, -1)], "C7b9"),
        ("dominant", [("add", 9, 1)], "C7#9"),
        ("dominant", [("add", 11, 1)], "C7#11"),
        ("dominant", [("alter", 5, -1)], "C7b5"),
        ("dominant", [("alter", 5, 1)], "C7#5"),
        ("dominant", [("subtract", 3, 0), ("add", 4, 0)], "C7sus4"),
        ("minor-seventh", [("alter", 5, -1)], "Cm7b5"),
        ("major-seventh", [("alter", 5, 1)], "Cmaj7#5"),
        ("diminished", [("add", 7, 1)], "CdimMaj7"),
        ("major", [("add", 9, 0)], "Cadd9"),
        ("suspended-fourth", [("add", 7, 0)], "C7sus4"),
        ("dominant-ninth", [], "C9"),
        ("dominant-13th", [], "C13"),
    ],
)
def test_degrees_alter_the_kind(kind: str, changes: list, symbol: str) -> None:
    """Adding counts from a dominant chord and altering from the kind (MusicXML 4.0, degree-type)."""
    chord, exact = chord_of_degrees(Note.parse("C"), None, degrees_of_kind(kind, changes))
    assert exact and chord == parse_chord(symbol, reduce=True)


ACTIONS = st.tuples(st.sampled_from(("add", "alter", "subtract", "?")), st.integers(1, 13), st.integers(-2, 2))


@given(st.sampled_from(sorted(KINDS)), st.lists(ACTIONS, max_size=4), st.sampled_from((None, "E", "Bb")))
def test_any_kind_and_degrees_make_a_chord_whose_symbol_reads_back(kind: str, changes: list, bass: str | None) -> None:
    """Whatever a file combines, the symbol written for it is read as the same chord."""
    under = None if bass is None else Note.parse(bass)
    chord, _ = chord_of_degrees(Note.parse("C"), under, degrees_of_kind(kind, changes))
    kept, text = symbol_of(chord)
    assert parse_chord(text, reduce=True) == kept
    assert (kept.root, kept.quality, kept.bass) == (chord.root, chord.quality, under)
    assert kept.quality in tuple(shipped_qualities())


def sheet(measures: str, head: str = "") -> bytes:
    """A small score-partwise around measures."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">'
        f'<score-partwise version="4.0">{head}<part-list><score-part id="P1"><part-name>x</part-name></score-part>'
        f'</part-list><part id="P1">{measures}</part></score-partwise>'
    ).encode()


def symbol(step: str, kind: str, more: str = "") -> str:
    """A harmony element."""
    return f"<harmony><root><root-step>{step}</root-step></root><kind>{kind}</kind>{more}</harmony>"


def note(duration: int) -> str:
    """A note of so many divisions."""
    return f"<note><pitch><step>C</step><octave>4</octave></pitch><duration>{duration}</duration></note>"


ATTRIBUTES = (
    "<attributes><divisions>2</divisions><key><fifths>-2</fifths><mode>major</mode></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


def read(tmp_path: Path, raw: bytes, name: str = "sheet.musicxml"):
    """The changes of a file with those bytes."""
    path = tmp_path / name
    path.write_bytes(raw)
    return read_musicxml(path)


def test_pickup_offset_carry_and_marks_are_read(tmp_path) -> None:
    """A pickup is a short bar, an offset moves a symbol, a bar without one carries the last, marks open sections."""
    changes = read(
        tmp_path,
        sheet(
            f'<measure number="0" implicit="yes">{ATTRIBUTES}{note(2)}</measure>'
            f'<measure number="1"><direction><direction-type><rehearsal>A</rehearsal></direction-type>'
            f'<sound tempo="96"/></direction>{symbol("C", "minor-seventh")}'
            f"{symbol('F', 'dominant', '<offset>4</offset>')}{note(8)}</measure>"
            f'<measure number="2">{note(8)}</measure>'
            f'<measure number="3"><direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>'
            f"{note(4)}{symbol('B', 'none')}{note(4)}</measure>",
            head="<work><work-title>A  tune; # of mine</work-title></work>",
        ),
    )
    assert [str(bar.metre) for bar in changes.bars] == ["1/4", "4/4", "4/4", "4/4"]
    texts = [[(slot.text, slot.beat, slot.beats) for slot in bar.chords] for bar in changes.bars]
    assert texts == [
        [("N.C.", 1, 1)], [("Cm7", 1, 2), ("F7", 3, 2)], [("F7", 1, 4)], [("F7", 1, 2), ("N.C.", 3, 2)],
    ]  # fmt: skip
    assert [section.label for section in changes.sections] == ["", "A", "B"]
    assert changes.tempo == 96 and changes.key.name == "Bb" and str(changes.metre) == "4/4"
    again = parse_changes(write_changes(changes))
    assert again.sections == changes.sections and again.title == "A tune of mine"


def test_repeats_and_endings_are_played(tmp_path) -> None:
    """Barlines with repeats and endings give the playing order; a mark inside a repeat is left out and said."""
    forward = '<barline location="left"><repeat direction="forward"/></barline>'
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    second = '<barline location="left"><ending number="2" type="start"/></barline>'
    back = '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>'
    mark = "<direction><direction-type><rehearsal>X</rehearsal></direction-type></direction>"
    changes = read(
        tmp_path,
        sheet(
            f"<measure>{ATTRIBUTES}{symbol('A', 'minor')}{note(8)}</measure>"
            f"<measure>{forward}{symbol('C', 'major')}{note(8)}</measure>"
            f"<measure>{first}{mark}{symbol('D', 'minor')}{note(8)}{back}</measure>"
            f"<measure>{second}{symbol('E', 'minor')}{note(8)}</measure>"
            f"<measure>{symbol('F', 'major')}{note(8)}</measure>"
        ),
    )
    assert [bar.chords[0].text for bar in changes.bars] == ["Am", "C", "Dm", "C", "Em", "F"]
    assert any("mark X stands inside a repeat" in remark for remark in changes.remarks)


def test_repeats_that_do_not_pair_are_read_once_and_said(tmp_path) -> None:
    """A repeat inside a repeat leaves every bar once, in written order, with a remark."""
    forward = '<barline location="left"><repeat direction="forward"/></barline>'
    changes = read(
        tmp_path,
        sheet("".join(f"<measure>{forward}{symbol(step, 'major')}{note(4)}</measure>" for step in "CDE")),
    )
    assert [bar.chords[0].text for bar in changes.bars] == ["C", "D", "E"]
    assert any("repeats are not understood" in remark for remark in changes.remarks)


BOMB = (
    b'<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
    b"<score-partwise><part>&b;</part></score-partwise>"
)


def packed(members: dict[str, bytes]) -> bytes:
    """A zip file."""
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return raw.getvalue()


CONTAINER = b'<container><rootfiles><rootfile full-path="a.musicxml"/></rootfiles></container>'


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (BOMB, "declares the XML entity 'a'"),
        (b"<!DOCTYPE x [<!ENTITY e SYSTEM 'file:///etc/passwd'>]><score-partwise><part>&e;</part></score-partwise>",
         "declares the XML entity 'e'"),
        (b"", "not XML"),
        (b"| Cm7 | F7 |", "not XML"),
        (b"<score-partwise>", "not XML"),
        (b"<html/>", "expected a MusicXML score-partwise"),
        (b"<score-timewise/>", "by part"),
        (b"<score-partwise><part/></score-partwise>", "no chord symbols"),
        (b"<a>" * 500, "more than 200 elements deep or 400,000 in all"),
        (b"\xff\xfe\x00", "not XML"),
        (b'<?xml version="1.0" encoding="no-such"?><a/>', "XML"),
        (b"PK\x03\x04 not a zip", "damaged compressed file"),
        (packed({"a.musicxml": b"<x/>"}), "lacks"),
        (packed({"META-INF/container.xml": b"<container/>"}), "names no score"),
        (packed({"META-INF/container.xml": CONTAINER}), "lacks"),
        (packed({"META-INF/container.xml": CONTAINER, "a.musicxml": BOMB}), "declares the XML entity"),
        (packed({"META-INF/container.xml": CONTAINER, "a.musicxml": b" " * 33_000_000}), "at most 16,000,000 bytes"),
    ],
)  # fmt: skip
def test_what_is_no_lead_sheet_is_refused_by_name(tmp_path, raw: bytes, says: str) -> None:
    """Entities, damage, other formats and unpacked floods are refused, and the message names the file."""
    with pytest.raises(LeadSheetError, match=says) as caught:
        read(tmp_path, raw)
    assert "sheet.musicxml" in str(caught.value)


def test_a_missing_file_is_refused(tmp_path) -> None:
    """A path that is not there is said to be unreadable."""
    with pytest.raises(LeadSheetError, match="cannot be read"):
        read_musicxml(tmp_path / "nowhere.mxl")


VALID = sheet(
    f"<measure>{ATTRIBUTES}{symbol('C', 'minor-seventh')}{note(4)}{symbol('F', 'dominant')}{note(4)}</measure>"
    f"<measure>{symbol('B', 'major-seventh', '<bass><bass-step>D</bass-step></bass>')}{note(8)}</measure>"
)


@given(st.integers(0, len(VALID) - 1), st.binary(max_size=6), st.integers(0, 30))
def test_a_damaged_sheet_is_read_or_refused(tmp_path_factory, place: int, patch: bytes, lost: int) -> None:
    """Bytes changed or lost anywhere make changes or a LeadSheetError, nothing else."""
    path = tmp_path_factory.getbasetemp() / "damaged.musicxml"
    path.write_bytes(VALID[:place] + patch + VALID[place + lost :])
    try:
        changes = read_musicxml(path)
    except LeadSheetError as error:
        assert "damaged.musicxml" in str(error)
    else:
        assert changes.bars


ODD = st.sampled_from(["", "-1", "0", "1", "7", "99999999999", "1e9", "x", "1.5", "-0", "4+3", "٣", "3/4"])


@given(st.lists(ODD, min_size=10, max_size=10), st.sampled_from((*KINDS, "none", "other", "pedal", "nonsense", "")))
def test_odd_values_are_read_or_refused(tmp_path_factory, odd: list[str], kind: str) -> None:
    """Numbers that are none, or far out of range, never break the reading."""
    path = tmp_path_factory.getbasetemp() / "odd.musicxml"
    degree = (
        f"<degree><degree-value>{odd[5]}</degree-value><degree-alter>{odd[6]}</degree-alter>"
        "<degree-type>add</degree-type></degree>"
    )
    path.write_bytes(
        sheet(
            f"<measure><attributes><divisions>{odd[0]}</divisions><key><fifths>{odd[1]}</fifths><mode>minor</mode></key>"
            f"<time><beats>{odd[2]}</beats><beat-type>{odd[3]}</beat-type></time></attributes>"
            f"{symbol('C', kind, degree + f'<offset>{odd[4]}</offset>')}"
            f"<note><duration>{odd[7]}</duration></note><backup><duration>{odd[8]}</duration></backup>"
            f'<sound tempo="{odd[9]}"/>{symbol("D", "major")}{note(8)}'
            f'<barline><ending number="{odd[9]}" type="start"/>'
            f'<repeat direction="backward" times="{odd[1]}"/></barline>'
            "</measure>"
        )
    )
    try:
        changes = read_musicxml(path)
    except LeadSheetError as error:
        assert "odd.musicxml" in str(error)
    else:
        for bar in changes.bars:
            assert sum(slot.beats for slot in bar.chords) == bar.metre.beats
        assert parse_changes(write_changes(changes)).bars == changes.bars


@pytest.mark.parametrize(
    ("chromatic", "diatonic", "sounds"),
    [
        ("-2", "<diatonic>-1</diatonic>", "key: Bb\n| Cm7 | F7/A | Bbmaj7 |"),
        ("-2", "", "key: Bb\n| Cm7 | F7/A | Bbmaj7 |"),
        ("-9", "<diatonic>-5</diatonic>", "key: Eb\n| Fm7 | Bb7/D | Ebmaj7 |"),
        ("0", "", "key: C\n| Dm7 | G7/B | Cmaj7 |"),
    ],
)
def test_a_transposing_part_is_read_at_sounding_pitch_and_says_so(tmp_path, chromatic, diatonic, sounds) -> None:
    """Parts in Bb and Eb, as MusicXML 4.0 defines the element transpose: what is added to the written note."""
    text = changes_musicxml(parse_changes("key: C\n| Dm7 | G7/B | Cmaj7 |"))
    written = f"<transpose>{diatonic}<chromatic>{chromatic}</chromatic></transpose></attributes>"
    path = tmp_path / "part.musicxml"
    path.write_text(text.replace("</attributes>", written, 1), encoding="utf-8")
    read, wanted = read_musicxml(path), parse_changes(sounds)
    assert [slot.chord for _, slot in read.slots] == [slot.chord for _, slot in wanted.slots]
    assert read.key == wanted.key
    assert any("sounding pitch" in remark for remark in read.remarks) == (chromatic != "0")
