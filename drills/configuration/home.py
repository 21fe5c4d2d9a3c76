"""Where a player's files live: one folder, `NECKWORK_HOME` or the platform's usual place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from drills.errors import SettingsError

__all__ = ["Home", "expanded", "find_home"]


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
    def constants(self) -> Path:
        """The memory's constants as fitted to this player, when `neckwork refit` kept any."""
        return self.folder / "constants.json"

    def make(self) -> None:
        """Makes the folder; raises SettingsError when that is not allowed."""
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
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
