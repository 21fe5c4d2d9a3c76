"""A log in and out of files: export, import, and joining the logs of several machines."""

from __future__ import annotations

import io
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from scheduler.errors import LogError, ReviewError
from scheduler.log.events import Event, Slip
from scheduler.review import Review

if TYPE_CHECKING:
    from scheduler.log.review_log import Added, ReviewLog

__all__ = ["export_csv", "export_json", "import_file", "join", "read_events"]

_SQLITE_BEGINNING = b"SQLite format 3\0"


def export_json(log: ReviewLog, out: TextIO) -> int:
    """Write every event of `log` to `out` as one JSON document; answers how many.

    The document holds random ids and what was played, and no name of a
    machine, a person or a folder.
    """
    from scheduler.log.interchange_json import write_json

    return write_json(log.events(), out)


def export_csv(
    log: ReviewLog,
    out: TextIO,
    columns: Mapping[str, Callable[[str], str]] | None = None,
    keep: Callable[[Review], bool] | None = None,
) -> int:
    """Write the reviews in effect to `out`, opened with ``newline=""``; answers how many.

    columns: the caller's own, each a name and what to write for a card's id. keep: which reviews to
    write, all by default.
    """
    from scheduler.log.interchange_csv import write_csv

    return write_csv(log.review_rows(), out, columns, keep, f"log {log.path}")


def read_events(content: bytes, name: str, log: str, slips: Collection[str] | None = None) -> Iterator[Event]:
    """The events in an exported file, JSON or CSV, one at a time.

    content: the file's bytes. name: what to call it in messages. log: id of
    the log that reviews of a CSV are to belong to. slips: the words that a slip
    may be, any by default. Raises ReviewError with file, line and field for
    anything else.
    """
    from scheduler.log.interchange_csv import read_csv
    from scheduler.log.interchange_json import read_json

    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise ReviewError(
            f"{name}, line {line}: expected UTF-8 text, got the byte 0x{content[error.start]:02x}; "
            "is this an exported file?"
        ) from None
    is_json = text.lstrip()[:1] == "{"
    events = read_json(text, name) if is_json else read_csv(io.StringIO(text, newline=""), name, log)
    for event in events:
        if slips is not None and isinstance(event.body, Review | Slip) and event.body.slip not in (None, *slips):
            raise ReviewError(
                f"{name}, {event.kind} {event.id!r}, slip: expected one of {', '.join(slips)}, "
                f"got {event.body.slip!r:.80}"
            )
        yield event


def import_file(log: ReviewLog, path: Path | str, slips: Collection[str] | None = None) -> Added:
    """Take in an exported file, or another log: all of it or, on an error, nothing.

    slips: the words that a slip in an exported file may be, any by default.
    Raises LogError when the file cannot be read and ReviewError when something in it is not right.
    """
    try:
        with open(path, "rb") as file:
            content = file.read(len(_SQLITE_BEGINNING))
            if content == _SQLITE_BEGINNING:
                return log.join(path)
            content += file.read()
    except (OSError, ValueError) as error:
        raise LogError(f"{path}: cannot be read ({error}); give an exported file or a log") from error
    return log.add(read_events(content, str(path), log.id, slips))


def join(log: ReviewLog, others: Iterable[Path | str]) -> Added:
    """Take the events of other logs into `log`; in which order makes no difference.

    Joining is union by id, so it is commutative, associative and idempotent,
    and what any side has undone stays undone.
    """
    from scheduler.log.review_log import Added

    results = [log.join(other) for other in others]
    return Added(sum(one.new for one in results), sum(one.known for one in results))
