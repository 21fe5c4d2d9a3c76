"""The review log: the only writer of the file that holds everything ever graded."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import replace
from datetime import date, datetime
from itertools import islice
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple, Self, TypeVar

from scheduler.errors import LogError, ReviewError, SchedulerError
from scheduler.log.checksums import damage, damage_in_part, make_sums, sum_again, sum_import, sum_new, whole_rows
from scheduler.log.contents import agrees, aside_ids, told_by, united, variant_of
from scheduler.log.events import (
    AHEAD_LIMIT,
    KINDS,
    LATEST_STAMP_US,
    STAMP_STEP_US,
    Body,
    Event,
    Flag,
    Lock,
    Rest,
    SetAside,
    Slip,
    Ticket,
    Undo,
    Variant,
    Wake,
    Witness,
    as_us,
    check,
    from_us,
)
from scheduler.log.fold import LogState, fold, fold_counted
from scheduler.log.iso import stamp_text
from scheduler.log.rows import REVIEW_COLUMNS, DigestRow, Row, from_row, review_from_row, skills_from_text, to_row
from scheduler.log.schema import CLOCK_INDEX, COLUMNS, REFUSE_UPDATE, explained, one_transaction, open_database
from scheduler.log.seal import MOST_BYTES, NO_SEAL, Seal, SealFile, content_sum, read_seal
from scheduler.review import Review, new_id

__all__ = ["Added", "Fingerprint", "Foreseen", "Import", "ReviewLog"]

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


class Foreseen(NamedTuple):
    """What taking in events would do.

    new, known: how many are new, and how many the log holds already. differing: known ids under which something
    else is said. taken_back: how many events of the log would no longer count. unknown_kinds: how many are of a
    kind, or have fields, that this version does not know. logs: ids of the logs the new ones were first written to.
    first, last: the earliest and the latest time that a clock showed for a new one, UTC, or None.
    """

    new: int
    known: int
    differing: int
    taken_back: int
    unknown_kinds: int
    logs: tuple[str, ...]
    first: datetime | None
    last: datetime | None


class Import(NamedTuple):
    """The events numbered `first_seq` to `last_seq`, taken in from `source` at `at`; set_aside: no longer counted."""

    first_seq: int
    last_seq: int
    source: str
    at: datetime
    set_aside: bool


class ReviewLog:
    """A log of events in one SQLite file; a context manager, closed on leaving.

    path: the file, made with its folder if it is missing, or ``:memory:``.
    writable: False opens an existing log without changing the file.
    busy_seconds: how long to wait while another program writes.
    checked: False opens a log that may be damaged, for `faults` and for saving what can be read. Otherwise a log of
    up to 32 MB that does not bear its seal (`scheduler.log.seal`) is checked whole before it answers anything; of a
    larger one a part, which goes round day by day.

    `lost` says how many events were counted here and are no longer there.

    Every method that writes is one transaction, on the disk when it returns.
    Any of them raises LogError, with what to do about it, when the log is
    damaged, the disk is full, the file cannot be written or is not a log, and ReviewError when
    what is to be written is not fit for a log.
    """

    def __init__(
        self, path: Path | str, *, writable: bool = True, busy_seconds: float = 10.0, checked: bool = True
    ) -> None:
        self.path = path
        self.lost = 0
        self._busy_seconds = busy_seconds
        self._seal: SealFile | None = None
        self._unsealed = False
        self._ready = False
        self._db: sqlite3.Connection = open_database(path, writable, busy_seconds)
        try:
            with explained(path, "read"):
                self.id: str = self._value("SELECT log FROM identity")
                if checked and str(path) != ":memory:":
                    self._check(Path(path), writable)
        except BaseException:
            self._db.close()
            raise

    def _check(self, path: Path, writable: bool) -> None:
        """Raise LogError unless the log is whole, and count what it has lost; what costs too long is left out."""
        conn = self._db
        last, sealed, content = self._last_seq(), read_seal(path), content_sum(conn)
        if sealed.log != self.id:
            sealed = NO_SEAL
        self.lost = max(0, sealed.events - last)
        small = content is not None or path.stat().st_size <= MOST_BYTES
        found: list[str] = []
        if not small:
            found = damage_in_part(conn, date.today().toordinal())
        elif last and (content is None or content != sealed.content):
            found = damage(conn, 1)
            self._unsealed = True
        if found:
            raise LogError(
                f"log {path}: expected what was written, but the file is damaged ({found[0]}); run neckwork log, "
                "which names what is at fault and the copies kept"
            )
        if writable:
            self._seal = SealFile(path)
            self._unsealed = self._unsealed or bool(self.lost)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file; closing twice is harmless."""
        seal, self._seal = self._seal, None
        with explained(self.path, "close"):
            if seal is not None:
                if self._unsealed:
                    with suppress(sqlite3.Error):  # a log that cannot be read now is checked when it is opened again
                        seal.write(Seal(self.id, self._last_seq(), content_sum(self._db)))
                seal.close()
            self._db.close()

    def _count(self, events: int) -> None:
        """Count what is on the disk now, so that its loss is noticed."""
        self._unsealed = True
        if self._seal is not None:
            self._seal.write(Seal(self.id, events, None))

    def _ready_tables(self) -> None:
        """Make room for the checksums, and the index of clock times, before the first write, each in a transaction.

        A log made by a version without them is read as it is until then.
        """
        if not self._ready:
            make_sums(self._db)
            self._db.execute(CLOCK_INDEX)
            self._ready = True

    # Writing

    def ready_to_write(self) -> None:
        """Raise LogError, with what to do, unless the log can be written to now; nothing is."""
        with explained(self.path, "write"):
            self._db.execute("BEGIN")
            try:
                self._db.execute("UPDATE identity SET log = log")
            finally:
                self._db.rollback()

    def faults(self) -> list[str]:
        """What is wrong with the file, in sentences; none when it is whole.

        Pages, indexes and checksums first (`scheduler.log.checksums.damage`), then every event is read and checked.
        """
        try:
            with explained(self.path, "check"):
                if found := damage(self._db):
                    return found
            for event in self.events():
                if isinstance(event.body, Review):
                    replace(event.body)  # reading sets the fields without the checks of a review
                agrees(check(event))
        except SchedulerError as error:
            return [str(error)]
        return []

    def whole_rows(self) -> Iterator[Row]:
        """Every event of a damaged log that can be read and is what was written, as `scheduler.log.rows.from_row`
        takes them, in the order of writing."""
        return whole_rows(self._db)

    def later_kinds(self) -> int:
        """How many events are of a kind, or have fields, that this version does not know."""
        with explained(self.path, "read"):
            count: int = self._value(
                f"SELECT count(*) FROM events WHERE kind NOT IN ({', '.join('?' * len(KINDS))})", tuple(KINDS)
            )
            if self._has_more():
                count += self._value("SELECT count(*) FROM more")
        return count

    def holds(self, event_id: str) -> bool:
        """Whether an event of that id is in the log."""
        with explained(self.path, "read"):
            return self._db.execute("SELECT 1 FROM events WHERE id = ?", (event_id,)).fetchone() is not None

    def wait_at_most(self, seconds: float | None) -> None:
        """How long a write waits for another program from now on, in seconds; None for as long as at first."""
        wait = self._busy_seconds if seconds is None else seconds
        with explained(self.path, "read"):
            self._db.execute(f"PRAGMA busy_timeout = {round(wait * 1000)}")

    def append(self, body: Body, at: datetime) -> Event:
        """Write what happened at `at`, which carries the local offset; answers the event as stamped."""
        event_id = body.id if isinstance(body, Review) else new_id()
        if not isinstance(at, datetime) or at.utcoffset() is None:
            raise ReviewError(f"{body.kind} event, at: expected a date and time with a UTC offset, got {at!r}")
        event = check(Event(event_id, self.id, as_us(at), at, body))
        with explained(self.path, "write"):
            self._ready_tables()
        with explained(self.path, "write"), one_transaction(self._db):
            # One statement finds the latest stamp and writes past it, so
            # SQLite holds the write lock before it looks: two programs
            # never see the same latest stamp.
            stamp_us, seq = self._db.execute(_APPEND, to_row(event)).fetchone()
            if stamp_us > LATEST_STAMP_US:
                # Every file made from this log would be refused: better to write nothing than to write that.
                latest = stamp_text(stamp_us - STAMP_STEP_US)
                raise LogError(
                    f"log {self.path}: cannot write, its latest stamp stands at {latest}, "
                    "the end of what a log takes; run neckwork log mend, then go on"
                )
            sum_new(self._db)
        self._count(seq)
        return Event(event.id, event.log, stamp_us, event.at, event.body)

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

    def add(
        self, events: Iterable[Event], *, contents: bool = True, source: str | None = None, at: datetime | None = None
    ) -> Added:
        """Take in events of other logs or files: all of them or, on an error, none.

        An event whose id the log already holds is passed over; where what it says differs, that content is kept
        as a `Variant`, and `scheduler.log.contents.united` says which of the two counts. Stamps are kept, so the
        order of reading is the same in every log that holds the same events. Raises whatever `events` raises.

        contents: False where the events are not whole, as those of a table are, so that only their ids count.
        source, at: what the events came from and when, for `imports`; without a source nothing is remembered.
        """
        with explained(self.path, "write"):
            self._ready_tables()
        with explained(self.path, "write"), self._writing():
            before = self._last_seq()
            known = self._insert(events, contents)
            new = self._last_seq() - before
            sum_new(self._db)
            if source is not None and at is not None and new:
                self._db.execute(_IMPORTS)
                self._db.execute(
                    "INSERT INTO imports VALUES (?, ?, ?, ?)", (before + 1, before + new, source, at.isoformat())
                )
                sum_import(self._db)
        self._count(before + new)
        return Added(new, known)

    def foresee(self, events: Iterable[Event], *, contents: bool = True) -> Foreseen:
        """What `add` would change; nothing is."""
        with explained(self.path, "read"):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                before = self._last_seq()
                known = self._insert(events, contents)
                return self._foreseen(before, known)
            finally:
                self._db.rollback()

    def _foreseen(self, before: int, known: int) -> Foreseen:
        """What the events numbered past `before` are, and what they do to those up to it."""
        execute = self._db.execute
        earliest, latest = execute(_NEW_DAYS, (before,)).fetchone()
        named = {
            target
            for (value,) in execute(f"SELECT value FROM events WHERE kind = 'set-aside' AND seq > {before:d}")
            for target in skills_from_text(value)
        }
        taken_back = {target for (target,) in execute(_TAKEN_BACK, (before, before))}
        taken_back.update(
            one for one in named if execute("SELECT 1 FROM events WHERE id = ? AND seq <= ?", (one, before)).fetchone()
        )
        return Foreseen(
            new=self._last_seq() - before,
            known=known,
            differing=self._value("SELECT count(*) FROM events WHERE kind = 'variant' AND seq > ?", (before,)),
            taken_back=len(taken_back),
            unknown_kinds=self._value(
                f"SELECT count(*) FROM events WHERE seq > ? AND kind NOT IN ({', '.join('?' * len(KINDS))})",
                (before, *KINDS),
            )
            + (self._value("SELECT count(*) FROM more WHERE seq > ?", (before,)) if self._has_more() else 0),
            logs=tuple(log for (log,) in execute(_NEW_LOGS, (before,))),
            first=None if earliest is None else from_us(earliest),
            last=None if latest is None else from_us(latest),
        )

    def _insert(self, events: Iterable[Event], contents: bool) -> int:
        """Append what is new of `events`, inside a transaction; answers how many were known."""
        known = 0
        some = iter(events)
        while batch := list(islice(some, _AT_ONCE)):
            rows: dict[str, list[tuple[Event, dict[str, Any]]]] = {}
            for event in batch:
                rows.setdefault(check(event).id, []).append((event, to_row(event)))
            held = {
                row[0]: row
                for row in self._db.execute(
                    f"SELECT {_ALL} FROM events WHERE id IN ({', '.join('?' * len(rows))})", tuple(rows)
                )
            }
            new: list[dict[str, Any]] = []
            for event_id, met in rows.items():
                for event, row in met:
                    values = tuple(row.values())
                    if event_id not in held:
                        held[event_id] = values
                        new.append(to_row(agrees(event)))
                        continue
                    known += 1
                    if contents and not self._same(held[event_id], values):
                        new.append(to_row(variant_of(event)))
            self._db.executemany(_ADD, new)
            if further := [(event.more, event.id) for event in batch if event.more]:
                self._db.execute(_MORE)
                self._db.executemany(_ADD_MORE, further)
        return known

    def _same(self, held: Row, met: Row) -> bool:
        """Whether two rows of one id say the same.

        Not told apart are the log a review was first written to, which a table of reviews does not name, and a
        slip that the log has named later by an event of its own.
        """
        if held == met:
            return True
        kind = held[_KIND]
        if kind not in ("review", "variant"):
            return False
        one, other = list(held), list(met)
        one[_LOG] = other[_LOG] = None
        if one != other and kind == "review" and one[_SLIP_COLUMN] != other[_SLIP_COLUMN]:
            named = self._db.execute(_NAMED_OF, (held[0],)).fetchone()
            if named == (other[_SLIP_COLUMN],):
                other[_SLIP_COLUMN] = one[_SLIP_COLUMN]
        return one == other

    def _last_seq(self) -> int:
        last: int = self._value("SELECT coalesce(max(seq), 0) FROM events")
        return last

    def _value(self, sql: str, parameters: Row = ()) -> Any:
        """The one value that a statement answers."""
        (value,) = self._db.execute(sql, parameters).fetchone()
        return value

    def imports(self) -> list[Import]:
        """What was taken in from files, as far as it was remembered here, the oldest first.

        One is set aside when an event of it is left out that would count if the import were all there is. What an
        import itself sets aside, as the log of a player does who went back on something, is no reason.
        """
        with explained(self.path, "read"):
            there = self._db.execute("SELECT 1 FROM sqlite_master WHERE name = 'imports'").fetchone()
            rows = self._db.execute("SELECT * FROM imports ORDER BY first_seq").fetchall() if there else []
            setting = self._setting_aside()
            aside = aside_ids(event for _, event in setting)
            found = []
            for first, last, source, at in rows:
                left_out = aside - aside_ids(event for seq, event in setting if first <= seq <= last)
                ids = self._db.execute("SELECT id FROM events WHERE seq BETWEEN ? AND ?", (first, last))
                set_aside = bool(left_out) and any(event_id in left_out for (event_id,) in ids)
                found.append(Import(first, last, source, datetime.fromisoformat(at), set_aside))
        return found

    def go_back(self, one: Import, at: datetime) -> Event:
        """Set aside every event of an import, by one event; what was graded later stays."""
        return self.append(SetAside(tuple(self._ids_of(one))), at)

    def bring_back(self, one: Import, at: datetime) -> Event:
        """Let an import count again as it came, by one event that sets aside whatever named a part of it.

        What came with the import may leave a part of it out, and still does. The new event itself leaves out all
        else that those had left out, so that nothing beside the import changes.
        """
        ids = set(self._ids_of(one))
        with explained(self.path, "read"):
            setting = [event for _, event in self._setting_aside()]
        aside = aside_ids(setting)
        named, beside = list[str](), set[str]()
        for event in setting:
            told = told_by(event) if isinstance(event.body, Variant) else event
            if isinstance(told.body, SetAside) and event.id not in ids and not ids.isdisjoint(told.body.targets):
                named.append(event.id)
                if event.id not in aside:
                    beside.update(told.body.targets)
        return self.append(SetAside((*named, *sorted(beside - ids - set(named)))), at)

    def _ids_of(self, one: Import) -> list[str]:
        """The ids of the events of an import, in the order of writing."""
        with explained(self.path, "read"):
            rows = self._db.execute(
                "SELECT id FROM events WHERE seq BETWEEN ? AND ? ORDER BY seq", (one.first_seq, one.last_seq)
            ).fetchall()
        return [event_id for (event_id,) in rows]

    def join(self, other: Path | str) -> Added:
        """Take in every event of the log at `other`, which is not changed."""
        with ReviewLog(other, writable=False) as log:
            return self.add(log.events())

    def stamped_after(self, limit: datetime) -> int:
        """How many events are stamped after `limit`."""
        with explained(self.path, "read"):
            count: int = self._value("SELECT count(*) FROM events WHERE stamp_us > ?", (as_us(limit),))
        return count

    def mend_stamps(self, now: datetime) -> int:
        """Bring back the stamps that lie more than `AHEAD_LIMIT` after `now`; answers how many those are.

        They keep their order. Each gets the time its clock showed, where that is not as far ahead, and at the
        least 1 ms past the one before it. This is the one change ever made to what was written: one transaction,
        after which the log has a new id, so that no state saved for the old order is taken for its own.
        """
        with explained(self.path, "mend"):
            self._ready_tables()
        with explained(self.path, "mend"), self._writing():
            latest = as_us(now + AHEAD_LIMIT)
            execute = self._db.execute
            before = self._value("SELECT max(stamp_us) FROM events WHERE stamp_us <= ?", (latest,))
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
                self._db.executemany("UPDATE events SET stamp_us = ? WHERE seq = ?", moved)
                execute(REFUSE_UPDATE)
                self.id = new_id()
                execute("UPDATE identity SET log = ?", (self.id,))
                sum_again(self._db, min(seq for _, seq in moved) - 1)
        self._count(self._last_seq())
        return len(moved)

    def copy_to(self, path: Path) -> None:
        """Write the log as it stands now to a new file at `path`, without waiting for those who write."""
        with explained(self.path, "copy"), closing(sqlite3.connect(path)) as copy:
            self._db.backup(copy)

    # Reading

    def events(self) -> Iterator[Event]:
        """All events in the order of the log, read as they are asked for."""
        if self._has_more():
            return self._read(_WITH_MORE, (), lambda row: replace(from_row(row[:-1]), more=row[-1] or ""))
        return self._read(f"SELECT {_ALL} FROM events ORDER BY stamp_us, id", (), from_row)

    def further_fields(self) -> dict[str, str]:
        """What a newer version says of events whose kind is known here, by their ids: texts of JSON objects."""
        with explained(self.path, "read"):
            return dict(self._db.execute(_FURTHER).fetchall()) if self._has_more() else {}

    def _has_more(self) -> bool:
        with explained(self.path, "read"):
            return self._db.execute("SELECT 1 FROM sqlite_master WHERE name = 'more'").fetchone() is not None

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
        with explained(self.path, "read"):
            if self._has_variants():
                rows = ((row["stamp_us"], row) for number, row in self._winners() if seq < number <= until)
                yield from ((stamp, review_from_row(_as_review(row, lagged=False))) for stamp, row in rows)
                return
            if self._aside():
                undone, named = self._taken_back_and_named()
                for stamp, *row in self._db.execute(_PLAIN_AFTER, (seq, until)):
                    if row[0] not in undone:
                        yield stamp, review_from_row((*row[:12], named.get(row[0], row[12])))
                return
        yield from self._read(_REVIEWS_AFTER, (seq, until), lambda row: (row[0], review_from_row(row[1:])))

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
            if self._db.execute("SELECT id FROM events WHERE seq = ?", (seq,)).fetchone() != (last_id,):
                return False
            disturbed = self._db.execute(_DISTURBED, {"seq": seq, "stamp": order[0], "id": order[1]}).fetchone()
        return disturbed is None

    def latest(self) -> Review | None:
        """The last review in effect, or None."""
        with explained(self.path, "read"):
            if self._has_variants():
                last = max(self._winners(), key=lambda one: (one[1]["stamp_us"], one[1]["id"]), default=None)
                return None if last is None else review_from_row(_as_review(last[1], lagged=False))
            if self._aside():
                undone, named = self._taken_back_and_named()
                for row in self._db.execute(_BACKWARDS):
                    if row[0] not in undone:
                        return review_from_row((*row[:12], named.get(row[0], row[12])))
                return None
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
            if self._has_variants():
                yield from self._winning_digests(bounds)
                return
            undone, named = self._taken_back_and_named()
            digested = _DIGESTED_SINCE if since is not None else _DIGESTED_AFTER if after else _DIGESTED
            rows: Iterable[Row] = self._db.execute(digested.format(", id" if undone or named else ""), bounds)
            if undone or named:
                rows = ((*row[:8], named.get(row[10], row[8]), row[9]) for row in rows if row[10] not in undone)
            yield from rows

    def last_review(self, up_to: int) -> tuple[int, str]:
        """Stamp, in microseconds, and id of the review that is last in the order of the log, taken back or not.

        Of those among the events numbered up to `up_to`; (0, "") when there is none.
        """
        with explained(self.path, "read"):
            if self._has_variants():
                orders = ((row["stamp_us"], row["id"]) for number, row in self._winners() if number <= up_to)
                return max(orders, default=(0, ""))
            return self._db.execute(_LAST_REVIEW, (up_to,)).fetchone() or (0, "")

    def state(self) -> LogState:
        """The log in effect, with every review."""
        return fold(self.events())

    def standing(self, until: datetime | None = None) -> LogState:
        """The log in effect without its reviews: rested cards, flags, locks, tickets, meetings.

        until: only what happened before, by its clock. The cost does not grow with the number of reviews.
        """
        if self._has_variants():
            # Which content of an id counts is known from all of them; the reviews are left out after.
            counted = (event for event in united(self.events()) if until is None or event.at < until)
            return fold_counted(event for event in counted if event.kind not in ("review", "slip"))
        events = self._read(_STANDING, (), from_row)
        return fold(events if until is None else (event for event in events if event.at < until))

    def witnessed(self, until: datetime | None = None) -> list[tuple[Witness, Review]]:
        """What was heard of each review in effect, the latest where there are several, in the order it was heard.

        until: only reviews whose clock showed a time before it.
        """
        heard: dict[str, Witness] = {}
        found: dict[str, Review] = {}
        with explained(self.path, "read"):
            if self._has_variants():
                counted = united(self.events())
                heard = {event.body.target: event.body for event in counted if isinstance(event.body, Witness)}
                found = {review.id: review for review in fold_counted(counted).reviews}
            else:
                undone, named = self._taken_back_and_named()
                for event in map(from_row, self._db.execute(_HEARD)):
                    if isinstance(event.body, Witness) and event.id not in undone:
                        heard[event.body.target] = event.body
                wanted = iter([target for target in heard if target not in undone])
                while some := list(islice(wanted, _AT_ONCE)):
                    places = ", ".join("?" * len(some))
                    for row in self._db.execute(_REVIEWS.replace("ORDER BY", f"AND id IN ({places}) ORDER BY"), some):
                        found[row[0]] = review_from_row((*row[:12], named.get(row[0], row[12])))
        pairs = ((witness, found[target]) for target, witness in heard.items() if target in found)
        return [pair for pair in pairs if until is None or pair[1].at < until]

    def fingerprint(self) -> Fingerprint:
        """What a state saved beside the log is checked against."""
        with explained(self.path, "read"):
            last = self._db.execute("SELECT seq, id FROM events ORDER BY seq DESC LIMIT 1").fetchone()
        return Fingerprint(self.id, *(last or (0, "")))

    def _in_effect(self, sql: str, make: Callable[[Row], _T]) -> Iterator[_T]:
        """What `make` makes of the rows of reviews in effect; a row begins with the id and has the slip thirteenth."""
        with explained(self.path, "read"):
            if self._has_variants():
                yield from map(make, (_as_review(row, lagged=sql == _LAGGED) for _, row in self._winners()))
                return
            undone, named = self._taken_back_and_named()
            rows: Iterable[Row] = self._db.execute(sql)
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
        aside = self._aside()
        return (
            aside | {row[1] for row in self._db.execute(_UNDONE) if row[0] not in aside},
            {row[1]: row[2] for row in self._db.execute(_NAMED) if row[0] not in aside},
        )

    def _has_variants(self) -> bool:
        """Whether one id has several contents, which happens by a fault or by forgery.

        Then the answers are taken from all events at once: slower, by the definition, and never wrong.
        """
        return self._db.execute(_ANY_VARIANT).fetchone() is not None

    def _aside(self) -> set[str]:
        """The ids of what is set aside; few logs have any."""
        return aside_ids(event for _, event in self._setting_aside())

    def _setting_aside(self) -> list[tuple[int, Event]]:
        """The set-asides, and the variants, some of which may be such: each after its number, in the log's order."""
        return [(row[0], from_row(row[1:])) for row in self._db.execute(_EXCEPTIONAL)]

    def _winners(self) -> Iterator[tuple[int, dict[str, Any]]]:
        """The reviews in effect in the order of the log, as `united` chooses them: number, and columns in effect."""
        numbers = dict(self._db.execute("SELECT id, seq FROM events"))
        counted = united(self.events())
        stamped = {event.id: event for event in counted}
        for review in fold_counted(counted).reviews:
            event = stamped[review.id]
            yield numbers[review.id], to_row(Event(event.id, event.log, event.stamp_us, event.at, review))

    def _winning_digests(self, bounds: tuple[int, int, int, int]) -> Iterator[DigestRow]:
        since, until, after, up_to = bounds
        for number, row in self._winners():
            if since <= row["clock_us"] < until and after < number <= up_to:
                (card, clock_us, offset_s, grade, attempt, seconds, spent, predicted, slip, skills) = (
                    row[name] for name in _DIGEST_COLUMNS
                )
                yield card, clock_us, offset_s, grade, attempt, seconds, spent, predicted, slip, skills

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """One transaction that holds the file before it looks, so that nobody writes between look and write."""
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            self._db.rollback()
            raise

    def _read(self, sql: str, parameters: Row, make: Callable[[Row], _T]) -> Iterator[_T]:
        with explained(self.path, "read"):
            yield from map(make, self._db.execute(sql, parameters))


def _as_review(row: dict[str, Any], *, lagged: bool) -> Row:
    """Columns as `review_from_row` takes them, with how far the stamp lies past the clock if asked for."""
    chosen = tuple(row[name] for name in (*REVIEW_COLUMNS.split(", "), "slip"))
    return (*chosen, row["stamp_us"] - row["clock_us"]) if lagged else chosen


_ALL = ", ".join(COLUMNS)
_PLACES = ", ".join(
    f"max(:stamp_us, coalesce((SELECT max(stamp_us) FROM events) + {STAMP_STEP_US}, :stamp_us))"
    if name == "stamp_us"
    else f":{name}"
    for name in COLUMNS
)
_APPEND = f"INSERT INTO events ({_ALL}) VALUES ({_PLACES}) RETURNING stamp_us, seq"
_ADD = f"INSERT INTO events ({_ALL}) VALUES ({', '.join(f':{name}' for name in COLUMNS)}) ON CONFLICT (id) DO NOTHING"
_AT_ONCE = 500
_KIND, _LOG, _SLIP_COLUMN = (tuple(COLUMNS).index(name) for name in ("kind", "log", "slip"))
_EXCEPTIONAL = (
    f"SELECT seq, {_ALL} FROM events "
    "WHERE kind NOT IN ('review', 'slip', 'undo') AND kind IN ('set-aside', 'variant') "
    "ORDER BY stamp_us, id"
)
_ANY_VARIANT = "SELECT 1 FROM events WHERE kind NOT IN ('review', 'slip', 'undo') AND kind = 'variant' LIMIT 1"
_IMPORTS = """
CREATE TABLE IF NOT EXISTS imports (
    first_seq INTEGER PRIMARY KEY, last_seq INTEGER NOT NULL, source TEXT NOT NULL, at TEXT NOT NULL
) STRICT
"""
_MORE = "CREATE TABLE IF NOT EXISTS more (seq INTEGER PRIMARY KEY, fields TEXT NOT NULL) STRICT"
_ADD_MORE = """
INSERT INTO more SELECT seq, ? FROM events WHERE id = ?
ON CONFLICT (seq) DO UPDATE SET fields = max(fields, excluded.fields)
"""
"""Of two texts the one that sorts last stays, so that the order in which logs are joined makes no difference."""

_WITH_MORE = f"""
SELECT {", ".join("e." + name for name in COLUMNS)}, m.fields
FROM events e LEFT JOIN more m ON m.seq = e.seq ORDER BY e.stamp_us, e.id
"""
_FURTHER = "SELECT e.id, m.fields FROM more m JOIN events e ON e.seq = m.seq"
_NEW_DAYS = "SELECT min(clock_us), max(clock_us) FROM events WHERE seq > ?"
_NEW_LOGS = "SELECT log FROM events WHERE seq > ? GROUP BY log ORDER BY count(*) DESC, log"
_TAKEN_BACK = """
SELECT e.id FROM events u JOIN events e ON e.id = u.target
WHERE u.seq > ? AND u.kind = 'undo' AND e.seq <= ? AND e.kind IN ('review', 'flag', 'meet')
    AND NOT EXISTS (SELECT 1 FROM events b WHERE b.target = e.id AND b.kind = 'undo' AND b.seq < u.seq)
"""
_NAMED_OF = "SELECT slip FROM events WHERE target = ? AND kind = 'slip' ORDER BY stamp_us DESC, id DESC LIMIT 1"
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
_PLAIN_AFTER = f"""
SELECT stamp_us, {REVIEW_COLUMNS}, slip FROM events
WHERE kind = 'review' AND seq > ? AND seq <= ? ORDER BY stamp_us, id
"""
_BACKWARDS = f"SELECT {REVIEW_COLUMNS}, slip FROM events WHERE kind = 'review' ORDER BY stamp_us DESC, id DESC"
_LATEST = f"SELECT {REVIEW_COLUMNS}, {_SLIP} " + _FROM.replace(
    "ORDER BY e.stamp_us, e.id", "ORDER BY e.stamp_us DESC, e.id DESC LIMIT 1"
)
_DISTURBED = """
SELECT 1 FROM events u LEFT JOIN events e ON e.id = u.target
WHERE u.seq > :seq AND (
    u.kind IN ('set-aside', 'variant')
    OR (u.kind = 'review' AND (u.stamp_us, u.id) < (:stamp, :id))
    OR (u.kind IN ('undo', 'slip') AND e.kind = 'review' AND e.seq <= :seq))
LIMIT 1
"""
_DIGEST_COLUMNS = (
    "card", "clock_us", "offset_s", "grade", "attempt", "seconds", "spent", "predicted", "slip", "skills",
)  # fmt: skip
_DIGESTED = f"""
SELECT {", ".join(_DIGEST_COLUMNS)}{{}} FROM events
WHERE kind = 'review' AND +clock_us >= ? AND +clock_us < ? AND +seq > ? AND +seq <= ? ORDER BY stamp_us, id
"""
_DIGESTED_AFTER = _DIGESTED.replace("+seq", "seq")
_DIGESTED_SINCE = _DIGESTED.replace("+clock_us", "clock_us").replace("BY stamp_us", "BY +stamp_us")
"""A whole log is read in its order. What came last, or the last days, is found by number or clock, then put in order.

A plus keeps SQLite from using the index of that column ("The SQLite Query Optimizer Overview", section 2).
"""

_LAST_REVIEW = """
SELECT stamp_us, id FROM events WHERE kind = 'review' AND +seq <= ? ORDER BY stamp_us DESC, id DESC LIMIT 1
"""
_UNDONE = "SELECT id, target FROM events WHERE kind = 'undo' AND target IS NOT NULL"
_NAMED = "SELECT id, target, slip FROM events WHERE kind = 'slip' AND target IS NOT NULL ORDER BY +stamp_us, id"
"""The plus as below: slips are found by the index of targets, not by going through the whole log."""

_HEARD = f"""
SELECT {_ALL} FROM events WHERE kind NOT IN ('review', 'slip', 'undo') AND kind = 'heard' ORDER BY stamp_us, id
"""
_STANDING = f"""
SELECT {_ALL} FROM events WHERE kind NOT IN ('review', 'slip', 'undo') AND kind <> 'heard'
UNION ALL
SELECT {", ".join("u." + name for name in COLUMNS)} FROM events u
JOIN events f ON f.id = u.target AND f.kind NOT IN ('review', 'slip', 'undo') WHERE u.kind = 'undo'
"""
