"""The review log: the only writer of the file that holds everything ever graded."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, NamedTuple, Self, TypeVar

from scheduler.errors import LogError, ReviewError
from scheduler.log.events import (
    AHEAD_LIMIT,
    LATEST_STAMP_US,
    STAMP_STEP_US,
    Body,
    Event,
    Flag,
    Lock,
    Rest,
    Slip,
    Ticket,
    Undo,
    Wake,
    as_us,
    check,
)
from scheduler.log.fold import LogState, fold
from scheduler.log.iso import stamp_text
from scheduler.log.rows import REVIEW_COLUMNS, DigestRow, Row, from_row, review_from_row, to_row
from scheduler.log.schema import COLUMNS, REFUSE_UPDATE, explained, open_database
from scheduler.review import Review, new_id

if TYPE_CHECKING:
    from sqlite_utils import Database

__all__ = ["Added", "Fingerprint", "ReviewLog"]

_T = TypeVar("_T")


class Fingerprint(NamedTuple):
    """What a saved state is checked against: a log with the same one holds the same events.

    log: the log's own id. last_seq: how many events it holds, which is the
    number of the one appended last, since none is ever removed. last_id: the
    id of that one, empty when there is none.
    """

    log: str
    last_seq: int
    last_id: str


class Added(NamedTuple):
    """What taking in events did: how many were new, and how many the log already held."""

    new: int
    known: int


class ReviewLog:
    """A log of events in one SQLite file; a context manager, closed on leaving.

    path: the file, made with its folder if it is missing, or ``:memory:``.
    writable: False opens an existing log without changing the file.
    busy_seconds: how long to wait while another program writes.

    Every method that writes is one transaction, on the disk when it returns.
    Any of them raises LogError, with what to do about it, when the disk is
    full, the file cannot be written or is not a log, and ReviewError when
    what is to be written is not fit for a log.
    """

    def __init__(self, path: Path | str, *, writable: bool = True, busy_seconds: float = 10.0) -> None:
        self.path = path
        self._db: Database = open_database(path, writable, busy_seconds)
        with explained(path, "read"):
            self.id: str = self._db.conn.execute("SELECT log FROM identity").fetchone()[0]

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file; closing twice is harmless."""
        with explained(self.path, "close"):
            self._db.close()

    # Writing

    def append(self, body: Body, at: datetime) -> Event:
        """Write what happened at `at`, which carries the local offset; answers the event as stamped."""
        event_id = body.id if isinstance(body, Review) else new_id()
        if not isinstance(at, datetime) or at.utcoffset() is None:
            raise ReviewError(f"{body.kind} event, at: expected a date and time with a UTC offset, got {at!r}")
        event = check(Event(event_id, self.id, as_us(at), at, body))
        with explained(self.path, "write"), self._db.atomic():
            # One statement finds the latest stamp and writes past it, so
            # SQLite holds the write lock before it looks: two programs
            # never see the same latest stamp.
            written = self._db.conn.execute(_APPEND, to_row(event)).fetchone()
            if written[0] > LATEST_STAMP_US:
                # Every file made from this log would be refused: better to write nothing than to write that.
                latest = stamp_text(written[0] - STAMP_STEP_US)
                raise LogError(
                    f"log {self.path}: cannot write, its latest stamp stands at {latest}, "
                    "the end of what a log takes; run neckwork log mend, then go on"
                )
        return Event(event.id, event.log, written[0], event.at, event.body)

    def record(self, review: Review) -> Event:
        """Write a review."""
        return self.append(review, review.at)

    def undo(self, target: str, at: datetime) -> Event:
        """Take back the review, flag or meeting of that id, for good."""
        return self.append(Undo(target), at)

    def slip(self, review_id: str, slip: str | None, at: datetime) -> Event:
        """Name what failed in a review, or None to take the name back."""
        return self.append(Slip(review_id, slip), at)

    def rest(self, card: str, at: datetime) -> Event:
        """Set a card aside."""
        return self.append(Rest(card), at)

    def wake(self, card: str, at: datetime) -> Event:
        """Bring a rested card back."""
        return self.append(Wake(card), at)

    def flag(self, card: str, text: str, at: datetime) -> Event:
        """Write down a question for the teacher; the text may be empty."""
        return self.append(Flag(card, text), at)

    def lock(self, subject: str, value: str | None, at: datetime) -> Event:
        """Fix how `subject` is played, or None to let it go."""
        return self.append(Lock(subject, value), at)

    def ticket(self, subject: str, value: str | None, at: datetime) -> Event:
        """Record a right of entry, or None to give it up."""
        return self.append(Ticket(subject, value), at)

    def add(self, events: Iterable[Event]) -> Added:
        """Take in events of other logs or files: all of them or, on an error, none.

        An event whose id the log already holds is passed over. Stamps are
        kept, so the order of reading is the same in every log that holds
        the same events. Raises whatever `events` raises.
        """
        seen = 0

        def rows() -> Iterator[dict[str, Any]]:
            nonlocal seen
            for event in events:
                seen += 1
                yield to_row(check(event))

        with explained(self.path, "write"), self._db.atomic():
            new = self._db.conn.executemany(_ADD, rows()).rowcount
        return Added(max(new, 0), seen - max(new, 0))

    def join(self, other: Path | str) -> Added:
        """Take in every event of the log at `other`, which is not changed."""
        with ReviewLog(other, writable=False) as log:
            return self.add(log.events())

    def stamped_after(self, limit: datetime) -> int:
        """How many events are stamped after `limit`."""
        with explained(self.path, "read"):
            count: int = self._db.conn.execute(
                "SELECT count(*) FROM events WHERE stamp_us > ?", (as_us(limit),)
            ).fetchone()[0]
        return count

    def mend_stamps(self, now: datetime) -> int:
        """Bring back the stamps that lie more than `AHEAD_LIMIT` after `now`; answers how many those are.

        They keep their order. Each gets the time its clock showed, where that is not as far ahead, and at the
        least 1 ms past the one before it. This is the one change ever made to what was written: one transaction,
        after which the log has a new id, so that no state saved for the old order is taken for its own.
        """
        with explained(self.path, "mend"), self._writing():
            latest = as_us(now + AHEAD_LIMIT)
            execute = self._db.conn.execute
            before = execute("SELECT max(stamp_us) FROM events WHERE stamp_us <= ?", (latest,)).fetchone()[0]
            ahead = execute(_AHEAD, (latest,)).fetchall()
            moved = []
            for seq, clock_us in ahead:
                shown = clock_us if clock_us <= latest else as_us(now)
                if before is None or (clock_us <= latest and clock_us > before + STAMP_STEP_US):
                    before = shown
                else:
                    before += STAMP_STEP_US
                moved.append((before, seq))
            if moved:
                execute("DROP TRIGGER events_no_update")
                self._db.conn.executemany("UPDATE events SET stamp_us = ? WHERE seq = ?", moved)
                execute(REFUSE_UPDATE)
                self.id = new_id()
                execute("UPDATE identity SET log = ?", (self.id,))
        return len(moved)

    def copy_to(self, path: Path) -> None:
        """Write the log as it stands now to a new file at `path`, without waiting for those who write."""
        with explained(self.path, "copy"), closing(sqlite3.connect(path)) as copy:
            self._db.conn.backup(copy)

    # Reading

    def events(self) -> Iterator[Event]:
        """All events in the order of the log, read as they are asked for."""
        return self._read(f"SELECT {_ALL} FROM events ORDER BY stamp_us, id", (), from_row)

    def since(self, seq: int) -> Iterator[tuple[int, Event]]:
        """Events appended or joined after the one numbered `seq`, each with its number, as appended."""
        return self._read(
            f"SELECT seq, {_ALL} FROM events WHERE seq > ? ORDER BY seq",
            (seq,),
            lambda row: (row[0], from_row(row[1:])),
        )

    def reviews(self) -> Iterator[Review]:
        """The reviews in effect (not undone, slips applied) in the order of the log, as asked for."""
        return self._in_effect(_REVIEWS, review_from_row)

    def reviews_after(self, seq: int, until: int) -> Iterator[tuple[int, Review]]:
        """The reviews in effect among the events numbered past `seq` up to `until`, in the order of the log.

        Each after its stamp, in microseconds.
        """
        return self._read(_REVIEWS_AFTER, (seq, until), lambda row: (row[0], review_from_row(row[1:])))

    def continues(self, log: str, seq: int, last_id: str, order: Sequence[Any]) -> bool:
        """Whether all that came after the event numbered `seq` only goes on from there.

        So that a state that stands for the events up to it needs nothing but `reviews_after`. log: the id of the
        log; last_id: of that event; order: (stamp in microseconds, id) of the last review in the state. False when
        it is another log, when a review joined since belongs earlier, or when an earlier one was taken back or its
        slip named since.
        """
        if log != self.id:
            return False
        with explained(self.path, "read"):
            event = self._db.conn.execute("SELECT id FROM events WHERE seq = ?", (seq,)).fetchone()
            if event is None or event[0] != last_id:
                return False
            disturbed = self._db.conn.execute(_DISTURBED, {"seq": seq, "stamp": order[0], "id": order[1]}).fetchone()
        return disturbed is None

    def latest(self) -> Review | None:
        """The last review in effect, or None."""
        return next(self._read(_LATEST, (), review_from_row), None)

    def review_rows(self) -> Iterator[Row]:
        """The reviews in effect as `scheduler.log.rows.review_from_row` takes them, in the order of the log.

        Each before how far its stamp lies past its clock, in microseconds: 0 but where the clock had been set back,
        or two reviews fell within a millisecond.
        """
        return self._in_effect(_LAGGED, tuple)

    def digest_rows(
        self, since: datetime | None = None, until: datetime | None = None, after: int = 0, up_to: int = 2**62
    ) -> Generator[DigestRow, None, None]:
        """The reviews in effect as they are added up, skills as text, in the order of the log.

        since, until: only those whose clock showed a time from the first on and before the second. after, up_to:
        only events numbered past the first, up to the second.
        """
        bounds = (-(2**62) if since is None else as_us(since), 2**62 if until is None else as_us(until), after, up_to)
        with explained(self.path, "read"):
            undone, named = self._taken_back_and_named()
            rows: Iterable[Row] = self._db.conn.execute(_DIGESTED.format(", id" if undone or named else ""), bounds)
            if undone or named:
                rows = ((*row[:8], named.get(row[10], row[8]), row[9]) for row in rows if row[10] not in undone)
            yield from rows

    def last_review(self, up_to: int) -> tuple[int, str]:
        """Stamp, in microseconds, and id of the review that is last in the order of the log, taken back or not.

        Of those among the events numbered up to `up_to`; (0, "") when there is none.
        """
        with explained(self.path, "read"):
            return self._db.conn.execute(_LAST_REVIEW, (up_to,)).fetchone() or (0, "")

    def state(self) -> LogState:
        """The log in effect, with every review."""
        return fold(self.events())

    def standing(self, until: datetime | None = None) -> LogState:
        """The log in effect without its reviews: rested cards, flags, locks, tickets, meetings.

        until: only what happened before, by its clock. The cost does not grow with the number of reviews.
        """
        events = self._read(_STANDING, (), from_row)
        return fold(events if until is None else (event for event in events if event.at < until))

    def fingerprint(self) -> Fingerprint:
        """What a state saved beside the log is checked against."""
        with explained(self.path, "read"):
            last = self._db.conn.execute("SELECT seq, id FROM events ORDER BY seq DESC LIMIT 1").fetchone()
        return Fingerprint(self.id, *(last or (0, "")))

    def _in_effect(self, sql: str, make: Callable[[Row], _T]) -> Iterator[_T]:
        """What `make` makes of the rows of reviews in effect; a row begins with the id and has the slip thirteenth."""
        with explained(self.path, "read"):
            undone, named = self._taken_back_and_named()
            rows: Iterable[Row] = self._db.conn.execute(sql)
            if undone or named:
                rows = (
                    (*row[:12], named[row[0]], *row[13:]) if row[0] in named else row
                    for row in rows
                    if row[0] not in undone
                )
            yield from map(make, rows)

    def _taken_back_and_named(self) -> tuple[set[str], dict[str, str | None]]:
        """Ids of what is taken back, and the slips named later by the ids of their reviews.

        Both are few and read first: asking for them row by row doubles the time of a long log.
        """
        return (
            {row[0] for row in self._db.conn.execute(_UNDONE)},
            dict(self._db.conn.execute(_NAMED)),
        )

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """One transaction that holds the file before it looks, so that nobody writes between look and write."""
        self._db.conn.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.conn.execute("COMMIT")
        except BaseException:
            self._db.rollback()
            raise

    def _read(self, sql: str, parameters: Row, make: Callable[[Row], _T]) -> Iterator[_T]:
        with explained(self.path, "read"):
            yield from map(make, self._db.conn.execute(sql, parameters))


_ALL = ", ".join(COLUMNS)
_PLACES = ", ".join(
    f"max(:stamp_us, coalesce((SELECT max(stamp_us) FROM events) + {STAMP_STEP_US}, :stamp_us))"
    if name == "stamp_us"
    else f":{name}"
    for name in COLUMNS
)
_APPEND = f"INSERT INTO events ({_ALL}) VALUES ({_PLACES}) RETURNING stamp_us"
_ADD = f"INSERT INTO events ({_ALL}) VALUES ({', '.join(f':{name}' for name in COLUMNS)}) ON CONFLICT (id) DO NOTHING"
_AHEAD = "SELECT seq, clock_us FROM events WHERE stamp_us > ? ORDER BY stamp_us, id"
_REVIEWS = f"SELECT {REVIEW_COLUMNS}, slip FROM events WHERE kind = 'review' ORDER BY stamp_us, id"
_LAGGED = f"SELECT {REVIEW_COLUMNS}, slip, stamp_us - clock_us FROM events WHERE kind = 'review' ORDER BY stamp_us, id"
_SLIP = """nullif(coalesce(
        (SELECT coalesce(s.slip, '') FROM events s WHERE s.target = e.id AND s.kind = 'slip'
         ORDER BY s.stamp_us DESC, s.id DESC LIMIT 1),
        e.slip), '')"""
_FROM = """FROM events e
WHERE e.kind = 'review'
  AND NOT EXISTS (SELECT 1 FROM events u WHERE u.target = e.id AND u.kind = 'undo')
ORDER BY e.stamp_us, e.id
"""
_REVIEWS_AFTER = f"SELECT e.stamp_us, {REVIEW_COLUMNS}, {_SLIP} " + _FROM.replace(
    "e.kind = 'review'", "e.kind = 'review' AND e.seq > ? AND e.seq <= ?"
)
_LATEST = f"SELECT {REVIEW_COLUMNS}, {_SLIP} " + _FROM.replace(
    "ORDER BY e.stamp_us, e.id", "ORDER BY e.stamp_us DESC, e.id DESC LIMIT 1"
)
_DISTURBED = """
SELECT 1 FROM events u LEFT JOIN events e ON e.id = u.target
WHERE u.seq > :seq AND (
    (u.kind = 'review' AND (u.stamp_us, u.id) < (:stamp, :id))
    OR (u.kind IN ('undo', 'slip') AND e.kind = 'review' AND e.seq <= :seq))
LIMIT 1
"""
_DIGESTED = """
SELECT card, clock_us, offset_s, grade, attempt, seconds, spent, predicted, slip, skills{} FROM events
WHERE kind = 'review' AND clock_us >= ? AND clock_us < ? AND seq > ? AND seq <= ? ORDER BY stamp_us, id
"""
_LAST_REVIEW = """
SELECT stamp_us, id FROM events WHERE kind = 'review' AND seq <= ? ORDER BY stamp_us DESC, id DESC LIMIT 1
"""
_UNDONE = "SELECT target FROM events WHERE kind = 'undo' AND target IS NOT NULL"
_NAMED = "SELECT target, slip FROM events WHERE kind = 'slip' AND target IS NOT NULL ORDER BY stamp_us, id"
_STANDING = f"""
SELECT {_ALL} FROM events WHERE kind NOT IN ('review', 'slip', 'undo')
UNION ALL
SELECT {", ".join("u." + name for name in COLUMNS)} FROM events u
JOIN events f ON f.id = u.target AND f.kind NOT IN ('review', 'slip', 'undo') WHERE u.kind = 'undo'
"""
