"""Rested cards by the names a player uses, and refusals that say what to do instead."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial

import pytest

from drills.sound.playback import Playback
from scheduler.log.review_log import ReviewLog

NECK = "E2A2D3G3B3E4"
NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
RESTED = (f"{NECK}/arpeggio/C/m7/654/name", f"{NECK}/arpeggio/C/m7/543/name", f"{NECK}/arpeggio/C/m7/654/degree-Bb-ii")


@pytest.fixture
def rested(neckwork, tmp_path):
    """A log with three rested cards."""
    neckwork("setup", "--minutes", "10")
    with ReviewLog(tmp_path / "home" / "log.sqlite3") as log:
        for card in RESTED:
            log.rest(card, NOW)
    return neckwork


def test_rested_cards_are_listed_as_prompts(rested):
    """What the player was asked, not an id."""
    listed = rested("wake").out.splitlines()
    assert sorted(listed) == ["Cm7, strings 5-4-3", "Cm7, strings 6-5-4", "ii of Bb, strings 6-5-4"]


@pytest.mark.parametrize(
    ("name", "awake"),
    [
        ("Cm7", ["Cm7, strings 5-4-3", "Cm7, strings 6-5-4"]),
        ("cm7, strings 6-5-4", ["Cm7, strings 6-5-4"]),
        ("ii of Bb", ["ii of Bb, strings 6-5-4"]),
        (RESTED[0], ["Cm7, strings 6-5-4"]),
    ],
)
def test_a_card_is_woken_by_what_it_is_called(rested, name, awake):
    """All of a chord, one prompt, or one id."""
    ran = rested("wake", name)
    assert sorted(ran.out.splitlines()) == [f"awake: {prompt}" for prompt in awake]
    assert len(rested("wake").out.splitlines()) == len(RESTED) - len(awake)


def test_a_card_that_is_not_rested_is_named(rested):
    """One line, exit code 1, nothing woken."""
    ran = rested("wake", "Cm7", "Dm7")
    assert (ran.code, ran.out) == (1, "")
    assert "'Dm7': is not rested" in ran.err
    assert len(rested("wake").out.splitlines()) == len(RESTED)


def test_a_file_that_is_no_export_is_refused_with_the_way_out(neckwork, tmp_path):
    """Plain text and bytes alike: what was expected, what to do."""
    for name, content in (("notes.txt", b"Dear diary,\n"), ("picture.png", b"\x89PNG\r\n\x1a\n\xff")):
        path = tmp_path / name
        path.write_bytes(content)
        ran = neckwork("import", str(path))
        assert ran.code == 1
        assert name in ran.err
        assert "expor" in ran.err
        assert len(ran.err.splitlines()) == 1


def test_a_tuning_the_decks_cannot_use_says_so(neckwork):
    """Two strings hold no set of three; the setting is kept and its meaning said."""
    ran = neckwork("setup", "--tuning", "E2 A2")
    assert ran.code == 0
    assert "no three neighbouring strings rise" in ran.err
    assert neckwork("setup", "--tuning", "bass").err == ""


def test_an_extended_chord_is_heard_and_shown_as_its_seventh_chord(neckwork, tmp_path):
    """drills/RULES.md, D1: C13 is played as 7; both commands say what is left out."""
    shown = neckwork("shape", "C13", "--strings", "654")
    assert "9 and 13 are left out: the shape is C7." in shown.out
    heard = neckwork("hear", "C13", "--strings", "654", "--wav", str(tmp_path / "c13.wav"))
    assert "9 and 13 are left out: the shape is C7." in heard.err
    assert (tmp_path / "c13.wav").stat().st_size > 100_000


def test_an_option_that_a_command_has_not_is_answered_with_what_to_type(neckwork):
    """A deck is named by itself, and which there are is said, the player's own with them; what plays by itself needs no
    option for it; elsewhere the usual words."""
    assert neckwork("decks", "new", "mine", "--strings", "543", "--quality", "m7").code == 0
    for command in ("session", "cards", "phone"):
        ran = neckwork(command, "--deck", "mine")
        assert (ran.code, ran.out) == (2, "")
        assert f"--deck: a deck is named without it, such as neckwork {command} first; there are away, " in ran.err
        assert ", mine, minor, " in ran.err and "Traceback" not in ran.err
    assert "--play: track plays unless it writes a file; leave it out" in neckwork("track", "Cm7", "--play").err
    assert "--play: hear plays unless it writes a file; leave it out" in neckwork("hear", "Cm7", "--play").err
    assert "No such option '--deck'" in neckwork("shape", "Cm7", "--deck", "first").err
    assert "'--strings'" in neckwork("session", "--stringz", "543").err


def test_a_track_that_nothing_plays_names_the_file_it_can_be(neckwork, monkeypatch):
    """Without a way to sound there is nothing else for a track to do but to be written."""
    monkeypatch.setattr("drills.sound.playback.Playback", partial(Playback, lambda: []))
    said = "No sound: nothing on this machine plays it; --wav FILE writes it to a file that others play.\n"
    assert said in neckwork("track", "Cm7 F7").err
    assert said in neckwork("etude", "Cm7 F7", "--play").err


def test_a_new_deck_of_nothing_says_what_to_add(neckwork, tmp_path):
    """A name alone, or with string sets, holds no chords: what adds some is said, and nothing is written."""
    for more in ((), ("--strings", "543"), ("--root", "C")):
        ran = neckwork("decks", "new", "mine", *more)
        assert ran.code == 2 and "--quality, --key or --include, e.g. --quality m7,m7b5" in ran.err
    assert not list(tmp_path.rglob("*.toml"))


def test_strings_with_commas_are_one_set(neckwork):
    """6,5,4 is the set 6-5-4."""
    one, two = (neckwork("shape", "Cmaj7", "--strings", strings).out for strings in ("6,5,4", "654"))
    assert one == two != ""


def test_rest_wake_and_questions_survive_export_and_import(rested, tmp_path, monkeypatch):
    """Two rested, one woken, a question for the teacher and a kept fingering arrive as they were, and twice is once."""
    log_path = tmp_path / "home" / "log.sqlite3"
    with ReviewLog(log_path) as log:
        log.flag(RESTED[0], "which finger on the third?", NOW)
        log.lock("arpeggio/0+0.0+3.1+2.2+0.2+2", "1 4 3 1 4", NOW)
    rested("wake", "ii of Bb")
    rested("export", "-o", str(tmp_path / "kept.json"))
    with ReviewLog(log_path) as log:
        before = log.standing()
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "other"))
    for known in ("0 known already", "0 new"):
        assert known in rested("import", "--yes", str(tmp_path / "kept.json")).out
        with ReviewLog(tmp_path / "other" / "log.sqlite3") as log:
            after = log.standing()
        assert after == before
    assert after.rested == set(RESTED[:2])
    assert [event.body.text for event in after.flags] == ["which finger on the third?"]
    assert sorted(rested("wake").out.splitlines()) == ["Cm7, strings 5-4-3", "Cm7, strings 6-5-4"]


def test_what_a_hurting_hand_left_out_is_listed_and_brought_back(rested, tmp_path):
    """Beside the rested cards, by the name of the hand; the cards go on resting (drills/RULES.md, E)."""
    with ReviewLog(tmp_path / "home" / "log.sqlite3") as log:
        log.ticket("hurt:arpeggio/0+0", "95.2 Cm7 on 5-4-3", NOW)
    words = "the form of Cm7 on 5-4-3 and what reaches as far, 95 mm"
    assert rested("wake").out.splitlines()[-1] == f"hand: {words}"
    assert rested("wake", "hand").out == f"awake: {words}\n"
    assert len(rested("wake").out.splitlines()) == len(RESTED)
    ran = rested("wake", "hand")
    assert (ran.code, ran.out) == (0, "Nothing is left out for the hand.\n")
