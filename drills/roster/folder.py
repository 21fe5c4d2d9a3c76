"""Reads a folder of students' exported files; what cannot be read is named and passed over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from drills.errors import SettingsError
from drills.safe_text import one_line
from scheduler.errors import SchedulerError
from scheduler.log.events import Event
from scheduler.log.fold import LogState, fold
from scheduler.log.seal import SUFFIX
from scheduler.plain_file import open_plain

__all__ = ["Passed", "Read", "plain_name", "read_folder"]

_SQLITE = b"SQLite format 3\0"
_BESIDE_A_LOG = ("-wal", "-shm", "-journal", SUFFIX)
_NOBODY = "0" * 24
"""The log id given to reviews read from a CSV. Nothing is written, so the id belongs to no real log."""


@dataclass(frozen=True, slots=True)
class Passed:
    """A file that was passed over, by its name, and why, in one line."""

    file: str
    reason: str


@dataclass(frozen=True, slots=True)
class Read:
    """What a folder holds. logs: what each student's files say, by the name of the file without its ending."""

    logs: dict[str, LogState]
    passed: tuple[Passed, ...]


def plain_name(name: str) -> str:
    """A file's name as a screen may show it: what is not printable becomes ``?``."""
    return one_line("".join(c if c.isprintable() else "?" for c in name))


def read_folder(folder: Path | str) -> Read:
    """Reads every file of a folder: exports as JSON or CSV, and logs.

    Two files of one name (``Student 3.json`` and ``Student 3.csv``) are one student's, and are
    united. Hidden files and folders are no one's. Raises SettingsError when the folder cannot be listed.
    """
    folder = Path(folder)
    try:
        files = sorted(path for path in folder.iterdir() if _is_meant(path))
    except OSError as error:
        raise SettingsError(
            f"roster {folder}: cannot be read ({error.strerror}); give the folder of the students' exported files"
        ) from error
    found: dict[str, list[Event]] = {}
    passed = []
    for path in files:
        try:
            events = list(_events(path))
            found.setdefault(plain_name(path.stem), []).extend(events)
        except (SchedulerError, OSError, ValueError) as error:
            passed.append(Passed(plain_name(path.name), _reason(error, path)))
    return Read({name: fold(events) for name, events in found.items()}, tuple(passed))


def _is_meant(path: Path) -> bool:
    return not path.name.startswith(".") and not path.name.endswith(_BESIDE_A_LOG) and not path.is_dir()


def _events(path: Path) -> Iterator[Event]:
    from drills.cards.slips import SLIPS
    from scheduler.log.interchange import read_events

    with open_plain(path) as file:
        beginning = file.read(len(_SQLITE))
        if beginning != _SQLITE:
            file.seek(0)
            yield from read_events(file, path.name, _NOBODY, SLIPS)
            return
    from scheduler.log.review_log import ReviewLog

    with ReviewLog(path, writable=False) as log:
        yield from log.events()


def _reason(error: Exception, path: Path) -> str:
    """The error in one line, without the file's name, which stands beside it."""
    said = (error.strerror or "cannot be read") if isinstance(error, OSError) else str(error)
    said = " ".join(said.replace(str(path), path.name).split())
    return plain_name(said.removeprefix(path.name).lstrip(" ,:"))
