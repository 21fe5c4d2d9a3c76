"""Note names and pitches: spelling kept, numbers derived."""

import pytest
from hypothesis import given

from drills.errors import TheoryError
from drills.theory.note import LETTERS, Note, Pitch, midi_of_hz, plain_accidentals
from tests import strategies as own

# Open strings with MIDI numbers and hertz to two decimals: equal temperament on A4 = 440 Hz (ISO 16:1975).
OPEN_STRINGS = [
    ("E2", 40, 82.41),
    ("A2", 45, 110.00),
    ("D3", 50, 146.83),
    ("G3", 55, 196.00),
    ("B3", 59, 246.94),
    ("E4", 64, 329.63),
]

# Equal-tempered table on A4 = 440 Hz as printed in acoustics textbooks, two decimals.
PRINTED_HZ = {
    "A0": 27.50, "C1": 32.70, "C2": 65.41, "C4": 261.63, "C#4": 277.18, "D4": 293.66, "Eb4": 311.13, "E4": 329.63,
    "F4": 349.23, "F#4": 369.99, "G4": 392.00, "G#4": 415.30, "A4": 440.00, "Bb4": 466.16, "B4": 493.88, "C5": 523.25,
    "C8": 4186.01,
}  # fmt: skip


@given(own.notes())
def test_a_note_reads_back_from_its_name_and_its_printed_signs(note):
    """A note name, plain or with printed accidentals, in either case, parses to the same note."""
    assert Note.parse(note.name) == note
    assert Note.parse(own.printed(note)) == note
    assert Note.parse(note.name[0].lower() + note.name[1:]) == note
    assert plain_accidentals(own.printed(note)) == note.name


@given(own.pitches())
def test_a_pitch_reads_back_from_its_name(pitch):
    """A pitch parses back from its name, and its numbers agree with its spelling."""
    assert Pitch.parse(pitch.name) == pitch
    assert pitch.midi % 12 == pitch.note.pitch_class
    assert pitch.diatonic_number % 7 == pitch.note.step


@given(own.notes())
def test_the_line_of_fifths_orders_names(note):
    """A fifth is seven semitones and one accidental seven fifths, so the line of fifths gives the pitch class."""
    assert note.fifths * 7 % 12 == note.pitch_class
    assert Note(note.step, note.alter + 1).fifths == note.fifths + 7


@pytest.mark.parametrize(("name", "midi", "hz"), OPEN_STRINGS)
def test_open_strings_have_their_midi_numbers_and_hertz(name, midi, hz):
    """The six open guitar strings carry the MIDI numbers and frequencies of ISO 16 tuning."""
    pitch = Pitch.parse(name)
    assert (pitch.midi, round(pitch.hz, 2)) == (midi, hz)
    assert midi_of_hz(pitch.hz) == pytest.approx(midi, abs=1e-9) and midi_of_hz(hz) == pytest.approx(midi, abs=0.002)


@pytest.mark.parametrize(("name", "hz"), PRINTED_HZ.items())
def test_frequencies_equal_the_printed_table(name, hz):
    """Frequencies equal the printed equal-tempered table to two decimals (A4 = 440 Hz, ISO 16:1975)."""
    assert round(Pitch.parse(name).hz, 2) == hz


def test_a4_is_exact():
    """A4 is exactly 440 Hz (ISO 16:1975) and MIDI 69."""
    assert (Pitch.parse("A4").hz, Pitch.parse("A4").midi) == (440.0, 69)


@pytest.mark.parametrize(
    ("flat_side", "sharp_side", "midi"),
    [
        ("Cb4", "B3", 59),
        ("B#3", "C4", 60),
        ("Fb4", "E4", 64),
        ("E#4", "F4", 65),
        ("Bbb3", "A3", 57),
        ("F##4", "G4", 67),
        ("Ebbb4", "C#4", 61),
    ],
)
def test_octave_numbers_follow_the_letter(flat_side, sharp_side, midi):
    """The octave number belongs to the letter, so Cb4 sounds below C4 and B#3 sounds as C4."""
    assert Pitch.parse(flat_side).midi == Pitch.parse(sharp_side).midi == midi
    assert Pitch.parse(flat_side) != Pitch.parse(sharp_side)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("B♭", "Bb"),
        ("f♯", "F#"),
        ("B𝄫", "Bbb"),
        ("C𝄪", "C##"),
        ("Fx", "F##"),
        ("B-flat", "Bb"),
        ("c sharp", "C#"),
        ("b flat", "Bb"),
        (" A ", "A"),
        ("g♮", "G"),
        ("bb", "Bb"),
        ("b", "B"),
        ("bbb", "Bbb"),
    ],
)
def test_notes_are_read_as_musicians_write_them(text, name):
    """Signs, words and either case are read as the note they mean."""
    assert Note.parse(text).name == name


@pytest.mark.parametrize(
    "text",
    ["", "H", "h", "Do", "C#b", "Cb#", "####", "Cbbbb", "C4", "C C", "♭B", "\x00", "C\x00", "C" * 10_000, "C\n#"],
)
def test_what_is_no_note_is_refused_in_one_line(text):
    """Anything else is refused with one line that says what a note looks like."""
    with pytest.raises(TheoryError, match="expected a letter A to G") as refusal:
        Note.parse(text)
    assert "\n" not in str(refusal.value) and len(str(refusal.value)) < 300


@pytest.mark.parametrize("text", ["", "E", "2", "E2.5", "E--2", "E100", "H2", "E 2 2", "E٣", "E2\x00"])
def test_what_is_no_pitch_is_refused_in_one_line(text):
    """A pitch needs a note and an octave number in plain digits."""
    with pytest.raises(TheoryError, match="expected") as refusal:
        Pitch.parse(text)
    assert "\n" not in str(refusal.value)


def test_a_note_prints_as_its_name():
    """Printing shows the ASCII name, so nothing is lost on a plain terminal."""
    assert (str(Note.parse("B𝄫")), str(Pitch.parse("e♭4"))) == ("Bbb", "Eb4")
    assert LETTERS == "CDEFGAB"
