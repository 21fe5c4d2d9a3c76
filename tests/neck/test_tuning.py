"""Tunings: open strings, nothing else; the shipped ones and a player's own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import TableError, TuningError
from drills.neck.tuning import STANDARD, Tuning, parse_tuning, read_tunings
from drills.theory.note import Pitch
from tests import strategies as own

# Common practice; MIDI numbers by scientific pitch notation.
SHIPPED = {
    "standard": ("E2A2D3G3B3E4", [40, 45, 50, 55, 59, 64]),
    "drop-d": ("D2A2D3G3B3E4", [38, 45, 50, 55, 59, 64]),
    "fourths": ("E2A2D3G3C4F4", [40, 45, 50, 55, 60, 65]),
    "seven-low-b": ("B1E2A2D3G3B3E4", [35, 40, 45, 50, 55, 59, 64]),
    "seven-low-a": ("A1E2A2D3G3B3E4", [33, 40, 45, 50, 55, 59, 64]),
    "bass": ("E1A1D2G2", [28, 33, 38, 43]),
    "bass-five": ("B0E1A1D2G2", [23, 28, 33, 38, 43]),
    "ukulele": ("G4C4E4A4", [67, 60, 64, 69]),
    "ukulele-low-g": ("G3C4E4A4", [55, 60, 64, 69]),
    "mandolin": ("G3D4A4E5", [55, 62, 69, 76]),
}


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_tuning_has_its_open_strings(name):
    """Each shipped tuning has the open strings of common practice, listed from the highest-numbered string."""
    tuning = read_tunings()[name].tuning
    identity, midi = SHIPPED[name]
    assert tuning.id == identity
    assert [pitch.midi for pitch in tuning.open] == midi
    assert [tuning.open_pitch(number).midi for number in range(tuning.strings, 0, -1)] == midi


def test_exactly_these_tunings_ship():
    """The shipped table holds these tunings, each with a title and a usable scale length."""
    rows = read_tunings()
    assert set(rows) == set(SHIPPED)
    assert all(row.title and 300 < row.scale_mm < 900 and row.name == name for name, row in rows.items())
    assert rows["standard"].tuning == STANDARD and rows["standard"].scale_mm == 648


@given(own.tunings())
def test_a_tuning_reads_back_from_its_id_and_its_list(row):
    """A tuning is read back from its id, from its spaced list, and from signs and lower case."""
    assert parse_tuning(row.tuning.id) == row.tuning
    assert parse_tuning(str(row.tuning)) == row.tuning
    assert parse_tuning(str(row.tuning).lower().replace(" ", ", ")) == row.tuning


@given(
    st.lists(
        own.pitches(2).filter(lambda pitch: 12 <= pitch.midi <= 108 and pitch.octave >= 0), min_size=1, max_size=12
    )
)
def test_any_open_strings_make_a_tuning(pitches):
    """Any one to twelve pitches from C0 to C8 make a tuning, which reads back from its id."""
    tuning = Tuning(tuple(pitches))
    assert parse_tuning(tuning.id) == tuning
    assert tuning.strings == len(pitches)


@given(own.tunings(), st.integers(0, 24), st.data())
def test_a_fret_is_a_semitone(row, fret, data):
    """A fret raises a string by one semitone, and a capo raises every string by its fret, spelled to read back."""
    string = data.draw(st.integers(1, row.tuning.strings))
    assert row.tuning.midi(string, fret) == row.tuning.open_pitch(string).midi + fret
    raised = row.tuning.raised(fret)
    assert raised.midi(string, 0) == row.tuning.midi(string, fret)
    assert parse_tuning(raised.id) == raised


def test_a_capo_at_the_nut_changes_nothing():
    """Raised by nothing a tuning is itself, and raised by an octave it keeps its names."""
    assert STANDARD.raised(0) is STANDARD
    assert STANDARD.raised(12).id == "E3A3D4G4B4E5"
    assert str(STANDARD.raised(2)) == "F#2 B2 E3 A3 C#4 F#4"


@pytest.mark.parametrize("number", [0, 7, -1, 100])
def test_a_string_that_is_not_there_is_refused(number):
    """Asking for a string the instrument has not says which it has."""
    with pytest.raises(TuningError, match="this tuning has strings 6 to 1"):
        STANDARD.open_pitch(number)


@pytest.mark.parametrize(
    ("text", "told"),
    [("", "expected open pitches"), ("E A D G B E", "expected open pitches"), ("E2 A2 H3", "expected open pitches"),
     ("E2,,A2 x", "expected open pitches"), ("C9", "from C0 to C8"), ("E2 " * 13, "expected 1 to 12 strings, got 13"),
     ("B-1", "from C0 to C8"), ("E2" * 5000, "expected"), ("E2\x00A2", "expected open pitches")],
    ids=lambda value: ascii(value)[:20],
)  # fmt: skip
def test_what_is_no_tuning_is_refused_in_one_line(text, told):
    """What is no list of pitches a string can sound is refused in one line."""
    with pytest.raises(TuningError, match=told) as refusal:
        parse_tuning(text)
    assert str(refusal.value).isprintable()


def test_no_strings_is_no_tuning():
    """An instrument has one to twelve strings."""
    with pytest.raises(TuningError, match="expected 1 to 12 strings, got 0"):
        Tuning(())
    assert Tuning((Pitch.parse("C4"),)).strings == 1


def write(folder, text):
    """A tuning file holding the text."""
    path = folder / "tunings.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_an_own_tuning_is_read_beside_the_shipped_ones(tmp_path):
    """A player's row adds a tuning; title and scale length have defaults."""
    rows = read_tunings(write(tmp_path, '[tuning.open-g]\nopen = ["D2", "G2", "D3", "G3", "B3", "D4"]'))
    assert rows["open-g"].tuning.id == "D2G2D3G3B3D4"
    assert (rows["open-g"].title, rows["open-g"].scale_mm) == ("open-g", 648.0)
    assert set(rows) == {*SHIPPED, "open-g"}
    assert "open-g" not in read_tunings()


def test_no_own_file_means_the_shipped_tunings(tmp_path):
    """A missing file of one's own is no error."""
    assert read_tunings(tmp_path / "none.toml") == read_tunings()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[tuning.standard]\nopen = ["E2"]', "tuning 'standard': ships with the tool"),
        ("[tuning.mine]", "'mine', open: expected a list of pitches"),
        ('[tuning.mine]\nopen = "E2 A2"', "'mine', open: expected a list of pitches"),
        ('[tuning.mine]\nopen = ["E2", "H2"]', "'mine', open: note 'H'|'mine', open: pitch 'H2'"),
        ('[tuning.mine]\nopen = ["E2", 5]', "'mine', open: pitch '5'"),
        ("[tuning.mine]\nopen = []", "'mine', open: tuning: expected 1 to 12 strings, got 0"),
        ('[tuning.mine]\nopen = ["C-1"]', "'mine', open: tuning, string C-1: expected a pitch from C0 to C8"),
        (
            '[tuning.mine]\nopen = ["E2"]\nscale_mm = 20',
            "'mine', scale_mm: expected millimetres from 200 to 1200, got 20",
        ),
        ('[tuning.mine]\nopen = ["E2"]\nscale_mm = true', "'mine', scale_mm: expected millimetres"),
        ('[tuning.mine]\nopen = ["E2"]\nscale_mm = nan', "'mine', scale_mm: expected millimetres"),
        ('[tuning.mine]\nopen = ["E2"]\ntitle = 3', "'mine', title: expected text, got 3"),
        ('[tuning.mine]\nopen = ["E2"]\nfrets = 24', "'mine', 'frets': unknown; expected open, title, scale_mm"),
        ("[tunings.mine]", "expected tables named"),
        ("tuning = 3", "expected tables named"),
        ("[tuning", "not readable as TOML"),
    ],
)
def test_a_wrong_row_names_file_tuning_and_field(tmp_path, text, told):
    """A wrong row is refused in one line that names the file, the tuning and the field."""
    path = write(tmp_path, text)
    with pytest.raises(TableError, match=told) as refusal:
        read_tunings(path)
    assert str(path) in str(refusal.value) and "\n" not in str(refusal.value)
