"""Saves every whole event of a damaged log into a new one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from scheduler.atomic_write import atomic_database
from scheduler.errors import LogError, SchedulerError
from scheduler.log.contents import agrees
from scheduler.log.events import Event, check
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import from_row
from scheduler.log.schema import explained
from scheduler.log.seal import read_seal
from scheduler.review import Review

__all__ = ["Salvaged", "salvage"]


class Salvaged(NamedTuple):
    """What came of it: how many events are in the new log, and how many the damaged one held beside them."""

    saved: int
    lost: int


def salvage(damaged: Path, new: Path) -> Salvaged:
    """Make a log at `new` of every event of the log at `damaged` that is what was written; `damaged` stays as it is.

    An event that cannot be read, does not bear its checksum or is not fit for a log is left out. The new log takes its
    name when all of it is on the disk. Raises LogError when `new` exists, when nothing of the file can be opened, and
    as `ReviewLog` does.
    """
    if new.exists():
        raise LogError(f"log {new}: exists already; give the name of a new file")
    with ReviewLog(damaged, writable=False, checked=False) as log:
        counted = max(log.fingerprint().last_seq, read_seal(damaged).events)
        with explained(new, "write"):
            new.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        # There is nothing to check in the part yet, and a seal would bear its name.
        with explained(new, "write"), atomic_database(new) as part, ReviewLog(part, checked=False) as saved:
            added = saved.add(_whole(log))
    return Salvaged(added.new, max(0, counted - added.new))


def _whole(log: ReviewLog) -> Iterator[Event]:
    further: dict[str, str] = {}
    with suppress(LogError):  # what a newer version says beside is worth less than the events themselves
        further = log.further_fields()
    for row in log.whole_rows():
        try:
            event = replace(from_row(row), more=further.get(row[0], ""))
            if isinstance(event.body, Review):
                replace(event.body)  # reading sets the fields without the checks of a review
            yield agrees(check(event))
        except (SchedulerError, ArithmeticError, LookupError, TypeError, ValueError):
            continue
