"""Reads a folder of students' exported files; what cannot be read, and an older copy, is named and passed over."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from drills.errors import SettingsError
from drills.roster.one_log import NOBODY, Sent, newest_of_each
from drills.safe_text import one_line
from scheduler.days.ask_of_day import Ask
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_number
from scheduler.errors import SchedulerError
from scheduler.log.events import Event
from scheduler.log.fold import LogState, fold
from scheduler.log.seal import SUFFIX
from scheduler.plain_file import open_plain
from scheduler.review import Review
from scheduler.statistics.first_tries import asks

__all__ = ["Passed", "Read", "StudentLog", "plain_name", "read_folder"]

_SQLITE = b"SQLite format 3\0"
_DATED = re.compile(r"(?<=.)-\d{4}-\d{2}-\d{2}(?: ?\(\d+\))?$")
"""The end of the name of a file that a phone page saves, and what a browser adds to a name that is there already."""

_BESIDE_A_LOG = ("-wal", "-shm", "-journal", SUFFIX)


@dataclass(frozen=True, slots=True)
class Passed:
    """A file that was passed over, by its name, and why, in one line."""

    file: str
    reason: str


@dataclass(frozen=True, slots=True)
class StudentLog:
    """What a student's files say. days: the player's own practice days that came with the reviews, by review id.

    Where a review came without, its day is told by its own clock and the usual hour: whoever reads the folder lives by
    another clock, and changes no day of a student's.
    """

    state: LogState
    days: Mapping[str, int] = field(default_factory=dict)

    def asks(self) -> Iterator[tuple[Review, int, Ask]]:
        """Each review in effect with the number of its practice day and what it was on it."""
        return asks(self.state.reviews, DAY_STARTS_AT_HOUR, self.days)

    def first_tries(self) -> Iterator[tuple[Review, int]]:
        """Those that were first tries."""
        return ((review, day) for review, day, ask in self.asks() if ask is Ask.FIRST_TRY)


@dataclass(frozen=True, slots=True)
class Read:
    """What a folder holds. logs: what each student's files say, by the name of the file without its ending."""

    logs: dict[str, StudentLog]
    passed: tuple[Passed, ...]


def plain_name(name: str) -> str:
    """A file's name as a screen may show it: what is not printable becomes ``?``."""
    return one_line("".join(c if c.isprintable() else "?" for c in name))


def read_folder(folder: Path | str, until: date | None = None) -> Read:
    """Reads every file of a folder: exports as JSON or CSV, and logs.

    until: the last practice day that is read; what happened after it, of whatever kind, is as if it had not. Two
    files of one name (``Student 3.json`` and ``Student 3.csv``) are one student's, and are united; so are those that
    a phone page saves day by day (``Student 3-2026-09-07.json``). Of files under
    several names that hold one log the newest counts alone. Hidden files and folders are no one's. Raises
    SettingsError when the folder cannot be listed.
    """
    folder = Path(folder)
    try:
        files = sorted(path for path in folder.iterdir() if _is_meant(path))
    except OSError as error:
        raise SettingsError(
            f"roster {folder}: cannot be read ({error.strerror}); give the folder of the students' exported files"
        ) from error
    found: dict[str, Sent] = {}
    passed = []
    for path in files:
        name, days = plain_name(_DATED.sub("", path.stem)), dict[str, int]()
        try:
            events = list(_events(path, days))
        except (SchedulerError, OSError, ValueError) as error:
            passed.append(Passed(plain_name(path.name), _reason(error, path)))
            continue
        sent = found.setdefault(name, Sent(name, [], [], {}))
        sent.files.append(plain_name(path.name))
        sent.events.extend(events)
        sent.days.update(days)
    kept, older = newest_of_each(found.values())
    logs = {one.name: StudentLog(fold(_up_to(one, until)), one.days) for one in kept}
    return Read(logs, (*passed, *(Passed(*each) for each in older)))


def _up_to(sent: Sent, until: date | None) -> Iterator[Event]:
    """The events of the days that are read."""
    for event in sent.events:
        day = sent.days.get(event.id)
        if until is None or (practice_day_number(event.at) if day is None else day) <= until.toordinal():
            yield event


def _is_meant(path: Path) -> bool:
    return not path.name.startswith(".") and not path.name.endswith(_BESIDE_A_LOG) and not path.is_dir()


def _events(path: Path, days: dict[str, int]) -> Iterator[Event]:
    from drills.cards.slips import SLIPS
    from scheduler.log.interchange import read_events

    with open_plain(path) as file:
        beginning = file.read(len(_SQLITE))
        if beginning != _SQLITE:
            file.seek(0)
            yield from read_events(file, path.name, NOBODY, SLIPS, days)
            return
    from scheduler.log.review_log import ReviewLog

    with ReviewLog(path, writable=False) as log:
        yield from log.events()


def _reason(error: Exception, path: Path) -> str:
    """The error in one line, without the file's name, which stands beside it."""
    said = (error.strerror or "cannot be read") if isinstance(error, OSError) else str(error)
    said = " ".join(said.replace(str(path), path.name).split())
    return plain_name(said.removeprefix(path.name).lstrip(" ,:"))
