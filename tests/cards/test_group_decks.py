"""A deck for a group: who is in it, when each begins, which deck comes in which week, and one student's own copy."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.cards.deck import deck_faults, list_decks, read_deck
from drills.cards.deck_tools import moved
from drills.cards.group_decks import deck_of_student, deck_toml, in_group, week_of
from drills.cli import main
from drills.errors import DeckError

GROUP = """title = "Monday"  # the small room
starts = 2026-09-07
students = ["Student 1", "Student 2", "Student 3"]

[[material]]
deck = "set-654"

[[material]]
deck = "later"
from_week = 3

[own_starts]
"student 3" = 2026-09-21
"""
LATER = """[[material]]
qualities = ["7"]
string_sets = ["432"]

[[material]]
qualities = ["dim7"]
string_sets = ["432"]
from_week = 2
"""


@pytest.fixture
def group(tmp_path):
    """The file of a group, beside a deck it names."""
    (tmp_path / "later.toml").write_text(LATER, encoding="utf-8")
    path = tmp_path / "monday.toml"
    path.write_text(GROUP, encoding="utf-8")
    return path


def test_a_deck_of_a_week_counts_its_own_weeks_from_there(group):
    """The second week of a deck that begins in the third is the fourth; before it nothing of it is released."""
    deck = read_deck(group)
    assert [block.from_week for block in deck.blocks] == [1, 3, 4]
    assert deck.blocks[0] == read_deck(next(p for p in list_decks(None) if p.stem == "set-654")).blocks[0]
    for days, blocks in ((-1, 0), (0, 1), (13, 1), (14, 2), (20, 2), (21, 3)):
        assert len(deck.released(date(2026, 9, 7) + timedelta(days=days))) == blocks


def test_each_student_has_the_group_s_weeks_by_their_own_day(group):
    """Whoever began two weeks later is two weeks behind; nobody's deck names anybody."""
    deck = read_deck(group)
    day = date(2026, 9, 30)
    weeks = {name: week_of(deck_of_student(deck, name), day) for name in deck.students}
    assert weeks == {"Student 1": 4, "Student 2": 4, "Student 3": 2}
    own = deck_of_student(deck, " STUDENT 3")
    assert own.starts == date(2026, 9, 21) and not own.students and not own.own_starts
    assert in_group(deck, "student 2") == "Student 2" and in_group(deck, "Student 4") is None
    with pytest.raises(DeckError, match=r"'Studnt 2' among them \(nearest: Student 2\)"):
        deck_of_student(deck, "Studnt 2")
    assert deck_of_student(own, "anybody") == own


@pytest.mark.parametrize("path", list_decks(None), ids=lambda path: path.stem)
def test_a_copy_that_names_no_other_deck_is_the_same_deck(path, tmp_path):
    """Every shipped deck written out and read again is equal to what was read first."""
    deck = read_deck(path)
    copy = tmp_path / path.name
    copy.write_text(deck_toml(deck), encoding="utf-8")
    assert read_deck(copy) == deck


def test_a_student_s_copy_of_the_group_s_deck_names_nobody(group, tmp_path):
    """It holds the weeks and the student's first day, and reads back where the teacher's decks are not."""
    deck = read_deck(group)
    text = deck_toml(deck_of_student(deck, "Student 3"))
    assert "Student" not in text and "include" not in text and "deck =" not in text
    (tmp_path / "far").mkdir()
    copy = tmp_path / "far" / "monday.toml"
    copy.write_text(text, encoding="utf-8")
    assert read_deck(copy) == deck_of_student(deck, "Student 3")


@settings(max_examples=30)
@given(st.integers(-200, 200), st.sampled_from(["", "Student 2", "Student 3"]))
def test_moving_a_group_moves_all_and_moving_one_moves_nobody_else(tmp_path_factory, weeks, alone):
    """Every student's first day by so many weeks, or one's; back again it is the same group, and no comment is lost."""
    folder = tmp_path_factory.mktemp("group")
    (folder / "later.toml").write_text(LATER, encoding="utf-8")

    def days(text):
        (folder / "monday.toml").write_text(text, encoding="utf-8")
        deck = read_deck(folder / "monday.toml")
        return {name: deck_of_student(deck, name).starts for name in deck.students}

    before, there = days(GROUP), moved(GROUP, weeks, "monday", alone)
    expected = {
        name: day - timedelta(weeks=weeks) if alone in ("", name) else day for name, day in before.items()
    }  # fmt: skip
    assert days(there) == expected
    assert days(moved(there, -weeks, "monday", alone)) == before
    assert "# the small room" in there


def test_every_fault_of_a_group_is_said_once_with_its_line(group):
    """A name twice or none, no first day, a day for a stranger or no day, a deck that is not there, a key beside it."""
    text = GROUP.replace("starts = 2026-09-07\n", "", 1).replace('"Student 2", ', '"", "Student 1", ')
    text = text.replace('"student 3" = 2026-09-21', '"Student 9" = 2026-09-21\n"Student 3" = "soon"')
    text = text.replace('"set-654"', '"set-655"').replace("from_week = 3", 'from_week = 3\nroots = ["C"]')
    group.write_text(text, encoding="utf-8")
    faults = [str(fault) for fault in deck_faults(group)]
    lines = text.splitlines()
    for place, said in (
        (0, "starts: expected the day the group's week 1 begins, such as 2026-09-07, got None"),
        (2, "students: expected the name of each student's file, once and without its ending, got ''"),
        (2, "students: expected the name of each student's file, once and without its ending, got 'Student 1'"),
        (5, "material 1, deck: expected the name or path of another deck, got 'set-655'"),
        (10, "material 2, roots: expected only deck and from_week beside deck, got ['C']"),
        (13, "own_starts, Student 9: expected one of the students (nearest: Student"),
        (14, "own_starts, Student 3: expected a date such as 2026-09-07, got 'soon'"),
    ):
        assert any(said in fault and (not place or f"line {place}:" in fault) for fault in faults), (said, faults)
        assert not place or said.partition(": expected")[0].rpartition(" ")[2].rstrip(":") in lines[place - 1]
    assert len(faults) == 7


@pytest.mark.parametrize("name", ["../away", "a/b", ".hidden", "a\\b", "x" * 256])
def test_a_student_s_name_is_a_file_s_name(group, name):
    """It is going to be a folder's too."""
    group.write_text(GROUP.replace("Student 2", name.replace("\\", "\\\\")), encoding="utf-8")
    (fault,) = deck_faults(group)
    assert "students: expected the name of each student's file" in str(fault)


def test_a_fault_of_a_deck_of_a_week_is_named_with_its_file(group):
    """And what is wrong with the group's own file is said beside it."""
    (group.parent / "later.toml").write_text(LATER.replace("dim7", "dim8"), encoding="utf-8")
    group.write_text(GROUP + "\n[neck]\ntop_fret = 99\n", encoding="utf-8")
    faults = [str(fault) for fault in deck_faults(group)]
    assert len(faults) == 2 and "later.toml, line 6" in faults[0] + faults[1] and "top_fret" in faults[0] + faults[1]
    (group.parent / "later.toml").write_text('[[material]]\ndeck = "monday"\n', encoding="utf-8")
    assert any("in a loop (monday.toml -> later.toml -> monday.toml)" in str(fault) for fault in deck_faults(group))


def test_a_teacher_sets_and_moves_a_group_on_the_command_line(tmp_path, monkeypatch, capsys):
    """One line writes it; show tells each one's week; moved as a group, and one alone."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path))

    def typed(*args):
        capsys.readouterr()
        code = main(["decks", *args])
        return code, *capsys.readouterr()

    weeks = ("--week", "1:set-654", "--week", "3:set-543", "--starts", "2026-09-07")
    assert typed("new", "monday", "--students", "Student 1, Student 2", *weeks)[:2] == (
        0, f"{tmp_path}/decks/monday.toml: 96 cards\n"
    )  # fmt: skip
    assert typed("move", "monday", "-1", "--student", "student 2")[1].endswith("begins 2026-09-14 for Student 2\n")
    assert typed("move", "monday", "1")[1].endswith("begins 2026-08-31\n  for Student 2 it begins 2026-09-07\n")
    shown = typed("show", "monday", "--on", "2026-09-14")[1]
    assert "Student 1: from 2026-08-31, in week 3." in shown and "Student 2: from 2026-09-07, in week 2." in shown
    assert "not begun" in typed("show", "monday", "--on", "2026-09-01")[1]
    assert typed("check", "monday")[:2] == (0, "monday: 96 cards\n")
    code, _, err = typed("move", "monday", "1", "--student", "Student 5")
    assert code == 1 and "expected 'Student 5' among them" in err
    typed("new", "alone", "--quality", "m7", "--starts", "2026-09-07")
    assert "is no group's" in typed("move", "alone", "1", "--student", "Student 1")[2]
    assert typed("new", "x", "--week", "soon")[0] == 2
