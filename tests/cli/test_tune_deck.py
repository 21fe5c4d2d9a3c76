"""A tune on the command line: its cards, its deck file, how ready it is.

Counts are those of drills/RULES.md, G19, counted by hand; see tests/tunes/test_deck.py.
"""

from __future__ import annotations

import json
from datetime import datetime, timedelta

import pytest

from scheduler.days.calendar import PracticeCalendar
from scheduler.memory.refit import Refit, write_refit

BLUES = "| F7 | Bb7 | F7 | F7 | Bb7 | Bdim7 | F7 | D7 | Gm7 | C7 | F7 | C7 |"


def cards(neckwork, *args):
    ran = neckwork("cards", *args, "--json")
    assert ran.code == 0, ran.err
    return json.loads(ran.out)["cards"]


def test_the_cards_of_a_tune(neckwork):
    """Seven stops and ten joints from string 5, with weight and bars; the same from file, name and text."""
    found = cards(neckwork, "--changes", BLUES, "--from", "5")
    assert len(found) == 17 and sum("to" in card for card in found) == 10
    first = found[0]
    assert (first["id"], first["weight"], first["where"]) == (
        "E2A2D3G3B3E4/arpeggio/F/7/543/name", 4.0, "bars 1, 3, 7, 11",
    )  # fmt: skip
    assert cards(neckwork, "--changes", "blues-in-f", "--from", "5") == found


def test_a_tune_in_another_key_from_the_command_line(neckwork):
    """Every root a fourth higher, by name."""
    moved = cards(neckwork, "--changes", BLUES, "--transpose", "Bb")
    assert {card["root"] for card in moved} == {"Bb", "Eb", "E", "G", "C", "F"}


def test_people_read_how_often_and_where(neckwork):
    """One card a line with its weight and bars."""
    ran = neckwork("cards", "--changes", BLUES, "--from", "5")
    assert "F7, strings 5-4-3  4 a chorus, bars 1, 3, 7, 11\n" in ran.out
    assert "F7 to Bb7, no gap: 5-4-3, then 4-3-2  2 a chorus, bars 1 to 2, 4 to 5\n" in ran.out


def test_a_deck_file_names_a_page_beside_it(neckwork, tmp_path):
    """A teacher hands out two files; the page goes with the deck from wherever it is used."""
    folder = tmp_path / "from the teacher"
    folder.mkdir()
    (folder / "friday.changes").write_text(f"title: Friday\n{BLUES}", encoding="utf-8")
    deck = folder / "student.toml"
    block = '[[material]]\nchanges = "friday.changes"\nfrom_strings = [5]\n'
    deck.write_text(f'title = "Friday"\n{block}', encoding="utf-8")
    assert [card["id"] for card in cards(neckwork, str(deck))] == [
        card["id"] for card in cards(neckwork, "--changes", BLUES, "--from", "5")
    ]
    assert "17 cards" in neckwork("decks", "check", str(deck)).out
    shown = json.loads(neckwork("decks", "show", str(deck), "--json").out)
    # F7 to Bb7 is C7 to F7 in another place, and Bb7 to F7 is F7 to C7: ten transitions, eight joints.
    assert (shown["cards"], shown["transitions"], shown["skills"]["joint"]) == (17, 10, 8)
    assert sum(cell["cards"] for cell in shown["by_strings_and_quality"]) == 7
    assert "10 of them are transitions" in neckwork("decks", "show", str(deck)).out


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('changes = "no-such.changes"', "no-such.changes: no such file"),
        ('changes = "| Cm7 | H7 |"', "H7"),
        ('changes = ""', "expected a file, a shipped page or chords"),
        (
            'changes = "| C7 |"\nqualities = ["7"]',
            "only changes, transpose, from_strings, prompts, from_week beside changes",
        ),
        ('changes = "| C7 |"\nfrom_strings = ["6"]', "expected string numbers"),
        ('changes = "| C7 |"\nfrom_strings = [2]', "string 2 is not among the root strings"),
        ('changes = "| C7 |"\ntranspose = "H"', "H"),
        ('qualities = ["7"]\nstring_sets = ["654"]\ntranspose = "Bb"', "a key changes beside it"),
    ],
)
def test_a_deck_that_names_changes_wrongly(neckwork, tmp_path, line, said):
    """What is wrong is named; nobody sees a traceback."""
    deck = tmp_path / "wrong.toml"
    deck.write_text(f"[[material]]\n{line}\n", encoding="utf-8")
    ran = neckwork("decks", "check", str(deck))
    assert ran.code == 1 and said in ran.err and "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (("cards", "first", "--changes", BLUES), 2, "give one of the two"),
        (("cards", "--transpose", "Bb"), 2, "--transpose goes with --changes"),
        (("session", "--from", "6"), 2, "--from goes with --changes"),
        (("cards", "--changes", "| N.C. |" * 20), 1, "the changes hold no chord"),
        (("cards", "--changes", "| Cm7 | X |"), 1, "X"),
        (("session", "--changes", "| Cmaj7 |", "--top-fret", "2"), 1, "no C on strings 6, 5, 4"),
        (("ready", BLUES, "--by", "2001-01-01"), 2, "is past"),
        (("ready", BLUES, "--by", "soon"), 2, "expected year, month and day"),
        (("ready", "| N.C. |"), 1, "the changes hold no chord"),
        (("ready", "no-such.changes"), 1, "no such file"),
    ],
)
def test_what_cannot_be_is_said_in_words(neckwork, args, code, said):
    """Wrong usage is 2, what is not there or does not fit is 1."""
    ran = neckwork(*args)
    assert ran.code == code and said in ran.err and "Traceback" not in ran.err


def test_how_ready_a_tune_is(neckwork):
    """Before anything is played: days, a range, and how little is known; the same for programs."""
    today = PracticeCalendar("every day").day_of(datetime.now().astimezone())
    day = (today + timedelta(days=4)).isoformat()
    ran = neckwork("ready", "| Cm7 | F7 | Bbmaj7 |", "--by", day, "--from", "6")
    said = " ".join(ran.out.split())
    assert ran.code == 0 and day in said and "You have played nothing yet" in said
    assert "Of 3 chord places and 3 joints about" in said
    answer = json.loads(neckwork("ready", "| Cm7 | F7 | Bbmaj7 |", "--by", day, "--json").out)
    assert answer["first_tries"] == 0 and 3 <= len(answer["sessions"]) <= 4 and answer["low"] <= answer["expected"]


def test_a_forecast_goes_by_the_constants_fitted_to_the_player(neckwork, tmp_path):
    """With never-met chords thought far less likely to come clean, less of the tune does; forgotten, as before."""

    def expected():
        return json.loads(neckwork("ready", BLUES, "--from", "5", "--json").out)["expected"]

    usual = expected()
    write_refit(tmp_path / "home" / "constants.json", Refit({"unmet_recall": 0.2}, 10, 5, 0.5, 0.4))
    assert expected() < 0.5 * usual
    assert neckwork("refit", "--forget").code == 0
    assert expected() == usual
