"""The log's file: its tables, how they are brought up to date, and what can go wrong with it."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from urllib.parse import quote

from scheduler.errors import LogError, SchedulerError
from scheduler.log.copies import refuse_lost
from scheduler.review import new_id

__all__ = ["CLOCK_INDEX", "COLUMNS", "REFUSE_UPDATE", "SCHEMA_VERSION", "explained", "one_transaction", "open_database"]

SCHEMA_VERSION = 1
"""Number of the last migration, kept in the file's user_version."""

_APPLICATION_ID = 0x5EED_0CA4
"""Marks the file as a review log (SQLite's application_id), so that no other database is written to."""

COLUMNS = {
    "id": str,
    "log": str,
    "stamp_us": int,
    "clock_us": int,
    "offset_s": int,
    "kind": str,
    "card": str,
    "target": str,
    "subject": str,
    "value": str,
    "skills": str,
    "grade": int,
    "seconds": float,
    "attempt": str,
    "spent": float,
    "session": str,
    "slip": str,
    "tempo_bpm": float,
    "predicted": float,
}
"""The columns of an event after its `seq`; what a kind has no use for is NULL."""

REFUSE_UPDATE = (
    "CREATE TRIGGER events_no_update BEFORE UPDATE ON events "
    "BEGIN SELECT RAISE(ABORT, 'events are only ever appended'); END"
)
"""What makes the file itself refuse a change of an event."""

CLOCK_INDEX = "CREATE INDEX IF NOT EXISTS events_by_clock ON events(clock_us)"
"""Finds the reviews of the last days in a long log; a log without it gives the same answers, only later.

It holds every kind: one of reviews alone SQLite takes also where no time is asked for, and sorts the whole log after.
"""


def open_database(path: Path | str, writable: bool, busy_seconds: float) -> sqlite3.Connection:
    """The log at `path`, made or brought up to date if need be.

    A file opened for reading only is never changed. Raises LogError when
    the path cannot be opened, is something else than a log, or was written
    by a newer version.
    """
    with explained(path, "open"):
        connection = _connect(path, writable, busy_seconds)
        try:
            with one_transaction(connection):
                version = _version(connection, path)
            if writable:
                # FULL makes every commit reach the disk before it is acknowledged.
                connection.execute("PRAGMA synchronous=FULL")
                connection.execute("PRAGMA fullfsync=ON")
            if version < SCHEMA_VERSION:
                if not writable:
                    raise LogError(f"log {path}: expected a review log, got an empty file")
                _bring_up_to_date(connection, path, busy_seconds)
        except BaseException:
            connection.close()
            raise
    return connection


@contextmanager
def one_transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """A transaction that is wholly on the disk at its end, or undone where anything in it raises."""
    connection.execute("BEGIN")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        connection.rollback()
        raise


def _connect(path: Path | str, writable: bool, busy_seconds: float) -> sqlite3.Connection:
    if str(path) == ":memory:":
        return _copy_of_an_empty_log()
    path = Path(path)
    if path.is_dir():
        raise LogError(f"log {path}: expected a file, got a folder; give the file's name too")
    refuse_lost(path)
    if path.exists() and not path.is_file():
        raise LogError(f"log {path}: expected a file, got a pipe, device or socket; give another file name")
    if writable:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.exists():
            # What was played is the player's own; SQLite gives the files beside it the rights of the log. One that
            # is there is not opened besides SQLite: closing it would let go of the locks SQLite holds on it
            # (SQLite, "How To Corrupt An SQLite Database File", 2.2).
            os.close(os.open(path, os.O_CREAT | os.O_RDONLY, 0o600))
        return sqlite3.connect(path, timeout=busy_seconds, isolation_level=None)
    if not path.exists():
        raise LogError(f"log {path}: expected a review log, but there is no such file")
    # A finished log that lies in a folder we may not write to has no side
    # files, and SQLite reads it only when told that nobody else writes.
    address = f"file:{quote(str(path.absolute()))}?mode=ro"
    for suffix in ("", "&immutable=1"):
        connection = sqlite3.connect(address + suffix, uri=True, timeout=busy_seconds, isolation_level=None)
        try:
            connection.execute("SELECT 1 FROM sqlite_master").fetchone()
            return connection
        except sqlite3.OperationalError:
            connection.close()
            if suffix or Path(f"{path}-wal").exists():
                raise
    raise LogError(f"log {path}: cannot be read")


def _copy_of_an_empty_log() -> sqlite3.Connection:
    """A log in memory with an id of its own; copied, because making its tables takes ten times as long."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    _empty_log().backup(connection)
    connection.execute("UPDATE identity SET log = ?", (new_id(),))
    return connection


@cache
def _empty_log() -> sqlite3.Connection:
    """A log in memory that nobody writes to."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    _bring_up_to_date(connection, ":memory:", 0.0)
    return connection


def _version(connection: sqlite3.Connection, path: Path | str) -> int:
    """The schema version of the file, 0 for an empty one; refuses what is not a log of ours.

    Inside a transaction: another program may be making this log between two statements.
    """
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    holds_something = connection.execute("SELECT 1 FROM sqlite_master").fetchone()
    if mark != _APPLICATION_ID:
        if mark or version or holds_something:
            raise LogError(f"log {path}: expected a review log, got another program's database; give another file name")
        return 0
    if version > SCHEMA_VERSION:
        raise LogError(
            f"log {path}: expected schema version {SCHEMA_VERSION} or older, got {version}; "
            "it was written by a newer version of this program, which is the one to open it with"
        )
    return int(version)


def _bring_up_to_date(connection: sqlite3.Connection, path: Path | str, busy_seconds: float) -> None:
    # Only a log that is made or brought up to date needs the library: loading it is a tenth of a start.
    from sqlite_utils import Database

    from scheduler.log.migrations import migrations

    _use_write_ahead_log(connection, busy_seconds)
    # Two programs may find the file empty at once: the second waits here,
    # looks again, and finds nothing left to do.
    connection.execute("BEGIN IMMEDIATE")
    try:
        if _version(connection, path) < SCHEMA_VERSION:
            migrations().apply(Database(connection, recursive_triggers=False, execute_plugins=False))
            connection.execute(f"PRAGMA application_id={_APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version={SCHEMA_VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        connection.rollback()
        raise


def _use_write_ahead_log(connection: sqlite3.Connection, busy_seconds: float) -> None:
    # SQLite does not wait for its lock while it changes the journal mode.
    give_up = time.monotonic() + busy_seconds
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > give_up:
                raise
            time.sleep(0.01)


@contextmanager
def explained(path: Path | str, doing: str) -> Iterator[None]:
    """Turn what SQLite or the disk reports into a LogError that says what to do."""
    try:
        yield
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        advice = _ADVICE.get(code, "try again; if it stays, restore the log from a copy or an export")
        raise LogError(f"log {path}: cannot {doing} ({error}); {advice}") from error
    except SchedulerError:
        raise
    except OSError as error:
        raise LogError(f"log {path}: cannot {doing} ({error}); give a file in a folder you may write to") from error
    except (ArithmeticError, LookupError, TypeError, ValueError) as error:
        # An odd path, or a row that another program has put there.
        raise LogError(
            f"log {path}: cannot {doing} ({type(error).__name__}: {error}); check the path, "
            "or move the file away and import the last export"
        ) from error


_ADVICE = {
    sqlite3.SQLITE_BUSY: "another program holds the log; close it or try again",
    sqlite3.SQLITE_FULL: "the disk is full; make room and try again, nothing written before is lost",
    sqlite3.SQLITE_IOERR: "the disk may be full or gone; make room and try again, nothing written before is lost",
    sqlite3.SQLITE_READONLY: "the file or its folder may not be written to; give a log in a folder of your own",
    sqlite3.SQLITE_CANTOPEN: "the folder is missing, full or may not be written to; give a log in a folder of your own",
    sqlite3.SQLITE_NOTADB: "the file is not a review log; move it away, or give another file name",
    sqlite3.SQLITE_CORRUPT: "the file is damaged; move it away and import the last export",
    sqlite3.SQLITE_CONSTRAINT: "the log already holds an event of that id, or the event is not whole",
}
