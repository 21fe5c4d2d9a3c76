"""Spelled intervals and transposition that keeps the letters."""

import pytest
from hypothesis import assume, given

from drills.errors import TheoryError
from drills.theory.interval import OCTAVE, Interval, transpose_note
from drills.theory.note import Note, Pitch
from tests import strategies as own

# Letters and semitones of the named intervals: common practice (any harmony primer).
NAMED = {
    "P1": (0, 0), "A1": (0, 1), "d1": (0, -1), "d2": (1, 0), "m2": (1, 1), "M2": (1, 2), "A2": (1, 3), "d3": (2, 2),
    "m3": (2, 3), "M3": (2, 4), "A3": (2, 5), "d4": (3, 4), "P4": (3, 5), "A4": (3, 6), "d5": (4, 6), "P5": (4, 7),
    "A5": (4, 8), "d6": (5, 7), "m6": (5, 8), "M6": (5, 9), "A6": (5, 10), "d7": (6, 9), "m7": (6, 10), "M7": (6, 11),
    "A7": (6, 12), "d8": (7, 11), "P8": (7, 12), "m9": (8, 13), "M9": (8, 14), "A9": (8, 15), "P11": (10, 17),
    "A11": (10, 18), "m13": (12, 20), "M13": (12, 21), "dd7": (6, 8), "ddd7": (6, 7), "AAA4": (3, 8),
}  # fmt: skip

DEGREES = {
    "1": "P1", "b2": "m2", "2": "M2", "#2": "A2", "b3": "m3", "3": "M3", "4": "P4", "#4": "A4", "b5": "d5", "5": "P5",
    "#5": "A5", "b6": "m6", "6": "M6", "bb7": "d7", "b7": "m7", "7": "M7", "8": "P8", "b9": "m9", "9": "M9", "#9": "A9",
    "11": "P11", "#11": "A11", "b13": "m13", "13": "M13",
}  # fmt: skip


@pytest.mark.parametrize(("name", "size"), NAMED.items())
def test_named_intervals_have_their_letters_and_semitones(name, size):
    """Each named interval spans the letters and semitones of common practice; a d1 is one semitone down."""
    interval = Interval.parse(name)
    assert (interval.steps, interval.semitones) == size


@pytest.mark.parametrize(("label", "name"), DEGREES.items())
def test_degree_labels_are_intervals_above_the_root(label, name):
    """A degree label means its interval above the root, and the interval gives the label back."""
    assert Interval.from_degree(label) == Interval.parse(name)
    assert Interval.parse(name).degree == label


@pytest.mark.parametrize(("size", "name"), [((0, -1), "-A1"), ((0, -2), "-AA1"), ((-1, 0), "-d2"), ((-1, -1), "-m2"),
                                            ((0, 0), "P1"), ((0, 1), "A1"), ((1, -1), "dd2")])  # fmt: skip
def test_what_goes_down_has_a_minus(size, name):
    """By its letters, and on one letter by its semitones: C to Cb is an augmented unison down."""
    assert Interval(*size).name == name


@given(own.intervals())
def test_an_interval_reads_back_from_its_name(interval):
    """Every interval up to triply altered parses back from its name."""
    assert Interval.parse(interval.name) == interval
    assert Interval.parse((-interval).name) == -interval


@given(own.intervals(most_steps=14))
def test_a_degree_label_reads_back(interval):
    """Degree labels round trip for every rising interval."""
    assume(interval.steps >= 0)
    assert Interval.from_degree(interval.degree) == interval


@given(own.pitches(), own.intervals())
def test_up_and_down_again_is_the_same_pitch(pitch, interval):
    """Transposing up and back down is the identity, spelling and octave included, through triple accidentals."""
    there = pitch + interval
    assert there + -interval == pitch
    assert Interval.between(pitch, there) == interval
    assert there.midi == pitch.midi + interval.semitones
    assert there.diatonic_number == pitch.diatonic_number + interval.steps


@given(own.notes(), own.intervals())
def test_notes_and_pitches_transpose_alike(note, interval):
    """A note name goes where the pitch of that name goes."""
    assert transpose_note(note, interval) == (Pitch(note, 4) + interval).note
    assert transpose_note(transpose_note(note, interval), -interval) == note


@given(own.pitches(), own.intervals(), own.intervals())
def test_intervals_add_like_steps_taken_in_turn(pitch, first, second):
    """Two moves in turn equal their sum, in either order, and subtraction undoes addition."""
    assert pitch + first + second == pitch + (first + second) == pitch + second + first
    assert first + second - second == first


@given(own.intervals())
def test_the_simple_interval_lies_within_an_octave(interval):
    """Reducing keeps the letter class and pitch class and stays within seven letters."""
    simple = interval.simple
    assert 0 <= simple.steps <= 6
    assert (interval.steps - simple.steps) % 7 == 0 and (interval.semitones - simple.semitones) % 12 == 0


@given(own.pitches())
def test_an_octave_keeps_the_name(pitch):
    """An octave keeps the note name and doubles the frequency."""
    assert (pitch + OCTAVE).note == pitch.note
    assert (pitch + OCTAVE).hz == pytest.approx(2 * pitch.hz, rel=1e-12)


@pytest.mark.parametrize(
    ("note", "interval", "result"),
    [
        ("D", "M3", "F#"),
        ("Cb", "m3", "Ebb"),
        ("Fb", "d7", "Ebbb"),
        ("Cb", "d7", "Bbbb"),
        ("B#", "A5", "F###"),
        ("E#", "A5", "B##"),
        ("Bb", "-M2", "Ab"),
        ("G#", "M3", "B#"),
        ("B", "A4", "E#"),
    ],
)
def test_transposition_goes_by_letters(note, interval, result):
    """A third is always a third of letters: D plus a major third is F#, never Gb."""
    assert transpose_note(Note.parse(note), Interval.parse(interval)).name == result


@pytest.mark.parametrize(
    "text",
    ["", "P3", "M5", "m4", "5P", "5Pjunk", "P5junk", "dddd5", "P0", "X3", "P", "--P5", "P100", "M٣", "p5", "P5 "],
)
def test_what_is_no_interval_is_refused(text):
    """Wrong kinds and trailing junk are refused in one line."""
    with pytest.raises(TheoryError, match="interval") as refusal:
        Interval.parse(text)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("label", ["", "0", "16", "b", "#b3", "b#3", "bbbb7", "3b", "x4", "٣", "03", "1 ", "-3"])
def test_what_is_no_degree_is_refused(label):
    """A degree is up to three accidentals and a number from 1 to 15."""
    with pytest.raises(TheoryError, match="degree") as refusal:
        Interval.from_degree(label)
    assert "\n" not in str(refusal.value)


def test_only_pitches_take_intervals():
    """Adding an interval to anything but a pitch or an interval is a type error, never a guess."""
    with pytest.raises(TypeError):
        60 + Interval.parse("M3")
