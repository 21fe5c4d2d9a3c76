"""Finds the data/ and decks/ folders, in a checkout and in an installed wheel alike, and reads TOML."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from drills.errors import TableError
from scheduler.plain_file import open_plain

__all__ = ["MOST_TOML_BYTES", "data_file", "decks_folder", "read_toml", "toml_values"]

_PACKAGE = Path(__file__).resolve().parent.parent


@cache
def _folder(name: str) -> Path:
    # A wheel carries the folders inside the package; a checkout has them beside it.
    installed = _PACKAGE / "_shipped" / name
    return installed if installed.is_dir() else _PACKAGE.parent / name


def data_file(name: str) -> Path:
    """The path of a shipped table, e.g. ``qualities.toml``."""
    return _folder("data") / name


def decks_folder() -> Path:
    """The folder of the shipped decks and changes."""
    return _folder("decks")


MOST_TOML_BYTES = 10_000_000
"""The largest TOML file that is read: a deck of a thousand blocks is a hundredth of it."""


_DEEPEST_KEY = 200
"""Parts of one dotted key. The reader's time grows with their square, and two or three are all that is needed."""


def toml_values(text: str) -> dict[str, Any]:
    """What a TOML text says. Raises ValueError, with words, when it is not TOML or is made to be read for ever."""
    if _too_deep().search(text):
        raise ValueError(f"a key of more than {_DEEPEST_KEY} parts")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("nested too deeply") from None
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:
        # Python's own words name a setting of Python (int_max_str_digits).
        raise ValueError("a number of thousands of digits") from None


@cache
def _too_deep() -> re.Pattern[str]:
    part = r"""(?:"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[\w-]+)"""
    return re.compile(rf"(?:[ \t]*\.[ \t]*{part}){{{_DEEPEST_KEY}}}")


def read_toml(path: Path) -> dict[str, Any]:
    """The contents of a TOML file.

    Raises TableError naming the file when it is missing, not UTF-8 or not TOML.
    """
    try:
        with open_plain(path, MOST_TOML_BYTES) as file:
            return toml_values(file.read().decode("utf-8"))
    except ValueError as error:  # wrong TOML or wrong UTF-8
        raise TableError(f"{path}: not readable as TOML ({error}); mend that line and try again") from error
    except OSError as error:
        raise TableError(f"{path}: cannot be read ({error.strerror}); check the path") from error
