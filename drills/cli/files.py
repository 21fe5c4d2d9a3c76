"""Files that commands write: whole or not at all, never over the player's log, named as a terminal may show them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from drills.cli.player import Player
from drills.errors import SettingsError

__all__ = ["printable", "written"]


def printable(text: str) -> str:
    """A text without what a terminal would act on or cannot show: controls, and bytes that are no UTF-8."""
    return "".join(c if c.isprintable() or c == "\n" else f"\\x{ord(c):02x}" for c in text.replace("\t", "  "))


@contextmanager
def written(name: str, player: Player) -> Iterator[TextIO]:
    """A text file to fill: it takes the place of what bears the name only when all of it is there.

    Lines end as they are written. Raises SettingsError when the name is that of the log, and OSError.
    """
    path = Path(name).resolve()
    if path == player.log_path.resolve():
        raise SettingsError(f"{path}: this is your log; write to another file")
    if path.exists() and not path.is_file():  # a device or a pipe is written as it is
        with open(path, "w", encoding="utf-8", newline="") as out:
            yield out
        return
    unfinished = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with open(unfinished, "w", encoding="utf-8", newline="") as out:
            yield out
        os.replace(unfinished, path)
    except OSError as error:
        # Named as it was asked for, not as it is called while it is written.
        raise OSError(error.errno, error.strerror, name) from error
    finally:
        unfinished.unlink(missing_ok=True)
