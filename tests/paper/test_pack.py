"""A teaching pack: the page, its blank, its words and its sounds, all of the same shapes."""

import io
import wave
import zipfile

import mido
import pytest

from drills.errors import SoundError
from drills.paper.pack import pack_bytes, shape_score
from drills.paper.page_style import PageStyle
from tests.paper.pages import AT, FINDER, FOOTER, SETS, chords, layouts, read

SHEETS = layouts()["same place"]


def _entries(data):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def test_a_pack_holds_page_blank_words_and_a_sound_for_each_shape():
    """Two PDFs of as many pages, a text, and a MIDI file and a recording for every diagram on the page."""
    entries = _entries(pack_bytes(SHEETS, PageStyle(), FOOTER, AT))
    shapes = [panel.shape for panel in SHEETS[0].drawn]
    assert len(read(entries["handout.pdf"])) == len(read(entries["blank.pdf"])) == 1
    assert "string 5 fret 5 D root" in entries["handout.txt"].decode("utf-8")
    midi = sorted(name for name in entries if name.endswith(".mid"))
    recorded = sorted(name for name in entries if name.endswith(".wav"))
    assert len(midi) == len(recorded) == len(shapes) == 9
    assert midi[0] == "sounds/001 Dm7 5-4-3-2 grip.mid"
    for name, shape in zip(midi, shapes, strict=True):
        file = mido.MidiFile(file=io.BytesIO(entries[name]))
        struck = [message.note for message in file if message.type == "note_on" and message.velocity]
        rising = [note.midi for note in shape.notes]
        assert struck == (rising if shape.form.kind == "grip" else rising + rising[-2::-1])
    with wave.open(io.BytesIO(entries[recorded[0]])) as sound:
        assert 2 < sound.getnframes() / sound.getframerate() < 6


def test_a_pack_without_recordings_is_small_and_the_same_every_time():
    """MIDI alone makes a small archive, and the same pack on the same date has the same bytes."""
    one, two = (pack_bytes(SHEETS, PageStyle(), FOOTER, AT, wav=False) for _ in range(2))
    assert one == two
    assert len(one) < 200_000
    assert not any(name.endswith(".wav") for name in _entries(one))


def test_a_line_is_sounded_up_and_down_in_quarters_and_a_grip_strummed():
    """At 60 a minute, five notes up and four back take nine seconds and the last rings on; a grip lasts a bar."""
    grip, arpeggio, _ = (panel.shape for panel in SHEETS[0].drawn[:3])
    score = shape_score(arpeggio, 60.0)
    assert [round(tone.start_s, 3) for tone in score.tones] == [float(second) for second in range(9)]
    assert score.length_s == pytest.approx(10.02)
    assert shape_score(grip, 60.0).length_s == pytest.approx(4.0)
    with pytest.raises(SoundError):
        shape_score(arpeggio, 0)


def test_names_of_files_are_safe_everywhere():
    """Names in the archive hold no sign that a file system refuses."""
    from drills.paper.layouts import shapes_sheet
    from drills.shapes.form import ARPEGGIO

    shapes = [FINDER.find(chord, ARPEGGIO, SETS[0]) for chord in chords("C7/E", "F#7#5", "BbmMaj7")]
    entries = _entries(pack_bytes([shapes_sheet(shapes, 6, "Three", "")], PageStyle(), FOOTER, AT, wav=False))
    assert sum(name.startswith("sounds/") for name in entries) == 3
    for name in entries:
        assert not set(name) & set('\\:*?"<>|') and name.count("/") <= 1
