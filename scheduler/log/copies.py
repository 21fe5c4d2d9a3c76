"""Keeps dated copies of a log beside it, in case the file is damaged."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.atomic_write import atomic_database
from scheduler.errors import LogError

if TYPE_CHECKING:
    from scheduler.log.review_log import ReviewLog

__all__ = ["KEPT", "KEPT_BYTES", "SAVED_SUFFIXES", "copies_of", "keep_copy", "refuse_lost"]

KEPT = 5
"""Most copies of one log."""

KEPT_BYTES = 500_000_000
"""Most bytes in all copies of one log together; the newest is kept whatever its size."""

SAVED_SUFFIXES = (".memory", ".counts")
"""What is saved beside a log bears its name with one of these."""

_DATED = re.compile(r"-\d{8}T\d{6}(?:-\d+)?")


def copies_of(path: Path) -> list[Path]:
    """The copies kept of the log at `path`, the oldest first."""
    folder = _folder(path)
    try:
        found = [
            one
            for one in folder.iterdir()
            if one.suffix == ".sqlite3"
            and one.name.startswith(path.stem)
            and _DATED.fullmatch(one.stem[len(path.stem) :])
        ]
    except OSError:
        return []
    return sorted(found, key=lambda one: one.name)


def refuse_lost(path: Path) -> None:
    """Raise LogError where a log has been and is no more: its file is empty or gone, and what it taught lies beside it.

    A log begun anew in its place would hide the loss. The message names the copies kept.
    """
    try:
        if path.stat().st_size:
            return
        lost = "is empty"
    except FileNotFoundError:
        lost = "is not there"
    except OSError:
        return  # whoever opens it says what is the matter
    beside = [
        one.name
        for one in (path.with_suffix(suffix) for suffix in SAVED_SUFFIXES)
        if one != path and one.is_file() and one.stat().st_size
    ]
    # Another program that makes this log gives the file its first page before it has a -wal; SQLite deletes one that
    # lies beside an empty file.
    wal = path.with_name(f"{path.name}-wal")
    if _has_bytes(wal) and not _has_bytes(path):
        beside.append(wal.name)
    if not beside or _has_bytes(path):
        return
    copies = copies_of(path)
    way = (
        f"put back the newest copy, {copies[-1]}"
        if copies
        else "no copy is kept: put back a backup, or import your last export into another file with --log"
    )
    raise LogError(
        f"log {path}: expected the log that {' and '.join(beside)} beside it came from, but the file {lost}; {way}. "
        f"To begin anew, move {' and '.join(beside)} away"
    )


def _has_bytes(path: Path) -> bool:
    try:
        return path.stat().st_size > 0
    except OSError:
        return False


def keep_copy(log: ReviewLog, at: datetime) -> Path:
    """Copy the log into the folder ``copies`` beside it, and let the oldest copies go; answers the new file.

    The copy is on the disk, under its name, when this returns. Raises LogError when it cannot be made.
    """
    from scheduler.log.schema import explained

    path = Path(log.path)
    folder = _folder(path)
    with explained(path, "copy"):
        folder.mkdir(mode=0o700, exist_ok=True)
        name = f"{path.stem}-{at:%Y%m%dT%H%M%S}"
        number = 0
        while (made := folder / f"{name}{f'-{number}' if number else ''}.sqlite3").exists():
            number += 1
        with atomic_database(made, rf"{re.escape(path.stem)}{_DATED.pattern}\.sqlite3") as part:
            log.copy_to(part)
    _let_go(copies_of(path))
    return made


def _folder(path: Path) -> Path:
    return path.parent / "copies"


def _let_go(copies: list[Path]) -> None:
    """Delete the oldest of the copies that are too many or too large, never the newest."""
    room = KEPT_BYTES
    for kept, one in enumerate(reversed(copies)):
        try:
            room -= one.stat().st_size
            if kept and (kept >= KEPT or room < 0):
                one.unlink()
        except OSError:
            continue  # an old copy that will not go costs room and nothing else
