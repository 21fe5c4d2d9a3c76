"""A file opened for reading only if it is one: no pipe, device, socket or folder, and not endless.

It imports nothing of either package, so both may use it.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import BinaryIO

__all__ = ["MOST_BYTES", "open_plain"]

MOST_BYTES = 4_000_000_000
"""The largest file that is read at all, unless the caller says less: a log of a million reviews is a tenth of it."""

_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


def open_plain(path: Path | str, most_bytes: int = MOST_BYTES) -> BinaryIO:
    """The file, opened for its bytes without ever waiting for a writer.

    Raises OSError, whose words say what was expected and what came, for what is no file or is larger than
    `most_bytes`, and otherwise as `open` does.
    """
    _refuse_other(path, os.stat(path))  # before it is opened: opening a device may do something
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    file = os.fdopen(os.open(path, flags), "rb")
    try:
        found = os.fstat(file.fileno())
        _refuse_other(path, found)
        if found.st_size > most_bytes:
            raise OSError(errno.EFBIG, f"expected at most {most_bytes:,} bytes, got {found.st_size:,}", str(path))
    except BaseException:
        file.close()
        raise
    return file


def _refuse_other(path: Path | str, found: os.stat_result) -> None:
    for is_kind, kind in _KINDS:
        if is_kind(found.st_mode):
            raise OSError(errno.EINVAL, f"expected a file, got {kind}", str(path))
