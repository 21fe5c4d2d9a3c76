"""The log on disk: durable, append-only, shared, and plain about what is wrong."""

from __future__ import annotations

import io
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing, suppress
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from scheduler.errors import LogError, ReviewError, SchedulerError
from scheduler.grade import Grade
from scheduler.log import schema as log_schema
from scheduler.log.events import Event, Flag, Lock, Meet, Rest, Slip, Ticket, Undo, Wake, as_us
from scheduler.log.fold import fold
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from scheduler.statistics.log_digest import digest_of_log
from tests.log_exports import export_csv
from tests.strategies import reviews

AT = datetime(2024, 3, 4, 18, 0, tzinfo=timezone(timedelta(hours=1)))


def review(number: int, grade: Grade = Grade.CLEAN, **fields) -> Review:
    """A review of its own card, `number` minutes after six."""
    at = fields.pop("at", AT + timedelta(minutes=number))
    return Review(f"card-{number}", grade, at, 3.25, skills=("form:x", "root:y"), id=f"r{number}", **fields)


@pytest.fixture
def log(tmp_path):
    """An empty log on disk."""
    with ReviewLog(tmp_path / "folder" / "log.sqlite3") as one:
        yield one


def test_a_review_comes_back_as_it_went(log):
    """Every field of a review survives closing the log and opening it again."""
    whole = Review(
        "E2A2/arpeggio/F#/m7/543/name", Grade.IN_TIME, AT, 4.75, "first", ("form:a b", "spell:F#"), 17.5,
        "sitting", "id-1", "root", 92.0, 0.625,
    )  # fmt: skip
    bare = Review("x", Grade.LOOKED, AT.astimezone(UTC) + timedelta(minutes=1), 0.0, "repeat", id="id-2")
    log.record(whole)
    log.record(bare)
    log.close()
    with ReviewLog(log.path) as again:
        back = list(again.reviews())
        assert back == [whole, bare]
        assert [one.at.utcoffset() for one in back] == [timedelta(hours=1), timedelta(0)]
        assert type(back[0]) is Review
        assert type(back[0].grade) is Grade


def test_every_kind_of_event_comes_back(log):
    """What each method wrote is what reading gives, stamped in the order written."""
    written = [
        log.record(review(1)),
        log.slip("r1", "shape", AT),
        log.rest("card-1", AT),
        log.wake("card-1", AT),
        log.flag("card-1", "which\nfinger?", AT),
        log.lock("form", "2 1 4 3 4", AT),
        log.lock("form", None, AT),
        log.ticket("tune", "3", AT),
        log.append(Meet("card-2", ("form:z",)), AT),
        log.undo("r1", AT),
    ]
    assert list(log.events()) == written
    assert [event.log for event in written] == [log.id] * len(written)
    assert log.state() == fold(written)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("indexed", [False, True])
def test_two_slips_with_one_stamp_are_taken_by_id(log, turned, indexed):
    """As two machines write them: reviews, digest rows and the state agree, in whatever order they were joined.

    The order rests on no index of the file, which SQLite may or may not go by.
    """
    log.record(review(1, Grade.LOOKED))
    stamp = AT + timedelta(minutes=2)
    slips = [Event(f"s{n}", "other", as_us(stamp), stamp, Slip("r1", slip)) for n, slip in enumerate(["root", "shape"])]
    log.add(slips[::-1] if turned else slips)
    indexes = log._db.execute("SELECT name FROM sqlite_master WHERE type = 'index' AND sql NOTNULL").fetchall()
    for (name,) in () if indexed else indexes:
        log._db.execute(f"DROP INDEX {name}")
    assert [one.slip for one in log.reviews()] == ["shape"]
    assert [one.slip for one in log.state().reviews] == ["shape"]
    assert [row[8] for row in log.digest_rows()] == ["shape"]


def steps_of(log, ask):
    """How many hundred steps SQLite takes to answer, and the answer."""
    taken = []
    log._db.set_progress_handler(lambda: taken.append(1), 100)
    answer = ask()
    log._db.set_progress_handler(None, 100)
    return len(taken), answer


def first_within(log, *bounds):
    """The first digest row within bounds, with what it costs; the others are not read."""

    def ask():
        with closing(log.digest_rows(*bounds)) as rows:
            return next(rows, None)

    return steps_of(log, ask)


@pytest.mark.parametrize("named", [False, True])
def test_a_day_of_a_long_log_is_found_without_going_through_it(tmp_path, named):
    """The last day and the first review of all: so a session opens as fast beside ten thousand as beside ten.

    A log that a version without the index made is read all the same, and gets the index at its next write.
    """
    path = tmp_path / "log.sqlite3"
    with ReviewLog(path) as log:
        stamps = (AT + timedelta(hours=number) for number in range(3_000))
        log.add(
            Event(f"r{number}", "one", as_us(at), at, Review("c", Grade.CLEAN, at, 3.0, id=f"r{number}"))
            for number, at in enumerate(stamps)
        )
        if named:
            log.slip("r2999", "root", AT)
            log.undo("r0", AT)
        day, end = AT + timedelta(hours=2_999), AT + timedelta(days=900)
        steps, last = first_within(log, day, end)
        assert steps < 5
        assert last[8] == ("root" if named else None)
        steps, first = first_within(log, None, end)
        assert steps < 5
        steps, latest = steps_of(log, log.latest)
        assert steps < 5
        assert latest.id == "r2999"
        for ask in (lambda: next(log.reviews()), lambda: next(log.review_rows()), lambda: log.last_review(10**6)):
            assert steps_of(log, ask)[0] < 5
        assert first[1] == as_us(AT + timedelta(hours=int(named)))
        log._db.execute("DROP INDEX events_by_clock")
    with ReviewLog(path, writable=False) as log:
        steps, row = first_within(log, day, end)
        assert row == last
        assert steps > 50
    with ReviewLog(path) as log:
        log.rest("c", end)
        assert first_within(log, day, end) == (pytest.approx(0, abs=4), last)


def test_what_stood_at_a_moment_leaves_that_moment_out(log):
    """`until` takes what happened before it and nothing at it; `since` takes what happened at it."""
    log.record(review(1))
    log.rest("card-1", AT + timedelta(minutes=1))
    moment, later = AT + timedelta(minutes=1), AT + timedelta(minutes=1, microseconds=1)
    assert log.standing(until=moment).rested == set()
    assert log.standing(until=later).rested == {"card-1"}
    assert [len(list(log.digest_rows(until=end))) for end in (moment, later)] == [0, 1]
    assert [len(list(log.digest_rows(since=start))) for start in (moment, later)] == [1, 0]


def test_a_clock_set_back_never_moves_the_order(log):
    """An event is stamped a millisecond after the last when the clock stands before it, and keeps that clock."""
    log.record(review(1))
    late = log.record(review(2, at=AT - timedelta(days=400)))
    later = log.record(review(3, at=AT - timedelta(days=399)))
    assert late.stamp_us == as_us(AT + timedelta(minutes=1)) + 1_000
    assert later.stamp_us == late.stamp_us + 1_000
    assert late.at == AT - timedelta(days=400)
    assert [one.id for one in log.reviews()] == ["r1", "r2", "r3"]


def test_undo_and_slips_take_effect_at_once(log):
    """Reading in effect leaves out what was undone and carries the last slip named."""
    log.record(review(1, Grade.LOOKED))
    log.record(review(2, Grade.LOOKED, slip="time"))
    log.record(review(3))
    log.slip("r1", "shape", AT)
    log.slip("r1", "root", AT)
    log.slip("r2", None, AT)
    log.undo("r3", AT)
    assert [(one.id, one.slip) for one in log.reviews()] == [("r1", "root"), ("r2", None)]
    assert tuple(log.reviews()) == log.state().reviews


class Oracle(RuleBasedStateMachine):
    """A log under random operations, closed and opened between them, beside a plain list."""

    def __init__(self) -> None:
        super().__init__()
        self.events: list[Event] = []

    @initialize()
    def open(self) -> None:
        """Begin with an empty log."""
        import tempfile

        self.folder = tempfile.TemporaryDirectory(prefix="neckwork-test-")
        self.log = ReviewLog(Path(self.folder.name) / "log.sqlite3")

    def keep(self, event: Event) -> None:
        """Stamp it again by the rule, in plain Python, and remember it."""
        latest = max((one.stamp_us for one in self.events), default=None)
        clock = as_us(event.at)
        assert event.stamp_us == (clock if latest is None else max(clock, latest + 1_000))
        self.events.append(event)

    @rule(one=reviews())
    def record(self, one: Review) -> None:
        """Record any review."""
        self.keep(self.log.record(one))

    @rule(
        number=st.integers(0, 30),
        kind=st.sampled_from(("root", "shape", "fingering", "time", None, "undo")),
        minutes=st.integers(-9999, 9999),
    )
    def about(self, number: int, kind: str | None, minutes: int) -> None:
        """Undo an earlier event, or name its slip."""
        target = self.events[number % len(self.events)].id if self.events else "nothing"
        at = AT + timedelta(minutes=minutes)
        self.keep(self.log.undo(target, at) if kind == "undo" else self.log.slip(target, kind, at))

    @rule(
        body=st.one_of(
            st.builds(Rest, st.sampled_from("ab")), st.builds(Wake, st.sampled_from("ab")),
            st.builds(Flag, st.sampled_from("ab"), st.sampled_from(("", "why?"))),
            st.builds(Lock, st.sampled_from("fg"), st.sampled_from((None, "1", "2"))),
            st.builds(Ticket, st.sampled_from("fg"), st.sampled_from((None, "1", "2"))),
            st.builds(Meet, st.sampled_from("ab"), st.just(("form:x",))),
        )
    )  # fmt: skip
    def append(self, body) -> None:
        """Append anything else."""
        self.keep(self.log.append(body, AT))

    @rule()
    def reopen(self) -> None:
        """Close the log and open it again."""
        self.log.close()
        self.log = ReviewLog(self.log.path)

    @precondition(lambda self: self.events)
    @rule(number=st.integers(0, 30))
    def again(self, number: int) -> None:
        """Adding what is there already changes nothing."""
        assert self.log.add([self.events[number % len(self.events)]]) == (0, 1)

    @invariant()
    def agrees(self) -> None:
        """Every way of reading agrees with the fold of the list."""
        if hasattr(self, "log"):
            state = fold(self.events)
            assert list(self.log.events()) == sorted(self.events, key=lambda event: event.order)
            assert self.log.state() == state
            assert tuple(self.log.reviews()) == state.reviews
            standing = self.log.standing()
            assert (standing.rested, standing.flags, standing.locks, standing.tickets, standing.meets) == (
                state.rested, state.flags, state.locks, state.tickets, state.meets
            )  # fmt: skip
            assert [event for _, event in self.log.since(0)] == self.events
            assert self.log.fingerprint() == (
                self.log.id, len(self.events), self.events[-1].id if self.events else ""
            )  # fmt: skip

    def teardown(self) -> None:
        """Let go of the file and its folder."""
        if hasattr(self, "log"):
            self.log.close()
            self.folder.cleanup()


TestAgainstAPlainList = Oracle.TestCase
TestAgainstAPlainList.settings = settings(max_examples=15, stateful_step_count=20)


def test_a_migrated_log_keeps_its_tables_strict(log):
    """The tables are strict and the migration is on record, so a text never stands where a number should."""
    log.record(review(1))
    conn = sqlite3.connect(log.path)
    tables = {row[1]: row[5] for row in conn.execute("PRAGMA table_list") if row[1] in ("events", "identity")}
    assert tables == {"events": 1, "identity": 1}
    assert conn.execute("SELECT name FROM _sqlite_migrations").fetchall() == [("events_appended_only",)]
    assert conn.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    with pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT value"):
        conn.execute("INSERT INTO events (id, log, stamp_us, clock_us, offset_s, kind) VALUES ('a','b','c',1,1,'rest')")
    conn.close()


@pytest.mark.parametrize("change", ["DELETE FROM events", "UPDATE events SET grade = 4"])
def test_events_are_only_ever_appended(log, change):
    """The file itself refuses to change or remove an event, whoever asks."""
    log.record(review(1))
    conn = sqlite3.connect(log.path)
    with pytest.raises(sqlite3.IntegrityError, match="only ever appended"):
        conn.execute(change)
    conn.close()
    assert [one.id for one in log.reviews()] == ["r1"]


def test_since_tells_what_came_after(log):
    """Reading on from a number gives the later events in the order they arrived, joined ones too."""
    log.record(review(5))
    number = log.fingerprint().last_seq
    early = Event("r1", "other", as_us(AT), AT, review(1, at=AT))
    log.add([early])
    last = log.record(review(6))
    assert [event for _, event in log.since(number)] == [early, last]
    assert next(log.reviews()).id == "r1"


def test_the_same_review_twice_is_refused(log):
    """Recording an id the log holds already is an error, and the first stays."""
    log.record(review(1))
    with pytest.raises(LogError, match="already holds an event of that id"):
        log.record(review(1, Grade.LOOKED))
    assert [one.grade for one in log.reviews()] == [Grade.CLEAN]


def test_an_error_half_way_adds_nothing(log):
    """Taking in events is all or nothing: what raised in the middle is passed on and the log is as before."""
    log.record(review(1))

    def broken():
        yield Event("r2", "other", as_us(AT), AT, review(2, at=AT))
        raise ReviewError("line 2: expected an event, got a coffee stain")

    with pytest.raises(ReviewError, match="coffee stain"):
        log.add(broken())
    assert [one.id for one in log.reviews()] == ["r1"]
    log.record(review(3))
    assert [one.id for one in log.reviews()] == ["r1", "r3"]


def test_writing_while_reading_is_kept(log):
    """A record made in the middle of reading is on the disk at once, and the reading goes on."""
    for number in range(5):
        log.record(review(number))
    reading = log.reviews()
    next(reading)
    log.record(review(9))
    with ReviewLog(log.path, writable=False) as other:
        assert [one.id for one in other.reviews()][-1] == "r9"
    assert len(list(reading)) >= 4


WRITER = """
import sys
sys.modules["pandas"] = None  # which sqlite-utils would load for nothing
from datetime import datetime, timedelta, timezone
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

path, name, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
with ReviewLog(path) as log:
    print("open", flush=True)
    sys.stdin.readline()
    for number in range(count):
        at = datetime(2024, 3, 4, 18, tzinfo=timezone.utc) + timedelta(seconds=number)
        log.record(Review("card", Grade.CLEAN, at, 3.0, id=f"{name}-{number}"))
        print(f"{name}-{number}", flush=True)
"""


def writer(path: Path, name: str, count: int) -> subprocess.Popen:
    """Another process that opens the log, waits for a line, and records `count` reviews, telling each."""
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(count)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_two_sessions_at_once_both_keep_everything(tmp_path):
    """Two processes that make one log and write to it at once lose nothing and share no stamp."""
    path = tmp_path / "log.sqlite3"
    both = [writer(path, name, 150) for name in ("left", "right")]
    for process in both:
        assert process.stdout.readline() == "open\n"
    for process in both:
        process.stdin.write("go\n")
        process.stdin.flush()
    told = {line for process in both for line in process.communicate(timeout=60)[0].split()}
    assert [process.returncode for process in both] == [0, 0]
    with ReviewLog(path) as log:
        events = list(log.events())
    assert {event.id for event in events} == told
    assert len(events) == 300
    assert len({event.stamp_us for event in events}) == 300


def test_a_log_made_by_another_between_two_looks_is_no_strangers_database(tmp_path, monkeypatch):
    """A session that starts while another makes the log opens it, whichever statement the other comes between."""
    path = tmp_path / "log.sqlite3"
    connect = log_schema._connect

    def another_makes_it(statement: str) -> None:
        if "sqlite_master" in statement and not made:
            made.append(statement)
            with suppress(LogError):  # when it has to wait its turn it would try again
                ReviewLog(path, busy_seconds=0.05).close()

    def watched(*args):
        connection = connect(*args)
        connection.set_trace_callback(another_makes_it)
        return connection

    made = []
    with monkeypatch.context() as patch:
        patch.setattr(log_schema, "_connect", lambda *args: connect(*args) if made else watched(*args))
        with ReviewLog(path) as log:
            log.rest("card", datetime(2024, 3, 4, 18, tzinfo=UTC))
    assert made
    with ReviewLog(path) as log:
        assert len(list(log.events())) == 1


def test_a_killed_writer_loses_nothing_it_told(tmp_path):
    """After kill -9 at ten moments every review acknowledged is there and the log opens and writes."""
    path = tmp_path / "log.sqlite3"
    told = set()
    process = writer(path, "run0", 100_000)
    for run in range(10):
        following = writer(path, f"run{run + 1}", 100_000)  # starts up while this one writes
        assert process.stdout.readline() == "open\n"
        process.stdin.write("go\n")
        process.stdin.flush()
        for _ in range(1 + 13 * run % 37):
            told.add(process.stdout.readline().strip())
        process.send_signal(signal.SIGKILL)
        told.update(process.communicate(timeout=30)[0].split())
        process = following
    process.kill()
    process.communicate(timeout=30)
    told.discard("open")
    with ReviewLog(path) as log:
        ids = {one.id for one in log.reviews()}
        assert told <= ids
        log.record(review(1))
        assert log._db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert len(told) > 100


def test_a_full_disk_is_said_and_loses_nothing(tmp_path):
    """When the disk is full the review is refused with advice, and the log opens with all it had."""
    path = tmp_path / "log.sqlite3"
    with ReviewLog(path) as log:
        log.record(review(1))
        pages = log._db.execute("PRAGMA page_count").fetchone()[0]
        log._db.execute(f"PRAGMA max_page_count={pages}")
        kept = 1
        with pytest.raises(LogError, match=r"disk is full; make room and try again, nothing written before is lost"):
            for kept in range(1, 10_000):
                log.record(review(kept + 1))
        assert len(list(log.reviews())) == kept
    with ReviewLog(path) as log:
        assert len(list(log.reviews())) == kept
        log.record(review(kept + 1))


LIMITED = f"""
import resource, signal, sys
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]), int(sys.argv[3])))
{WRITER}
"""


def test_a_write_the_system_refuses_leaves_a_log_that_opens(tmp_path):
    """A write stopped by the operating system in the middle of a session is an error that loses nothing told."""
    path = tmp_path / "log.sqlite3"
    limit = 150_000
    process = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path), "run", str(limit)],
        input="go\n", capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    told = set(process.stdout.split()) - {"open"}
    assert process.returncode == 1
    assert "LogError" in process.stderr
    assert "make room" in process.stderr
    with ReviewLog(path) as log:
        assert told <= {one.id for one in log.reviews()}
        log.record(review(1))
    assert told


def test_what_is_not_a_log_is_left_alone(tmp_path):
    """A text file, another program's database and a folder are refused by name, and not touched."""
    text = tmp_path / "notes.txt"
    text.write_text("Dm7 G7 Cmaj7\n" * 100)
    with pytest.raises(LogError, match=r"notes.txt: cannot .*not a review log; move it away"):
        ReviewLog(text)
    assert text.read_text() == "Dm7 G7 Cmaj7\n" * 100

    foreign = tmp_path / "foreign.sqlite3"
    conn = sqlite3.connect(foreign)
    conn.execute("CREATE TABLE songs (name TEXT)")
    conn.commit()
    conn.close()
    before = foreign.read_bytes()
    with pytest.raises(LogError, match=r"foreign.sqlite3: expected a review log, got another program's database"):
        ReviewLog(foreign)
    assert foreign.read_bytes() == before

    with pytest.raises(LogError, match="expected a file, got a folder"):
        ReviewLog(tmp_path)


def test_a_log_of_a_newer_version_is_refused(log):
    """A log whose schema is newer says that a newer program should open it, and stays as it is."""
    log.record(review(1))
    log._db.execute("PRAGMA user_version=99")
    log.close()
    with pytest.raises(LogError, match="expected schema version 1 or older, got 99; it was written by a newer"):
        ReviewLog(log.path)


@pytest.mark.parametrize("path", ["/proc/no/such/log.sqlite3", "/dev/null/log.sqlite3", "bad\0name"])
def test_a_place_that_cannot_be_written_is_said(path):
    """A path where no file can be made is one error that says so."""
    with pytest.raises(LogError, match=r"cannot open") as caught:
        ReviewLog(path)
    assert isinstance(caught.value, OSError)
    assert isinstance(caught.value, SchedulerError)


def test_reading_only_changes_nothing(tmp_path):
    """A log opened for reading is the same to the last byte, and writing to it says why not."""
    path = tmp_path / "log.sqlite3"
    with ReviewLog(path) as log:
        log.record(review(1))
    before = path.read_bytes()
    with ReviewLog(path, writable=False) as log:
        assert [one.id for one in log.reviews()] == ["r1"]
        with pytest.raises(LogError, match="may not be written to"):
            log.record(review(2))
    assert path.read_bytes() == before
    with pytest.raises(LogError, match="there is no such file"):
        ReviewLog(tmp_path / "missing.sqlite3", writable=False)
    (tmp_path / "empty").touch()
    with pytest.raises(LogError, match="got an empty file"):
        ReviewLog(tmp_path / "empty", writable=False)


def test_a_kill_while_the_log_is_made_leaves_one_that_opens(tmp_path):
    """A file that was made but never filled, with or without its journal mode set, becomes a log."""
    for number, prepare in enumerate(("", "PRAGMA journal_mode=WAL")):
        path = tmp_path / f"log{number}.sqlite3"
        conn = sqlite3.connect(path)
        conn.execute(prepare)
        conn.close()
        path.touch()
        with ReviewLog(path) as log:
            log.record(review(1))
            assert [one.id for one in log.reviews()] == ["r1"]


def test_another_program_holding_the_log_is_said(log):
    """When the lock does not come within the time given, the error says who has it and what to do."""
    other = sqlite3.connect(log.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with (
        ReviewLog(log.path, busy_seconds=0.05) as waiting,
        pytest.raises(LogError, match="another program holds the log; close it or try again"),
    ):
        waiting.record(review(1))
    other.execute("ROLLBACK")
    other.close()
    log.record(review(1))


def test_a_row_another_program_put_there_is_said(log):
    """A row that cannot be an event is an error of the log, not of the program."""
    conn = sqlite3.connect(log.path)
    conn.execute(
        "INSERT INTO events (id, log, stamp_us, clock_us, offset_s, kind, card, grade, skills, seconds, attempt) "
        "VALUES ('x', 'y', 1, 1, 0, 'review', 'c', 9, '[]', 1.0, 'first')"
    )
    conn.commit()
    conn.close()
    for read in (
        lambda: list(log.reviews()), log.state, lambda: digest_of_log(log), lambda: export_csv(log, io.StringIO()),
    ):  # fmt: skip
        with pytest.raises(LogError, match="cannot read") as told:
            read()
        assert str(log.path) in str(told.value)


def test_times_need_an_offset(log):
    """An event whose time has no offset is refused before anything is written."""
    with pytest.raises(ReviewError, match="at: expected a date and time with a UTC offset"):
        log.rest("a", datetime(2024, 3, 4))
    assert list(log.events()) == []


def test_undo_survives_joining(tmp_path):
    """A review undone on either machine is gone on both, whichever is joined to which."""
    left, right = ReviewLog(tmp_path / "left.sqlite3"), ReviewLog(tmp_path / "right.sqlite3")
    for number in (1, 2, 3):
        left.record(review(number))
    assert right.join(left.path) == (3, 0)
    right.undo("r1", AT - timedelta(days=3))
    left.undo("r2", AT)
    assert left.join(right.path) == (1, 3)
    assert right.join(left.path) == (1, 4)
    assert left.state() == right.state()
    assert [one.id for one in left.reviews()] == ["r3"]
    assert Slip("r3", None) not in [event.body for event in left.events()]
    assert Undo("r1") in [event.body for event in left.events()]
    left.close()
    right.close()
