"""Where a player's files live: one folder, `NECKWORK_HOME` or the platform's usual place; others' folders inside it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from drills.errors import SettingsError

__all__ = ["PLAYERS", "Home", "expanded", "find_home"]

PLAYERS = "players"
"""The folder of a home in which the homes of further players lie."""

_NAME = re.compile(r"[^\W_](?:[\w '-]{0,38}[\w'-])?")
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}
"""Names that Windows keeps for devices (Microsoft Learn, "Naming Files, Paths, and Namespaces")."""


@dataclass(frozen=True, slots=True)
class Home:
    """The player's folder; nothing in it is made before it is needed."""

    folder: Path

    @property
    def log(self) -> Path:
        """The log of reviews."""
        return self.folder / "log.sqlite3"

    @property
    def settings(self) -> Path:
        return self.folder / "settings.toml"

    @property
    def decks(self) -> Path:
        """The player's own decks and changes."""
        return self.folder / "decks"

    @property
    def qualities(self) -> Path:
        return self.folder / "qualities.toml"

    @property
    def tunings(self) -> Path:
        return self.folder / "tunings.toml"

    @property
    def lessons(self) -> Path:
        """A teacher's own book of lessons."""
        return self.folder / "lessons.toml"

    @property
    def constants(self) -> Path:
        """The memory's constants as fitted to this player, when `neckwork refit` kept any."""
        return self.folder / "constants.json"

    @property
    def sound_delays(self) -> Path:
        """How late a sound comes back in, for each pair of speaker and microphone, as `neckwork tuner` measured it."""
        return self.folder / "sound-delays.json"

    def players(self) -> list[str]:
        """The names of the players who have a home in this one."""
        try:
            folders = [one.name for one in (self.folder / PLAYERS).iterdir() if one.is_dir()]
        except OSError:
            return []
        return sorted(filter(_NAME.fullmatch, folders), key=str.casefold)

    def of_player(self, name: str) -> Home:
        """The home of a player of that name; nothing is made. Capitals make no difference to a name that is there.

        Raises SettingsError unless the name is 1 to 40 letters, digits, spaces, hyphens, underscores and
        apostrophes that begin with a letter or digit and end with no space.
        """
        import unicodedata  # only a player with a name pays for it

        plain = unicodedata.normalize("NFC", name)
        if not _NAME.fullmatch(plain) or plain.casefold() in _DEVICES:
            raise SettingsError(
                f"player {name[:60]!r}: expected 1 to 40 letters, digits, spaces, - and ', with a letter or digit first"
            )
        there = next((one for one in self.players() if one.casefold() == plain.casefold()), plain)
        return Home(self.folder / PLAYERS / there)

    def make(self) -> None:
        """Makes the folder; raises SettingsError when that is not allowed."""
        try:
            # Of the folders above, those of a home are for their owner alone, too: mkdir leaves that to the system.
            above = self.folder.parent
            for folder in (*((above.parent, above) if above.name == PLAYERS else ()), self.folder):
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise SettingsError(
                f"home folder {self.folder}: cannot be made ({error.strerror}); "
                "set NECKWORK_HOME to a folder you may write to"
            ) from error


def find_home(environ: Mapping[str, str]) -> Home:
    """The home that the environment names, else the platform's folder for user data."""
    if named := environ.get("NECKWORK_HOME"):
        return Home(expanded(named))
    from platformdirs import user_data_path

    return Home(user_data_path("neckwork", appauthor=False))


def expanded(name: str | Path) -> Path:
    """A path as typed, with ``~`` for a home folder put in; raises SettingsError when there is no such user."""
    try:
        return Path(name).expanduser()
    except RuntimeError:
        who = str(name).split("/", 1)[0]
        raise SettingsError(
            f"{str(name)[:80]}: expected a file or folder, but {who[:40]} is the home of nobody here; "
            "write ./ before a name that begins with ~"
        ) from None
