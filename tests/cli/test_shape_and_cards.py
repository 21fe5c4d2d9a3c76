"""`neckwork shape`, `cards`, `decks` and `setup`: machine-readable answers, exit codes, one-line refusals."""

from __future__ import annotations

import json

import pytest


def test_shape_answers_the_core_card_as_the_contract_has_it(neckwork):
    """drills/RULES.md, G2: Cmaj7 on 6-5-4, frets, notes, degrees, fingers and position."""
    ran = neckwork("shape", "Cmaj7", "--strings", "654", "--json")
    assert ran.code == 0
    (shape,) = json.loads(ran.out)
    assert (shape["name"], shape["form"], shape["strings"], shape["position"]) == ("Cmaj7", "arpeggio", [6, 5, 4], 7)
    assert [(n["string"], n["fret"], n["note"], n["degree"], n["finger"], n["midi"]) for n in shape["notes"]] == [
        (6, 8, "C", "1", 2, 48), (5, 7, "E", "3", 1, 52), (5, 10, "G", "5", 4, 55), (4, 9, "B", "7", 3, 59),
        (4, 10, "C", "8", 4, 60),
    ]  # fmt: skip
    assert shape["reach_mm"] > 0
    assert all(alternate["notes"] for alternate in shape["alternates"])


@pytest.mark.parametrize(
    ("name", "root", "chord"),
    [("ii of Bb", "C", "Cm7"), ("iii of E", "G#", "G#m7"), ("vii of Db", "C", "Cm7b5"), ("IV of Gb", "Cb", "Cbmaj7")],
)
def test_a_degree_of_a_key_is_spelled_by_the_key(neckwork, name, root, chord):
    """Rule G6."""
    (shape,) = json.loads(neckwork("shape", name, "--strings", "543", "--json").out)
    assert shape["name"] == chord
    assert shape["notes"][0]["note"] == root


def test_the_open_alternate_is_offered(neckwork):
    """Rule G9: Emaj7 on 6-5-4 sits at fret 12, with E(6/0) G#(6/4) B(5/2) D#(4/1) E(4/2) beside it."""
    (shape,) = json.loads(neckwork("shape", "Emaj7", "--strings", "654", "--json").out)
    assert [n["fret"] for n in shape["notes"]] == [12, 11, 14, 13, 14]
    opened = [a for a in shape["alternates"] if a["variant"] == "open strings"]
    assert [(n["string"], n["fret"]) for n in opened[0]["notes"]] == [(6, 0), (6, 4), (5, 2), (4, 1), (4, 2)]


def test_grip_and_scale_come_from_the_same_place(neckwork):
    """Rule G15: Dm7 on 5-4-3, its grip and its Dorian."""
    (grip,) = json.loads(neckwork("shape", "Dm7", "--strings", "543", "--form", "grip", "--json").out)
    assert [(n["note"], n["string"], n["fret"]) for n in grip["notes"]] == [
        ("D", 5, 5), ("A", 4, 7), ("C", 3, 5), ("F", 2, 6),
    ]  # fmt: skip
    (scale,) = json.loads(neckwork("shape", "Dm7", "--strings", "543", "--form", "scale", "--json").out)
    assert [(n["note"], n["string"], n["fret"]) for n in scale["notes"]] == [
        ("D", 5, 5), ("E", 5, 7), ("F", 5, 8), ("G", 4, 5), ("A", 4, 7), ("B", 3, 4), ("C", 3, 5), ("D", 3, 7),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("args", "frets"),
    [
        (("Cmaj7", "--strings", "654", "--tuning", "D2 A2 D3 G3 B3 E4"), [10, 7, 10, 9, 10]),
        (("Bbmaj7", "--strings", "432", "--tuning", "fourths"), [8, 7, 10, 9, 10]),
        (("Cmaj7", "--strings", "432", "--tuning", "bass"), [8, 7, 10, 9, 10]),
        (("Cm7", "--strings", "765", "--tuning", "seven-low-b"), [1, 4, 3, 1, 3]),
        (("Cmaj7", "--strings", "765", "--tuning", "seven-low-a"), [3, 0, 3, 2, 3]),
    ],
)
def test_other_tunings_come_out_of_the_pitches(neckwork, args, frets):
    """Rules G17 and C7."""
    (shape,) = json.loads(neckwork("shape", *args, "--json").out)
    assert [n["fret"] for n in shape["notes"]] == frets


def test_a_re_entrant_set_is_refused_with_its_reason(neckwork):
    """Rule G17: a high G on the ukulele cannot begin a rising shape."""
    ran = neckwork("shape", "C", "--strings", "432", "--tuning", "ukulele", "--json")
    assert ran.code == 1
    assert "string 4 (G4) is not below string 3 (C4)" in ran.err


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (("shape", "Cjunk7"), 1), (("shape", ""), 1), (("shape", "H7"), 1), (("shape", "C7/"), 1),
        (("shape", "C" * 10_000), 1), (("shape", "C\x07\x1b[2J"), 1), (("shape", "Cmaj7", "--form", "blob"), 1),
        (("shape", "Cmaj7", "--strings", "345"), 1), (("shape", "Cmaj7", "--strings", "99"), 1),
        (("shape", "Cmaj7", "--top-fret", "77"), 2), (("shape",), 2), (("shape", "C", "--nonsense"), 2),
        (("crads",), 2), (("cards", "nowhere"), 1), (("cards", "--quality", "m8"), 1), (("cards", "--key", "Q"), 1),
        (("setup", "--top-fret", "77"), 1), (("setup", "--tuning", "E2 Q9"), 1), (("--version",), 0), (("--help",), 0),
    ],
)  # fmt: skip
def test_wrong_calls_get_one_clear_line_and_the_right_code(neckwork, args, code):
    """1 for what is not there or does not fit, 2 for wrong usage; never a traceback or a control character."""
    ran = neckwork(*args)
    assert ran.code == code
    assert "Traceback" not in ran.err + ran.out
    assert not any(ord(character) < 32 and character != "\n" for character in ran.err)
    if code:
        assert ran.err.startswith("neckwork: ") or "left out" in ran.err
        assert len(ran.err.splitlines()) <= 4


def test_cards_lists_what_fits_and_what_does_not(neckwork):
    """Rule G10 through the command line, at top fret 12."""
    ran = neckwork("cards", "--top-fret", "12", "--json")
    answer = json.loads(ran.out)
    assert (len(answer["cards"]), len(answer["left_out"])) == (112, 32)
    assert {"id", "prompt", "strings", "quality", "root", "skills"} <= set(answer["cards"][0])
    assert set(answer["left_out"][0]) == {"prompt", "reason"}
    listed = neckwork("cards", "--key", "Eb", "--strings", "654")
    assert listed.out.splitlines()[0] == "Ebmaj7, strings 6-5-4"
    assert len(listed.out.splitlines()) == 7


def test_setup_is_remembered(neckwork):
    """A setting told once holds for every command after it; a tuning brings its own scale length."""
    assert neckwork("setup", "--top-fret", "12", "--tuning", "bass").code == 0
    assert "864 mm" in neckwork("setup").out
    answer = json.loads(neckwork("cards", "--json").out)
    assert {tuple(card["strings"]) for card in answer["cards"]} == {(4, 3, 2), (3, 2, 1)}
    assert neckwork("setup", "--reset").code == 0
    assert len(json.loads(neckwork("cards", "--json").out)["cards"]) == 144


def test_decks_are_listed_with_counts(neckwork):
    """Every shipped deck with the number of cards that fit this neck."""
    rows = {row["name"]: row["cards"] for row in json.loads(neckwork("decks", "--json").out)}
    assert rows["first"] == 144
    assert rows["fourteen"] == 504
    assert rows["set-543"] == 48


def test_the_list_of_decks_breaks_between_words(neckwork, monkeypatch):
    """No line is wider than the window, and none breaks a word; each deck begins a line, `first` the first."""
    monkeypatch.setenv("COLUMNS", "60")
    listed = neckwork("decks")
    lines = listed.out.splitlines()
    assert listed.code == 0 and max(map(len, lines)) <= 60
    assert lines[0].split()[:3] == ["first", "144", "cards"]
    monkeypatch.setenv("COLUMNS", "200")
    assert neckwork("decks").out.split() == listed.out.split()
