"""A checksum beside every event, so that a damaged row is never taken for what was played.

SQLite keeps checksums of its write-ahead log only, none of the file itself: a bit that flips on the disk in a grade or
a time would be read as another grade or time. The sums stand in a table of their own, so that no damage to an
event's row reaches its sum, and a row that has gone leaves its sum behind. A version that knows nothing of them adds
events without; those are read as they are, and get their sums at the next write.

The sum is CRC-32 (ITU-T V.42), which tells every damage of up to 32 bits in a row and all but one in four thousand
million of others. It guards against faults of disks, not against people who mean to forge a log.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any
from zlib import crc32

from scheduler.log.schema import COLUMNS

__all__ = [
    "PART",
    "damage",
    "damage_in_part",
    "make_sums",
    "row_sum",
    "sum_again",
    "sum_import",
    "sum_new",
    "whole_rows",
]

_TABLE = "CREATE TABLE IF NOT EXISTS sums (seq INTEGER PRIMARY KEY, sum INTEGER NOT NULL) STRICT"
_TRIGGERS = tuple(
    f"CREATE TRIGGER IF NOT EXISTS sums_of_{table} AFTER UPDATE ON {table} BEGIN DELETE FROM sums WHERE {which}; END"
    for table, which in (("events", "seq = OLD.seq"), ("identity", "seq = 0"))
)
"""A version that knows of no sums may bring stamps back; the old sums must not stand against what it wrote."""

_ALL = ", ".join(COLUMNS)
_FORM = "\x1f".join(["%s"] * (len(COLUMNS) + 1))
PART = 10_000
"""Events of a long log that are checked at one start: about 50 ms, and a log of 300,000 within a month."""

_LOG_ID_SEQ = 0
"""Events are numbered from 1; the sum of the log's own id stands under this number, those of imports below it."""

_ROWS = f"SELECT seq, {_ALL} FROM events NOT INDEXED"
_SUMMED = f"""
SELECT s.sum, e.seq, {", ".join("e." + name for name in COLUMNS)}
FROM events e NOT INDEXED LEFT JOIN sums s ON s.seq = e.seq ORDER BY e.seq
"""
_SUMMED_PART = _SUMMED.replace("ORDER BY", "WHERE e.seq BETWEEN ? AND ? ORDER BY")
_ORPHANS = "SELECT count(*) FROM sums WHERE seq > 0 AND seq NOT IN (SELECT seq FROM events)"
_IMPORTED = "SELECT first_seq, last_seq, source, at FROM imports"
_AT_ONCE = 5_000
_ADD = "INSERT OR REPLACE INTO sums VALUES (?, ?)"
_LAST = tuple(f"SELECT max(seq) FROM {table}" for table in ("sums", "events NOT INDEXED"))
_ONE = f"{_ROWS} WHERE seq = ?"
_ONE_SUM = "SELECT sum FROM sums WHERE seq = ?"


def row_sum(row: tuple[Any, ...]) -> int:
    """The sum of a row, its `seq` and all of COLUMNS as SQLite answers them: a number from 0 to 2^32 - 1."""
    return crc32((_FORM % row).encode("utf-8", "surrogatepass"))


def make_sums(connection: sqlite3.Connection) -> None:
    """Make the table where it is missing; nothing is written where it is there."""
    for statement in (_TABLE, *_TRIGGERS):
        connection.execute(statement)


def sum_new(connection: sqlite3.Connection) -> None:
    """Add the sums of all events past the last that has one, and of the log's id; inside a transaction."""
    (last,) = connection.execute("SELECT max(seq) FROM sums").fetchone()
    if last is None:
        _sum_log_id(connection)
    _sum_after(connection, last or 0)


def sum_import(connection: sqlite3.Connection) -> None:
    """Add the sum of what is remembered of the last import, under the number of its first event, below zero."""
    number, *row = connection.execute(f"{_IMPORTED} ORDER BY first_seq DESC LIMIT 1").fetchone()
    connection.execute(_ADD, (-number, crc32(repr(row).encode())))


def sum_again(connection: sqlite3.Connection, after: int) -> None:
    """Add anew the sums of all events numbered past `after`, and of the log's id; inside a transaction."""
    _sum_log_id(connection)
    _sum_after(connection, after)


def damage(connection: sqlite3.Connection, most: int = 5) -> list[str]:
    """What is wrong with the file, in at most `most` sentences and one; none when it is whole.

    SQLite's own check of pages and indexes (``PRAGMA integrity_check``) comes first, then the sums. What it costs
    is said in scheduler/log/README.md.
    """
    rows = connection.execute(f"PRAGMA integrity_check({most:d})").fetchall()
    if rows != [("ok",)]:
        return [found for (found,) in rows]
    if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'sums' AND type = 'table'").fetchone():
        return []
    found = []
    for number, (told, *values) in enumerate(connection.execute(_SUMMED), 1):
        row = tuple(values)
        if row[0] != number:
            found.append(f"the event numbered {number} is missing")
            break
        if told is not None and told != row_sum(row):
            found.append(f"event {row[1]!r:.80}, number {number}: it is not what was written, by its checksum")
            if len(found) == most:
                return found
    (orphans,) = connection.execute(_ORPHANS).fetchone()
    if orphans:
        found.append(f"{orphans} events are missing whose checksums are there")
    found += _imports_damaged(connection)
    told_id = connection.execute("SELECT sum FROM sums WHERE seq = ?", (_LOG_ID_SEQ,)).fetchone()
    if told_id not in (None, (_log_id_sum(connection),)):
        found.append("the log's own id is not what was written, by its checksum")
    return found


def damage_in_part(connection: sqlite3.Connection, part: int) -> list[str]:
    """The first event of one part of a long log that is missing or not what was written, in a sentence; else nothing.

    part: a number that goes up, such as that of a day; the parts, PART events each, take turns.
    """
    if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'sums' AND type = 'table'").fetchone():
        return []
    (last,) = connection.execute("SELECT coalesce(max(seq), 0) FROM events").fetchone()
    first = part % max(1, -(-last // PART)) * PART + 1
    until = min(first + PART - 1, last)
    for number, (told, *values) in enumerate(connection.execute(_SUMMED_PART, (first, until)), first):
        row = tuple(values)
        if row[0] != number:
            return [f"the event numbered {number} is missing"]
        if told is not None and told != row_sum(row):
            return [f"event {row[1]!r:.80}, number {number}: it is not what was written, by its checksum"]
    return _imports_damaged(connection)


def _imports_damaged(connection: sqlite3.Connection) -> list[str]:
    """What is wrong with what is remembered of imports: taking one back would set aside other events."""
    told = {-seq: sum_ for seq, sum_ in connection.execute("SELECT seq, sum FROM sums WHERE seq < 0")}
    if not told:
        return []
    there = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'imports'").fetchone()
    for number, *row in connection.execute(_IMPORTED) if there else ():
        if told.pop(number, None) not in (None, crc32(repr(row).encode())):
            return [
                f"the import from event {number} on: what is remembered of it is not what was written, by its checksum"
            ]
    return (
        [f"the import from event {min(told)} on is no longer remembered, though its checksum is there"] if told else []
    )


def whole_rows(connection: sqlite3.Connection) -> Iterator[tuple[Any, ...]]:
    """The values of COLUMNS of every event that can be read and is what was written, in the order of writing.

    For a damaged file: what cannot be read is passed over. An event whose sum is missing, or cannot be read, is
    handed out as it is.
    """
    last = max(_first(connection, sql, (), 0)[0] or 0 for sql in _LAST)
    for number in range(1, last + 1):
        row = _first(connection, _ONE, (number,), None)
        told = _first(connection, _ONE_SUM, (number,), None)
        if row[0] == number and told[0] in (None, row_sum(row)):
            yield row[1:]


def _first(connection: sqlite3.Connection, sql: str, values: tuple[int, ...], otherwise: int | None) -> tuple[Any, ...]:
    """The first row, or one of `otherwise` alone where there is none or it cannot be read."""
    try:
        row: tuple[Any, ...] | None = connection.execute(sql, values).fetchone()
    except sqlite3.Error:
        row = None
    return (otherwise,) if row is None else row


def _sum_after(connection: sqlite3.Connection, after: int) -> None:
    """Add the sums of the events numbered past `after`, some at a time: an import may bring a million."""
    while rows := connection.execute(f"{_ROWS} WHERE seq > ? ORDER BY seq LIMIT {_AT_ONCE}", (after,)).fetchall():
        connection.executemany(_ADD, [(row[0], row_sum(row)) for row in rows])
        after = rows[-1][0]


def _sum_log_id(connection: sqlite3.Connection) -> None:
    connection.execute(_ADD, (_LOG_ID_SEQ, _log_id_sum(connection)))


def _log_id_sum(connection: sqlite3.Connection) -> int:
    ids = connection.execute("SELECT log FROM identity").fetchall()
    return crc32(repr(ids).encode())
