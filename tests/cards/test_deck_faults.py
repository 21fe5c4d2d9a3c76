"""`decks check` says all that is wrong with a file at once, in the order of its lines."""

import re

import pytest

from drills.cards.deck import deck_faults, list_decks
from drills.cards.deck import read_deck as read
from drills.cli import main

WRONG = """title = "Wrong"
wibble = 3

[[material]]
qualities = ["maj7", "mm7", "m7"]
string_sets = ["654", "999", "543"]
promts = ["name"]

[[material]]
string_sets = ["654"]
roots = ["H", "C"]

[limits]
new_forms = -1

[neck]
top_fret = 99
"""


def lines_of(faults):
    """The line each fault names."""
    return [int(found[1]) if (found := re.search(r", line (\d+)", str(fault))) else 0 for fault in faults]


def test_every_fault_is_said_once_in_file_order(tmp_path):
    """Eight faults of one file, each with its line, its key, what was expected and what came."""
    path = tmp_path / "wrong.toml"
    path.write_text(WRONG)
    faults = deck_faults(path)
    assert lines_of(faults) == [2, 5, 6, 7, 9, 11, 14, 17]
    text = [str(fault) for fault in faults]
    for said, word in zip(
        text, ("wibble", "mm7", "999", "promts", "qualities", "'H'", "-1", "99"), strict=True
    ):  # fmt: skip
        assert "expected" in said and word in said
    assert "(nearest: prompts)" in text[3]


@pytest.mark.parametrize("missing", [["mm7"], ["wibble"], ["999"]])
def test_mending_one_fault_leaves_the_others(tmp_path, missing):
    """What is left after a line is mended is what was said before, without that line's."""
    path = tmp_path / "wrong.toml"
    path.write_text(WRONG)
    before = [str(fault).partition(": ")[2] for fault in deck_faults(path)]
    mended = WRONG.replace('"mm7", ', "") if missing == ["mm7"] else WRONG
    mended = mended.replace("wibble = 3", "") if missing == ["wibble"] else mended
    mended = mended.replace('"999", ', "") if missing == ["999"] else mended
    path.write_text(mended)
    assert [str(fault).partition(": ")[2] for fault in deck_faults(path)] == [
        said for said in before if missing[0] not in said
    ]


def test_a_fault_of_an_included_deck_is_named_with_its_file(tmp_path):
    """The other deck's fault carries the other file's name; one's own are said beside it."""
    (tmp_path / "other.toml").write_text('[[material]]\nqualities = ["zz"]\nstring_sets = ["654"]\n')
    path = tmp_path / "mine.toml"
    path.write_text('include = ["other"]\n[neck]\ntop_fret = 99\n')
    text = [str(fault) for fault in deck_faults(path)]
    assert any("other.toml, line 2" in said and "zz" in said for said in text)
    assert any("mine.toml, line 3" in said for said in text)


def test_a_file_that_is_no_toml_has_one_fault(tmp_path):
    path = tmp_path / "no.toml"
    path.write_text("[[material")
    (fault,) = deck_faults(path)
    assert "not readable as TOML" in str(fault)


def test_shipped_decks_have_none():
    """Every shipped deck is read without a fault."""
    assert [deck_faults(path) for path in list_decks(None)] == [[] for _ in list_decks(None)]


def test_the_first_fault_is_what_reading_says(tmp_path):
    """Reading for a session stops at a fault that checking says too."""
    path = tmp_path / "wrong.toml"
    path.write_text(WRONG)
    with pytest.raises(Exception) as raised:
        read(path)
    assert str(raised.value) in [str(fault) for fault in deck_faults(path)]


def test_the_command_says_them_all(tmp_path, capsys, monkeypatch):
    """On the command line: a line each, and exit code 1."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path))
    path = tmp_path / "wrong.toml"
    path.write_text(WRONG)
    assert main(["decks", "check", str(path)]) == 1
    assert lines_of(capsys.readouterr().err.strip().splitlines()) == [2, 5, 6, 7, 9, 11, 14, 17]
