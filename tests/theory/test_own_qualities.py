"""A player's own quality file: what is accepted, and what a wrong row is told."""

import pytest

from drills.errors import SymbolError, TableError
from drills.theory.quality import read_qualities, shipped_qualities
from drills.theory.symbol import parse_chord

GOOD = {
    "degrees": '["1", "3", "#4", "b7"]',
    "semitones": "[0, 4, 6, 10]",
    "tier": "3",
    "symbols": '["7#4", "7(+4)"]',
    "modes": '["Lydian dominant"]',
    "met": '"a colour of my own"',
}


def write(folder, name="mine", **changes):
    """A quality file with one row, some of its fields changed or, with None, left out."""
    fields = {**GOOD, **changes}
    lines = [f"{field} = {value}" for field, value in fields.items() if value is not None]
    path = folder / "qualities.toml"
    path.write_text(f'[quality."{name}"]\n' + "\n".join(lines), encoding="utf-8")
    return path


def test_an_own_quality_is_read_beside_the_shipped_ones(tmp_path):
    """A sound row adds a quality whose symbols are then read, and changes no other."""
    table = read_qualities(write(tmp_path))
    assert len(table) == len(shipped_qualities()) + 1
    assert [note.name for note in parse_chord("D7#4", table).notes] == ["D", "F#", "G#", "C"]
    assert parse_chord("Bb7(+4)", table).name == "Bb7#4"
    assert parse_chord("C7", table) == parse_chord("C7")
    with pytest.raises(SymbolError):
        parse_chord("D7#4")


def test_a_missing_file_means_the_shipped_qualities(tmp_path):
    """No file of one's own is no error."""
    assert read_qualities(tmp_path / "none.toml") is shipped_qualities()
    assert read_qualities(None) is shipped_qualities()


def test_an_empty_file_adds_nothing(tmp_path):
    """An empty file adds no quality."""
    path = tmp_path / "qualities.toml"
    path.write_text("", encoding="utf-8")
    assert len(read_qualities(path)) == len(shipped_qualities())


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("degrees", None, "degrees: expected a list, got None"),
        ("degrees", '"1 3 5"', "degrees: expected a list, got '1 3 5'"),
        ("degrees", "[1, 3, 5]", "degrees: expected a list of text"),
        ("degrees", '["1", "x3", "5"]', "degrees: degree 'x3'"),
        ("degrees", '["1", "3", "5", "b7"]', "semitones: the degrees give [0, 4, 7, 10], got [0, 4, 6, 10]"),
        ("semitones", None, "semitones: expected a list, got None"),
        ("semitones", '["0", "4"]', "semitones: expected a list of whole numbers"),
        ("semitones", "[false, 4, 6, 10]", "semitones: expected a list of whole numbers"),
        ("semitones", "[0, 4, 7, 10]", "semitones: the degrees give [0, 4, 6, 10], got [0, 4, 7, 10]"),
        ("tier", None, "tier: expected whole numbers"),
        ("tier", "true", "tier: expected whole numbers"),
        ("tier", "1.5", "tier: expected whole numbers"),
        ("symbols", None, "symbols: expected a list"),
        ("symbols", "[]", "symbols: expected at least one"),
        ("symbols", '["m7"]', "symbols: 'm7' already means 'm7'"),
        ("symbols", '["-7"]', "symbols: '-7' already means 'm7'"),
        ("symbols", '["( m 7 )"]', "symbols: '( m 7 )' already means 'm7'"),
        ("symbols", '["△"]', "symbols: '△' already means 'maj7'"),
        ("symbols", '[""]', "symbols: '' already means 'maj'"),
        ("symbols", '["b4"]', "symbols: 'b4' cannot be read after a root"),
        ("symbols", '["♯4"]', "symbols: '♯4' cannot be read after a root"),
        ("symbols", '["7/4"]', "symbols: '7/4' cannot be read after a root"),
        ("symbols", '["7(4"]', "symbols: '7(4' cannot be read after a root"),
        ("symbols", '["7\\u001b[2J"]', "cannot be read after a root"),
        ("symbols", f'["{"x" * 50}"]', "cannot be read after a root"),
        ("modes", '["Dorian"]', "modes: Dorian does not contain the chord (no 4 semitones)"),
        ("modes", '["Doric"]', "modes: unknown mode 'Doric'"),
        ("modes", '["a\\nb"]', "modes: unknown mode 'a\\nb'"),
        ("met", "7", "met: expected text, got 7"),
        ("colour", '"blue"', "'colour': unknown; expected degrees, semitones"),
    ],
)  # fmt: skip
def test_a_wrong_row_names_file_quality_and_field(tmp_path, field, value, told):
    """A wrong field is refused in one line that names the file, the quality, the field and what came."""
    path = write(tmp_path, **{field: value})
    with pytest.raises(TableError) as refusal:
        read_qualities(path)
    message = str(refusal.value)
    assert message.startswith(f"{path}")
    assert "'mine'" in message and told in message
    assert "\n" not in message


@pytest.mark.parametrize(
    ("degrees", "semitones"),
    [
        ('["3", "5", "7"]', "[4, 7, 11]"),
        ('["1", "5", "3"]', "[0, 7, 4]"),
        ('["1", "3", "3"]', "[0, 4, 4]"),
        ('["1", "3", "9"]', "[0, 4, 14]"),
        ('["1", "5"]', "[0, 7]"),
        ("[]", "[]"),
    ],
)
def test_a_formula_rises_from_the_root_within_an_octave(tmp_path, degrees, semitones):
    """A formula that does not rise from 1 within an octave is refused."""
    with pytest.raises(TableError, match="expected three or more rising from 1 within an octave"):
        read_qualities(write(tmp_path, degrees=degrees, semitones=semitones, modes="[]"))


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("m7", "ships with the tool"),
        ("M7", "the name is a symbol of 'maj7'"),
        ("my own", "letters, digits"),
        ("a/b", "letters, digits"),
        ("", "letters, digits"),
    ],
)
def test_a_name_must_be_new_and_fit_a_card_id(tmp_path, name, told):
    """A name that is taken, or that would break a card id, is refused."""
    with pytest.raises(TableError, match=told) as refusal:
        read_qualities(write(tmp_path, name=name))
    assert str(tmp_path) in str(refusal.value)


def test_two_own_rows_may_not_share_a_symbol(tmp_path):
    """Symbols stay unambiguous among a player's own rows too."""
    path = write(tmp_path)
    path.write_text(
        path.read_text(encoding="utf-8") + "\n" + path.read_text(encoding="utf-8").replace("mine", "other"),
        encoding="utf-8",
    )
    with pytest.raises(TableError, match="'7#4' already means 'mine'"):
        read_qualities(path)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"quality = 3", "expected tables named"),
        (b"quality.mine = 3", "expected a table, got 3"),
        (b"[qualities.mine]", "'qualities': unknown"),
        (b'"a\\nb" = 1', "'a\\nb': unknown"),
        (b"[quality.mine", "not readable as TOML"),
        (b"\xff\xfe", "not readable as TOML"),
        (b"[quality.a]\n[quality.a]", "not readable as TOML"),
        (b"x = " + b"[" * 5000, "not readable as TOML"),
        (b"x = " + b"1" * 5000, "not readable as TOML"),
    ],
    ids=lambda value: ascii(value)[:24],
)
def test_a_file_that_is_no_quality_table_is_refused_in_one_line(tmp_path, content, told):
    """A file that is no TOML, or not of qualities, is refused in one line naming it."""
    path = tmp_path / "qualities.toml"
    path.write_bytes(content)
    with pytest.raises(TableError) as refusal:
        read_qualities(path)
    assert str(path) in str(refusal.value) and told in str(refusal.value)
    assert "\n" not in str(refusal.value) and len(str(refusal.value)) < 600


def test_a_folder_in_the_place_of_the_file_is_refused(tmp_path):
    """What cannot be opened is refused with the reason."""
    with pytest.raises(TableError, match="cannot be read"):
        read_qualities(tmp_path)
