"""What a player may name: a file, a lead sheet, a shipped page, or the changes themselves; and what is shown."""

from __future__ import annotations

import pytest

from drills.changes.changes_reading import parse_changes
from drills.changes.changes_source import changes_from, shipped_changes
from drills.errors import ChangesError, LeadSheetError
from drills.harmony.harmony import analyse
from drills.harmony.page_text import functions_json, mode_lines, page_speech


def test_an_argument_is_a_file_a_name_or_the_changes(tmp_path) -> None:
    """A path, a page by name in the player's folder or shipped, and plain text each give changes."""
    path = tmp_path / "mine.changes"
    path.write_text("| Am7 | D7 |\n", encoding="utf-8")
    assert changes_from(str(path)).title == "mine"
    assert changes_from("mine", folders=(tmp_path,)).bars == changes_from(str(path)).bars
    assert len(changes_from("blues-in-f").bars) == len(changes_from("blues-in-f.changes").bars) == 12
    assert changes_from("Cm7 F7 Bbmaj7") == parse_changes("Cm7 F7 Bbmaj7")
    assert changes_from("C7/E").slots[0][1].text == "C7/E"
    assert "blues-in-f" in shipped_changes()


def test_a_players_page_comes_before_a_shipped_one(tmp_path) -> None:
    """A page of the player's own with a shipped name is the one that is read."""
    (tmp_path / "blues-in-f.changes").write_text("| F7 |\n", encoding="utf-8")
    assert len(changes_from("blues-in-f", folders=(tmp_path,)).bars) == 1


def test_a_file_that_is_not_there_is_said() -> None:
    """A missing page lists the shipped ones; a missing lead sheet is named; other text is read as chords."""
    with pytest.raises(ChangesError, match="no such file; shipped pages: back-doors-in-ab, ballad-in-db"):
        changes_from("nowhere.changes")
    with pytest.raises(LeadSheetError, match=r"nowhere\.mxl"):
        changes_from("nowhere.mxl")
    with pytest.raises(ChangesError, match="line 1, column 1"):
        changes_from("nowhere")


def test_a_path_that_is_no_page_is_not_taken_for_a_chord(tmp_path) -> None:
    """A folder, a device, a file of another kind: what names of pages end in is said."""
    (tmp_path / "notes.txt").write_text("Am7", encoding="utf-8")
    for path in (tmp_path, tmp_path / "notes.txt", "/dev/null"):
        with pytest.raises(ChangesError, match=r"expected a file whose name ends in one of \.changes, \.mxl"):
            changes_from(str(path))


def test_a_file_here_with_another_ending_is_said_to_be_one(tmp_path, monkeypatch) -> None:
    """Named without its folder too; a file that is named as a chord takes the chord from nobody."""
    monkeypatch.chdir(tmp_path)
    for name in ("page.txt", "Cm7"):
        (tmp_path / name).write_text("| Dm7 | G7 |", encoding="utf-8")
    with pytest.raises(ChangesError, match=r"page\.txt: expected a file whose name ends in one of \.changes, \.mxl"):
        changes_from("page.txt")
    assert [slot.chord.name for _, slot in changes_from("Cm7").slots] == ["Cm7"]


def test_a_mistyped_page_is_told_its_neighbours(tmp_path) -> None:
    """Those that ship and the player's own; what is nothing like a page is told what it lacks as a chord."""
    (tmp_path / "evening-walk.changes").write_text("| Dm7 | G7 |", encoding="utf-8")
    with pytest.raises(ChangesError, match=r"blues-in-ff: no page has this name; did you mean .*blues-in-f"):
        changes_from("blues-in-ff")
    with pytest.raises(ChangesError, match=r"Evening-wlak: no page has this name; did you mean evening-walk\?"):
        changes_from("Evening-wlak", folders=(tmp_path,))
    for text in ("Cm7 F7 H7", "nowhere", "hello"):
        with pytest.raises(ChangesError, match="line 1, column"):
            changes_from(text, folders=(tmp_path,))


def test_the_choice_of_mode_is_shown_for_every_chord() -> None:
    """Lines and JSON name bar, beat, chord, place in the key, mode and its spelled notes."""
    changes = parse_changes("| Cm7 F7 | N.C. | Bbmaj7{Lydian} |")
    found = analyse(changes)
    assert mode_lines(changes, found) == [
        "Cm7     ii of Bb: Dorian; bar 1",
        "F7      V of Bb: Mixolydian; bar 1",
        "Bbmaj7  I of Bb: Lydian (your choice); bar 3",
    ]
    assert page_speech(changes, found)[2:] == [
        "bar 1: Cm7, 2 beats, ii of Bb: Dorian; F7, 2 beats, V of Bb: Mixolydian.",
        "bar 2: no chord.",
        "bar 3: Bbmaj7, I of Bb: Lydian (your choice).",
    ]
    rows = functions_json(changes, found)
    assert rows[1] == {
        "bar": 1, "beat": 3, "chord": "F7", "key": "Bb", "numeral": "V", "mode": "Mixolydian",
        "notes": ["F", "G", "A", "Bb", "C", "D", "Eb"], "chosen": False, "also": "",
    }  # fmt: skip
    assert rows[2] == {"bar": 2, "beat": 1, "chord": "N.C."} and rows[3]["chosen"]
