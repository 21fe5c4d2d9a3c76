"""Writes the files of commands, whole or not at all, never over a log."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

import click

from drills.cli.player_files import PlayerFiles
from drills.configuration.home import expanded
from drills.errors import SettingsError
from scheduler.atomic_write import atomic_write

__all__ = ["OUT_FILE", "written"]

_DATABASE = (b"SQLite format 3\0", b"\x37\x7f\x06")
"""How a database begins, and the journal beside it (SQLite file format, sections 1.3 and 4.1)."""


class _OutFile(click.ParamType[str]):
    """The name of a file to write, never that of a log, wherever the log lies and whatever it is called.

    Raises SettingsError for a file that is one. What else cannot be written is said by whoever writes.
    """

    name = "file"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        path = expanded(value)
        head = b""
        try:
            if path.is_file():
                with open(path, "rb") as file:
                    head = file.read(16)
        except OSError:
            return value
        if head.startswith(_DATABASE):
            raise SettingsError(f"{path}: this is a log of reviews; write to another file")
        return value


OUT_FILE = _OutFile()


@contextmanager
def written(name: str, player: PlayerFiles) -> Iterator[TextIO]:
    """A text file to fill, as `atomic_write` gives it.

    Raises SettingsError when the name is that of the log, and OSError.
    """
    path = expanded(name)
    if path.resolve() == player.log_path.resolve():
        raise SettingsError(f"{path.resolve()}: this is your log; write to another file")
    with atomic_write(path) as out:
        yield out
