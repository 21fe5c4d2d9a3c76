"""The seal of a log: how many events it held and what its content was when it was last closed in order.

It lies beside the log (``log.seal``) and is no part of it. A log whose content bears the seal is whole and is opened
at once; any other is checked event by event first. A log that holds fewer events than were counted has lost its end:
SQLite takes a damaged end of its write-ahead log for one that was never written, and says nothing. Deleting the
seal costs one slower start.
"""

from __future__ import annotations

import json
import os
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple
from zlib import crc32

__all__ = ["MOST_BYTES", "NO_SEAL", "SUFFIX", "Seal", "SealFile", "content_sum", "read_seal"]

MOST_BYTES = 32 << 20
"""A log of more bytes (about 100,000 events) is not checked when it is opened: it would take a second or more."""

SUFFIX = ".seal"

_HEAD = "review log seal 1"
_LONGEST = 4_000


class Seal(NamedTuple):
    """What is known of a log. log: its id. events: how many it held. content: `content_sum`, None while it is open."""

    log: str
    events: int
    content: int | None


NO_SEAL = Seal("", 0, None)


def content_sum(connection: sqlite3.Connection) -> int | None:
    """A sum over all pages of the log, those in its write-ahead log too; None for one of more than MOST_BYTES."""
    (pages,), (size,) = (connection.execute(f"PRAGMA {name}").fetchone() for name in ("page_count", "page_size"))
    if pages * size > MOST_BYTES:
        return None
    try:
        return crc32(connection.serialize())
    except (AttributeError, sqlite3.Error):  # SQLite may be built without it: then every opening checks
        return None


def read_seal(log_path: Path) -> Seal:
    """The seal beside a log; NO_SEAL where there is none that can be read."""
    try:
        with _path(log_path).open("rb") as file:
            line = file.read(_LONGEST).partition(b"\n")[0]
        head, check, text = line.decode("ascii").split("\t")
        if head != _HEAD or check != f"{crc32(text.encode()):08x}":
            return NO_SEAL
        log, events, content = json.loads(text)
        return Seal(str(log), int(events), None if content is None else int(content))
    except (OSError, ValueError, TypeError):
        return NO_SEAL


class SealFile:
    """The seal as its log's writer keeps it. Where it cannot be written, nothing is lost but its use."""

    def __init__(self, log_path: Path) -> None:
        self._handle: int | None = None
        path = _path(log_path)
        with suppress(OSError):
            if path != log_path and _is_ours(path):
                self._handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)

    def write(self, seal: Seal) -> None:
        """Put the seal on file in one write, which no kill divides; it is not synced, for a stale one does no harm."""
        if self._handle is None:
            return
        text = json.dumps(seal)
        line = f"{_HEAD}\t{crc32(text.encode()):08x}\t{text}\n".encode()
        with suppress(OSError):
            # What a longer one leaves over must not count: the line ends, and blanks cover the rest.
            os.pwrite(self._handle, line.ljust(os.fstat(self._handle).st_size), 0)

    def close(self) -> None:
        """Let go of the file; closing twice is harmless."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None


def _path(log_path: Path) -> Path:
    return log_path.with_suffix(SUFFIX)


def _is_ours(path: Path) -> bool:
    """Whether the path is free to write to: nothing is there, an empty file, or a seal."""
    try:
        if path.exists() and not path.is_file():
            return False
        with path.open("rb") as file:
            head = file.read(len(_HEAD))
    except FileNotFoundError:
        return True
    return not head.strip(b"\0") or head == _HEAD.encode()
