"""A log in and out of files: export, import, and joining the logs of several machines."""

from __future__ import annotations

import codecs
import io
from collections.abc import Collection, Generator, Iterable, Iterator, MutableMapping
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from scheduler.errors import LogError, ReviewError, SchedulerError
from scheduler.log.events import AHEAD_LIMIT, Event, Slip, as_us
from scheduler.log.iso import stamp_text
from scheduler.plain_file import open_plain
from scheduler.review import Review

if TYPE_CHECKING:
    from scheduler.log.review_log import Added, Foreseen, ReviewLog

__all__ = [
    "events_of_file",
    "foresee_file",
    "import_file",
    "is_table",
    "join",
    "not_ahead",
    "read_events",
]

_HEAD_BYTES = 4_096
_SQLITE_BEGINNING = b"SQLite format 3\0"


def read_events(
    content: bytes | BinaryIO,
    name: str,
    log: str,
    slips: Collection[str] | None = None,
    days: MutableMapping[str, int] | None = None,
) -> Iterator[Event]:
    """The events in an exported file, JSON or CSV, one at a time.

    content: the file's bytes, or the file opened for them, which is read in pieces. name: what to call it in
    messages. log: id of the log that reviews of a CSV are to belong to. slips: the words that a slip
    may be, any by default. days: filled, where given, with the practice day of each review that came with one, by
    the review's id. Raises ReviewError with file, line and field for anything else.
    """
    from scheduler.log.interchange_csv import read_csv
    from scheduler.log.interchange_json import read_json

    file = io.BytesIO(content) if isinstance(content, bytes) else content
    begins = file.tell()
    is_json = file.read(_HEAD_BYTES).removeprefix(codecs.BOM_UTF8).lstrip().startswith(b"{")
    file.seek(begins)
    text = io.TextIOWrapper(file, encoding="utf-8-sig", newline="")
    try:
        for event in read_json(text, name, days) if is_json else read_csv(text, name, log, days):
            if slips is not None and isinstance(event.body, Review | Slip) and event.body.slip not in (None, *slips):
                raise ReviewError(
                    f"{name}, {event.kind} {event.id!r}, slip: expected one of {', '.join(slips)}, "
                    f"got {event.body.slip!r:.80}"
                )
            yield event
    except UnicodeDecodeError:
        file.seek(begins)
        raise _not_text(file, name) from None
    finally:
        with suppress(ValueError):
            text.detach()  # the file is the caller's, who closes it


def _not_text(file: BinaryIO, name: str) -> ReviewError:
    """What is wrong with a file that is no text, named by the line of its first wrong byte."""
    line = 1
    for raw in file:  # no byte of a letter of UTF-8 is that of a line end
        try:
            raw.decode("utf-8")
        except UnicodeDecodeError as error:
            return ReviewError(
                f"{name}, line {line}: expected UTF-8 text, got the byte 0x{raw[error.start]:02x}; "
                "is this an exported file?"
            )
        line += 1
    return ReviewError(f"{name}: expected UTF-8 text; is this an exported file?")


def import_file(
    log: ReviewLog, path: Path | str, slips: Collection[str] | None = None, now: datetime | None = None
) -> Added:
    """Take in an exported file, or another log: all of it or, on an error, nothing.

    slips: the words that a slip in an exported file may be, any by default. now: what `not_ahead` measures
    from, the clock by default.
    Raises LogError when the file cannot be read and ReviewError when something in it is not right.
    """
    at = now or datetime.now().astimezone()
    with closing(events_of_file(path, log.id, slips, now)) as events:
        return log.add(events, contents=not is_table(path), source=Path(path).name, at=at)


def foresee_file(
    log: ReviewLog, path: Path | str, slips: Collection[str] | None = None, now: datetime | None = None
) -> Foreseen:
    """What `import_file` would change; nothing is. The rest is as there."""
    with closing(events_of_file(path, log.id, slips, now)) as events:
        return log.foresee(events, contents=not is_table(path))


def is_table(path: Path | str) -> bool:
    """Whether a file holds reviews as a table, not whole events; raises LogError when it cannot be read."""
    try:
        with open_plain(path) as file:
            head = file.read(_HEAD_BYTES)
    except (OSError, ValueError) as error:
        raise LogError(f"{path}: cannot be read ({_reason(error)}); give an exported file or a log") from error
    return not (head.startswith(_SQLITE_BEGINNING) or head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"{"))


def _reason(error: Exception) -> str:
    """What is wrong, without the number and the name that the system puts around it."""
    return (error.strerror if isinstance(error, OSError) else "") or str(error)


def events_of_file(
    path: Path | str, log: str, slips: Collection[str] | None = None, now: datetime | None = None
) -> Generator[Event, None, None]:
    """The events of an exported file or of another log, one at a time; what `import_file` takes in.

    log: id of the log that reviews of a CSV are to belong to. The rest, and what is raised, is as there.
    """
    from scheduler.log.review_log import ReviewLog

    try:
        with open_plain(path) as file:
            if file.read(len(_SQLITE_BEGINNING)) != _SQLITE_BEGINNING:
                file.seek(0)
                yield from not_ahead(read_events(file, str(path), log, slips), str(path), now)
                return
    except (OSError, ValueError) as error:
        if isinstance(error, SchedulerError):
            raise
        raise LogError(f"{path}: cannot be read ({_reason(error)}); give an exported file or a log") from error
    with ReviewLog(path, writable=False) as other:
        yield from not_ahead(other.events(), str(path), now)


def not_ahead(events: Iterable[Event], name: str, now: datetime | None = None) -> Iterator[Event]:
    """The same events, as long as none is stamped more than `AHEAD_LIMIT` after `now`, the clock by default.

    A log stamps each event past its latest one, so a single stamp far ahead pulls all later ones after it.
    Raises ReviewError naming the first such event. name: the file's, for messages.
    """
    limit = as_us((now or datetime.now(UTC)) + AHEAD_LIMIT)
    for event in events:
        if event.stamp_us > limit:
            raise ReviewError(
                f"{name}, {event.kind} {event.id!r}, stamp: expected at most 48 hours ahead of this machine's clock, "
                f"got {stamp_text(event.stamp_us)}; nothing was taken in. If the clock here is right, run "
                "neckwork log mend where the file comes from, and export it again"
            )
        yield event


def join(log: ReviewLog, others: Iterable[Path | str]) -> Added:
    """Take the events of other logs into `log`; in which order makes no difference.

    Joining is union by id, so it is commutative, associative and idempotent,
    and what any side has undone stays undone.
    """
    from scheduler.log.review_log import Added

    results = [log.join(other) for other in others]
    return Added(sum(one.new for one in results), sum(one.known for one in results))
