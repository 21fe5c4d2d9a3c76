"""Several players on one machine: each with a home of their own in the home, and every command knows it."""

from __future__ import annotations

import io
from pathlib import Path

import click
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.cli import COMMANDS, group
from drills.configuration.home import Home
from drills.errors import SettingsError
from scheduler.log.review_log import ReviewLog


def _commands(command, ctx, words=()):
    yield words, command
    if isinstance(command, click.Group):
        for name in command.list_commands(ctx):
            yield from _commands(command.get_command(ctx, name), ctx, (*words, name))


def test_every_command_takes_a_player():
    """The tool itself, every command and every command under one, each exactly once."""
    ctx = click.Context(group)
    for _ in range(2):
        found = dict(_commands(group, ctx))
        assert len(found) > len(COMMANDS) + 6
        assert [
            words for words, one in found.items() if [param.name for param in one.params].count("player_name") != 1
        ] == []


@pytest.mark.parametrize(
    "args", [("--player", "Anna", "log"), ("log", "--player", "Anna"), ("log", "mend", "--player", "anna")]
)
def test_a_player_has_a_home_of_their_own(neckwork, tmp_path, args):
    """Log, settings and decks lie in the player's folder, wherever the option stands and however it is spelled."""
    home = tmp_path / "home"
    theirs = home / "players" / "Anna"
    assert neckwork("setup", "--player", "Anna", "--capo", "2").code == 0
    assert (theirs / "settings.toml").is_file() and not (home / "settings.toml").exists()
    with ReviewLog(theirs / "log.sqlite3"):
        pass
    ran = neckwork(*args)
    assert ran.code == 0 and str(theirs / "log.sqlite3") in ran.out
    assert "fret 2" in neckwork("setup", "--player", "anna").out
    assert "fret 2" not in neckwork("setup").out
    ran = neckwork("decks", "new", "mine", "--strings", "654", "--quality", "m7", "--player", "Anna")
    assert ran.code == 0, ran.err
    assert (theirs / "decks" / "mine.toml").is_file()
    assert "no such deck" in neckwork("cards", "mine").err
    assert neckwork("cards", "mine", "--player", "Anna").code == 0


def _first_screen(neckwork, monkeypatch, *args):
    monkeypatch.setattr("sys.stdin", io.StringIO("q\n"))
    return neckwork("session", "--plain", "--quiet", *args).out.splitlines()[0]


def test_the_first_screen_names_the_player_where_there_are_several(neckwork, tmp_path, monkeypatch):
    """One player is not named; a new one is called new; with two, each is named, and so is nobody in particular."""
    title = _first_screen(neckwork, monkeypatch)
    assert "Player" not in title
    assert _first_screen(neckwork, monkeypatch, "--player", "Anna") == "Player Anna, new here."
    assert _first_screen(neckwork, monkeypatch, "--player", "Anna") == "Player Anna."
    assert _first_screen(neckwork, monkeypatch, "--player", "bo") == "Player bo, new here."
    assert _first_screen(neckwork, monkeypatch) == "Player without a name; --player for Anna, bo."
    for folder in ("home", "home/players", "home/players/Anna"):
        assert (tmp_path / folder).stat().st_mode & 0o777 == 0o700


def test_only_asking_makes_no_player(neckwork, tmp_path):
    """A name mistyped in a command that reads leaves no folder."""
    assert neckwork("progress", "--player", "Ana").code in (0, 1)
    assert neckwork("shape", "Cm7", "--player", "Ana").code == 0
    assert neckwork("wake", "--player", "Ana").code == 0
    assert not (tmp_path / "home" / "players" / "Ana").exists()


@pytest.mark.parametrize(
    "name",
    ["", " ", "..", ".", "../x", "a/b", "a\\b", "-x", "a.b", "CON", "lpt1", "x" * 41, "a\0", "a\n", "a ", "\x1b[2J"],
)
def test_a_name_that_is_not_safe_is_refused(neckwork, tmp_path, name):
    """No way out of the folder, no device, nothing a terminal would act on; nothing is made."""
    ran = neckwork("session", "--plain", "--player", name)
    assert ran.code == 1 and "expected 1 to 40 letters" in ran.err
    assert ran.err.isascii() and "\x1b" not in ran.err
    assert not (tmp_path / "home" / "players").exists()


@given(st.text(max_size=50))
def test_any_name_stays_in_the_folder_or_is_refused(name):
    """A home that a name leads to lies right under the folder of players."""
    home = Home(Path("/nowhere"))
    try:
        theirs = home.of_player(name)
    except SettingsError:
        return
    assert theirs.folder.parent == home.folder / "players"
    assert theirs.folder.name.isprintable() and 0 < len(theirs.folder.name) <= 40
