"""The files of a log at their edges: its seal, its checksums, its copies, and how it is opened."""

from __future__ import annotations

import os
import sqlite3
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zlib import crc32

import pytest

from scheduler.errors import LogError
from scheduler.grade import Grade
from scheduler.log import copies
from scheduler.log.checksums import damage, make_sums, row_sum, sum_again, sum_new, whole_rows
from scheduler.log.copies import KEPT, KEPT_BYTES, copies_of, keep_copy, refuse_lost
from scheduler.log.review_log import ReviewLog
from scheduler.log.schema import COLUMNS, SCHEMA_VERSION, explained, open_database
from scheduler.log.seal import MOST_BYTES, NO_SEAL, Seal, SealFile, content_sum, read_seal
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)


def log_of(path: Path, count: int) -> str:
    """A log of so many reviews, closed in order; answers its id."""
    with ReviewLog(path) as log:
        for number in range(count):
            log.record(Review("c", Grade.CLEAN, NOW + timedelta(minutes=number), 3.0, id=f"r{number}"))
        return log.id


def without_guards(path: Path, *statements: str) -> None:
    """The file changed as a damaged disk would."""
    with sqlite3.connect(path) as file:
        names = file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in names:
            file.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            file.execute(statement)
    file.close()


# ---- the seal


def test_a_seal_is_read_as_it_was_written(tmp_path):
    """Head, checksum and values on one line; a shorter one after a longer leaves nothing of it."""
    path = tmp_path / "log.sqlite3"
    file = SealFile(path)
    for seal in (Seal("long" * 20, 123_456, 77), Seal("a", 1, None), Seal("b", 0, 0), NO_SEAL):
        file.write(seal)
        assert read_seal(path) == seal
        line = path.with_suffix(".seal").read_bytes()
        head, check, text = line.split(b"\n")[0].decode().split("\t")
        assert head == "review log seal 1" and check == f"{crc32(text.encode()):08x}"
        assert line.split(b"\n", 1)[1].strip() == b""
    file.close()
    file.close()
    file.write(Seal("z", 9, 9))
    assert read_seal(path) == NO_SEAL
    assert stat.S_IMODE(path.with_suffix(".seal").stat().st_mode) == 0o600


def test_a_seal_written_over_an_older_file_covers_all_of_it(tmp_path):
    """Its length is known from the file, so that blanks reach to its end."""
    path = tmp_path / "log.sqlite3"
    for name in ("x" * 300, "y"):
        file = SealFile(path)
        file.write(Seal(name, 5, 6))
        file.close()
    raw = path.with_suffix(".seal").read_bytes()
    assert read_seal(path) == Seal("y", 5, 6) and b"x" not in raw and len(raw) > 300


@pytest.mark.parametrize(
    ("content", "ours"),
    [
        (None, True), (b"", True), (b"\0" * 40, True), (b"review log seal 1\tx", True), (b"review log seal 2", False),
        (b"notes of mine", False), (b"\0\0x", False), (b"review log", False),
    ],
)  # fmt: skip
def test_no_file_of_anothers_is_taken_for_a_seal(tmp_path, content, ours):
    """Nothing there, nothing in it, blanks or a seal may be written to; what else stands there stays as it is."""
    path = tmp_path / "log.sqlite3"
    seal = path.with_suffix(".seal")
    if content is not None:
        seal.write_bytes(content)
    file = SealFile(path)
    file.write(Seal("a", 1, 2))
    file.close()
    assert (read_seal(path) == Seal("a", 1, 2)) == ours
    if not ours:
        assert seal.read_bytes() == content


def test_a_log_that_is_called_a_seal_has_none(tmp_path):
    """It would write over itself; a folder of that name is no seal either."""
    path = tmp_path / "log.seal"
    path.write_bytes(b"")
    file = SealFile(path)
    file.write(Seal("a", 1, 2))
    file.close()
    assert path.read_bytes() == b""
    (tmp_path / "other.seal").mkdir()
    folder = SealFile(tmp_path / "other.sqlite3")
    folder.write(Seal("a", 1, 2))
    folder.close()
    assert read_seal(tmp_path / "other.sqlite3") == NO_SEAL


@pytest.mark.parametrize(
    "text", ['["a", 1]', '["a", 1, 2, 3]', '["a", "x", 2]', '["a", 1, "x"]', "{}", "7", "not json", '["a", null, 1]']
)
def test_a_seal_that_says_something_else_is_none(tmp_path, text):
    """Even under its own checksum."""
    seal = tmp_path / "log.seal"
    seal.write_bytes(f"review log seal 1\t{crc32(text.encode()):08x}\t{text}\n".encode())
    assert read_seal(tmp_path / "log.sqlite3") == NO_SEAL


def test_a_seal_is_read_as_far_as_4000_bytes(tmp_path):
    """A longer line than any log's is cut, so its checksum fails."""
    for length, fits in ((4_000, True), (4_001, False)):
        frame = len('review log seal 1\t00000000\t["", 1, null]')
        text = f'["{"a" * (length - frame)}", 1, null]'
        line = f"review log seal 1\t{crc32(text.encode()):08x}\t{text}"
        assert len(line) == length
        (tmp_path / "log.seal").write_text(line, encoding="ascii")
        assert (read_seal(tmp_path / "log.sqlite3") != NO_SEAL) == fits


def test_a_wrong_head_or_sum_is_no_seal(tmp_path):
    """Each by itself."""
    text = '["a", 1, 2]'
    for head, check in (("review log seal 2", crc32(text.encode())), ("review log seal 1", 1)):
        (tmp_path / "log.seal").write_text(f"{head}\t{check:08x}\t{text}\n", encoding="ascii")
        assert read_seal(tmp_path / "log.sqlite3") == NO_SEAL


def test_a_file_of_32_mebibytes_has_a_content_sum_and_no_larger(tmp_path):
    """By its pages, those not yet in the file too."""
    assert MOST_BYTES == 32 * 1024 * 1024
    file = sqlite3.connect(":memory:")
    file.execute("PRAGMA page_size = 65536")
    file.execute("CREATE TABLE filled (what)")
    seen = set()
    while True:
        ((pages,), (size,)) = (file.execute(f"PRAGMA {name}").fetchone() for name in ("page_count", "page_size"))
        found = content_sum(file)
        assert (found is None) == (pages * size > MOST_BYTES)
        seen.add(found is None)
        if pages * size > MOST_BYTES:
            break
        if pages * size < MOST_BYTES - 4 * size:
            file.execute("INSERT INTO filled VALUES (zeroblob(?))", (MOST_BYTES - pages * size - 4 * size,))
        else:
            file.execute("INSERT INTO filled VALUES (zeroblob(40000))")
    assert seen == {True, False}
    file.close()


# ---- opening


def test_what_is_lost_is_counted_by_the_log_that_was_sealed(tmp_path):
    """No events are lost of a log with as many, or with another id's seal beside it."""
    path = tmp_path / "log.sqlite3"
    name = log_of(path, 3)
    for log_id, events, lost in ((name, 3, 0), (name, 5, 2), (name, 1, 0), ("x", 9, 0)):
        file = SealFile(path)
        file.write(Seal(log_id, events, None))
        file.close()
        with ReviewLog(path, writable=False) as log:
            assert log.lost == lost
    with ReviewLog(path, checked=False) as log:
        assert log.lost == 0
    with ReviewLog(":memory:") as log:
        assert log.lost == 0 and log.path == ":memory:"


def test_a_log_that_bears_its_seal_is_not_looked_through_again(tmp_path):
    """A damaged row under a right seal is found by asking for faults only; under any other seal at once."""
    path = tmp_path / "log.sqlite3"
    name = log_of(path, 3)
    without_guards(path, "UPDATE events SET grade = 1 WHERE id = 'r1'")
    connection = sqlite3.connect(path)
    right = content_sum(connection)
    connection.close()
    for content, refused in ((right, False), (right + 1, True), (None, True)):
        file = SealFile(path)
        file.write(Seal(name, 3, content))
        file.close()
        if refused:
            with pytest.raises(LogError, match="'r1', number 2"):
                ReviewLog(path, writable=False)
        else:
            with ReviewLog(path, writable=False) as log:
                assert len(log.faults()) == 1


def test_closing_seals_what_was_written_or_looked_through(tmp_path):
    """Events and content; a log that is only read writes none; closing twice is harmless."""
    path = tmp_path / "log.sqlite3"
    name = log_of(path, 2)
    sealed = read_seal(path)
    assert (sealed.log, sealed.events) == (name, 2) and sealed.content is not None
    path.with_suffix(".seal").unlink()
    with ReviewLog(path, writable=False):
        pass
    assert read_seal(path) == NO_SEAL
    log = ReviewLog(path)
    log.close()
    log.close()
    assert read_seal(path) == sealed
    with ReviewLog(path) as log:
        log.add([], source="x", at=NOW)
        assert read_seal(path) == Seal(name, 2, None)
        log.rest("c", NOW)
        assert read_seal(path) == Seal(name, 3, None)
    assert read_seal(path).events == 3


def test_an_empty_log_needs_no_check(tmp_path):
    """Nothing was written, so nothing can be damaged; it is sealed once something is."""
    path = tmp_path / "log.sqlite3"
    ReviewLog(path).close()
    assert read_seal(path) == NO_SEAL
    with ReviewLog(path) as log:
        assert log.lost == 0 and log.faults() == [] and log.latest() is None and not log.holds("x")


def test_the_file_and_its_folders_are_the_players_own(tmp_path):
    """Rights of the file and of a folder that is made for it; one in a folder of nobody's is refused when only read."""
    path = tmp_path / "a" / "b" / "log.sqlite3"
    log_of(path, 1)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600 and stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    with pytest.raises(LogError, match="expected a review log, but there is no such file"):
        ReviewLog(tmp_path / "c" / "log.sqlite3", writable=False)
    assert not (tmp_path / "c").exists()
    with pytest.raises(LogError, match="expected a file, got a folder"):
        ReviewLog(tmp_path / "a")
    os.mkfifo(tmp_path / "pipe")
    for writable in (True, False):
        with pytest.raises(LogError, match="expected a file, got a pipe, device or socket"):
            ReviewLog(tmp_path / "pipe", writable=writable)


def test_what_is_no_log_is_told_from_one(tmp_path):
    """By the mark of the file, its version, and what it holds."""
    path = tmp_path / "log.sqlite3"
    log_of(path, 1)
    with sqlite3.connect(path) as file:
        mark = file.execute("PRAGMA application_id").fetchone()[0]
        assert mark == 0x5EED0CA4 and file.execute("PRAGMA user_version").fetchone() == (SCHEMA_VERSION,)
    file.close()
    for number, statement in enumerate(("PRAGMA application_id = 7", "PRAGMA user_version = 7", "CREATE TABLE t (x)")):
        other = tmp_path / f"other{number}.sqlite3"
        with sqlite3.connect(other) as file:
            file.execute(statement)
        file.close()
        with pytest.raises(LogError, match="got another program's database"):
            ReviewLog(other)
    for version, fits in ((SCHEMA_VERSION, True), (SCHEMA_VERSION + 1, False)):
        with sqlite3.connect(path) as file:
            file.execute(f"PRAGMA user_version = {version}")
        file.close()
        if fits:
            ReviewLog(path).close()
        else:
            with pytest.raises(LogError, match=f"expected schema version {SCHEMA_VERSION} or older, got {version}"):
                ReviewLog(path)
    (tmp_path / "empty.sqlite3").write_bytes(b"")
    with pytest.raises(LogError, match="got an empty file"):
        ReviewLog(tmp_path / "empty.sqlite3", writable=False)


def test_every_commit_reaches_the_disk(tmp_path):
    """SQLite's strictest setting, the write-ahead log, and no recursive triggers."""
    for writable in (True, False):
        db = open_database(tmp_path / "log.sqlite3", writable, 1.0)
        assert db.execute("PRAGMA synchronous").fetchone() == (2,)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert db.execute("PRAGMA fullfsync").fetchone() == (int(writable),)
        assert db.execute("PRAGMA recursive_triggers").fetchone() == (0,)
        assert db.execute("PRAGMA busy_timeout").fetchone() == (1000,)
        db.close()


@pytest.mark.parametrize("detail", [0, 1, 2])
def test_a_log_waits_for_another_that_makes_its_tables(monkeypatch, detail):
    """SQLite does not wait for its lock while it changes the journal mode: we do, for as long as we may."""
    from scheduler.log import schema

    now, tries = [0.0], []

    class Held:
        def __init__(self, until, code):
            self.until, self.code = until, code

        def execute(self, statement):
            tries.append(statement)
            if now[0] < self.until:
                error = sqlite3.OperationalError("held")
                error.sqlite_errorcode = self.code
                raise error

    monkeypatch.setattr(schema.time, "monotonic", lambda: now[0])
    monkeypatch.setattr(schema.time, "sleep", lambda seconds: now.__setitem__(0, now[0] + seconds))
    schema._use_write_ahead_log(Held(0.5, sqlite3.SQLITE_BUSY | detail << 8), 1.0)
    assert len(tries) > 2 and set(tries) == {"PRAGMA journal_mode=WAL"} and now[0] >= 0.5
    with pytest.raises(sqlite3.OperationalError, match="held"):
        schema._use_write_ahead_log(Held(9.0, sqlite3.SQLITE_BUSY | detail << 8), 1.0)
    assert 1.5 < now[0] < 1.6
    tries.clear()
    with pytest.raises(sqlite3.OperationalError, match="held"):
        schema._use_write_ahead_log(Held(9.0, sqlite3.SQLITE_LOCKED | detail << 8), 1.0)
    assert len(tries) == 1


def test_no_plugin_of_the_library_touches_a_log(tmp_path, monkeypatch):
    """Plugins of sqlite-utils are other people's code: neither a log on the disk nor one in memory runs them."""
    from sqlite_utils import hookimpl, plugins

    from scheduler.log import schema

    class Curious:
        @hookimpl
        def prepare_connection(self, conn):
            met.append(conn)

    met: list[sqlite3.Connection] = []
    plugin = Curious()
    plugins.pm.register(plugin)
    try:
        schema._empty_log.cache_clear()
        for path in (":memory:", tmp_path / "log.sqlite3"):
            ReviewLog(path).close()
    finally:
        plugins.pm.unregister(plugin)
    assert met == []


def test_two_logs_in_memory_have_ids_of_their_own():
    """And start empty."""
    with ReviewLog(":memory:") as one, ReviewLog(":memory:") as other:
        one.rest("c", NOW)
        assert one.id != other.id and list(other.events()) == [] and one.fingerprint().last_seq == 1


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (sqlite3.DatabaseError("odd"), "try again; if it stays, restore the log from a copy or an export"),
        (PermissionError("no"), "give a file in a folder you may write to"),
        (ValueError("odd"), r"ValueError: odd\); check the path, or move the file away and import the last export"),
    ],
)
def test_what_the_system_says_is_told_with_what_to_do(error, words):
    """As a LogError that names the file and what was being done; an error of ours stays as it is."""
    with pytest.raises(LogError, match=r"log x: cannot read \(.*" + words), explained("x", "read"):
        raise error
    ours = LogError("as it was")
    with pytest.raises(LogError) as caught, explained("x", "read"):
        raise ours
    assert caught.value is ours


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (sqlite3.SQLITE_BUSY, "another program holds the log"), (sqlite3.SQLITE_FULL, "the disk is full"),
        (sqlite3.SQLITE_IOERR | 10 << 8, "the disk may be full or gone"), 
        (sqlite3.SQLITE_READONLY, "may not be written"),
        (sqlite3.SQLITE_CANTOPEN, "the folder is missing"), (sqlite3.SQLITE_NOTADB, "is not a review log"),
        (sqlite3.SQLITE_CORRUPT | 1 << 8, "the file is damaged"), (sqlite3.SQLITE_CONSTRAINT, "already holds an event"),
        (sqlite3.SQLITE_MISUSE, "try again"),
    ],
)  # fmt: skip
def test_sqlites_codes_have_their_advice(code, words):
    """The extended codes too."""
    error = sqlite3.OperationalError("odd")
    error.sqlite_errorcode = code
    with pytest.raises(LogError, match=words), explained("x", "write"):
        raise error


# ---- checksums


def test_the_sum_of_a_row_is_crc_32_of_its_values(tmp_path):
    """Number and columns, a unit separator between them (ITU-T V.42); every event and the log's id have one."""
    path = tmp_path / "log.sqlite3"
    log_of(path, 3)
    with sqlite3.connect(path) as file:
        rows = file.execute(f"SELECT seq, {', '.join(COLUMNS)} FROM events ORDER BY seq").fetchall()
        wanted = [crc32("\x1f".join(map(str, row)).encode()) for row in rows]
        ids = file.execute("SELECT log FROM identity").fetchall()
        assert [row_sum(row) for row in rows] == wanted
        assert file.execute("SELECT seq, sum FROM sums ORDER BY seq").fetchall() == [
            (0, crc32(repr(ids).encode())), *enumerate(wanted, 1),
        ]  # fmt: skip
        make_sums(file)
        for after in (0, 1, 3):
            file.execute("UPDATE sums SET sum = 5")
            sum_again(file, after)
            changed = [seq for (seq,) in file.execute("SELECT seq FROM sums WHERE sum <> 5 ORDER BY seq")]
            assert changed == [0, *range(after + 1, 4)]
        file.execute("DELETE FROM sums WHERE seq > 1")
        file.execute("UPDATE sums SET sum = 5")
        sum_new(file)
        assert file.execute("SELECT sum FROM sums ORDER BY seq").fetchall() == [(5,), (5,), *[(s,) for s in wanted[1:]]]
    file.close()


@pytest.mark.parametrize("most", [1, 2, 3, 5])
def test_damage_is_told_in_as_many_sentences_as_asked(tmp_path, most):
    """Five unless asked; each event by id and number."""
    path = tmp_path / "log.sqlite3"
    log_of(path, 8)
    without_guards(path, "UPDATE events SET grade = 1 WHERE seq > 1")
    with sqlite3.connect(path) as file:
        found = damage(file, most)
        assert [line.partition(":")[0] for line in found] == [
            f"event 'r{n}', number {n + 1}" for n in range(1, most + 1)
        ]
        assert len(damage(file)) == 5
        assert [row[0] for row in whole_rows(file)] == ["r0"]
    file.close()


def test_what_is_gone_is_counted(tmp_path):
    """From the middle by its number, from the end by the sums that are left."""
    path = tmp_path / "log.sqlite3"
    log_of(path, 5)
    without_guards(path, "DELETE FROM events WHERE seq IN (4, 5)")
    with sqlite3.connect(path) as file:
        assert damage(file) == ["2 events are missing whose checksums are there"]
        assert [row[0] for row in whole_rows(file)] == ["r0", "r1", "r2"]
        file.execute("DELETE FROM events WHERE seq = 1")
        assert damage(file) == ["the event numbered 1 is missing", "3 events are missing whose checksums are there"]
        assert [row[0] for row in whole_rows(file)] == ["r1", "r2"]
        file.execute("DELETE FROM sums WHERE seq >= 3")
        assert [row[0] for row in whole_rows(file)] == ["r1", "r2"], "an event without a sum is handed out as it is"
        file.execute("DROP TABLE sums")
        assert damage(file) == [] and [row[0] for row in whole_rows(file)] == ["r1", "r2"]
    file.close()


def test_a_log_without_the_sum_of_its_id_is_whole(tmp_path):
    """One whose id was changed is not."""
    path = tmp_path / "log.sqlite3"
    log_of(path, 2)
    without_guards(path, "DELETE FROM sums WHERE seq = 0", "UPDATE identity SET log = 'other'")
    with sqlite3.connect(path) as file:
        assert damage(file) == []
        sum_again(file, 2)
        assert damage(file) == []
        file.execute("UPDATE identity SET log = 'third'")
        assert damage(file) == ["the log's own id is not what was written, by its checksum"]
    file.close()


# ---- copies


def test_five_copies_are_kept_and_the_newest_whatever_its_size(tmp_path, monkeypatch):
    """By their number, and by their bytes together; the newest always."""
    assert (KEPT, KEPT_BYTES) == (5, 500_000_000)
    path = tmp_path / "log.sqlite3"
    with ReviewLog(path) as log:
        log.rest("c", NOW)
        hours = iter(range(100))
        made = [keep_copy(log, NOW + timedelta(hours=next(hours))) for _ in range(7)]
        assert copies_of(path) == made[2:]
        size = made[-1].stat().st_size
        for room, kept in ((5 * size, 5), (5 * size - 1, 4), (3 * size, 3), (2 * size - 1, 1), (1, 1)):
            monkeypatch.setattr(copies, "KEPT_BYTES", room)
            made.append(keep_copy(log, NOW + timedelta(hours=next(hours))))
            assert copies_of(path) == made[-kept:]


def test_copies_have_their_time_in_their_name_and_a_number_where_it_is_taken(tmp_path):
    """Rights of the folder and of the file are the player's own; nothing half made is left."""
    path = tmp_path / "log.sqlite3"
    with ReviewLog(path) as log:
        log.rest("c", NOW)
        names = [keep_copy(log, NOW).name for _ in range(3)]
        assert names == [f"log-20260302T180000{more}.sqlite3" for more in ("", "-1", "-2")]
        folder = tmp_path / "copies"
        assert sorted(each.name for each in folder.iterdir()) == sorted(names)
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert {stat.S_IMODE(each.stat().st_mode) for each in folder.iterdir()} == {0o600}
        for other in ("log-2026.sqlite3", "log-20260302T180000.txt", "other-20260302T180000.sqlite3", "log.sqlite3"):
            (folder / other).write_bytes(b"x")
        assert [each.name for each in copies_of(path)] == sorted(names)
    with ReviewLog(folder / names[0], writable=False) as copy:
        assert [event.kind for event in copy.events()] == ["rest"]
    assert copies_of(tmp_path / "nowhere" / "log.sqlite3") == []


@pytest.mark.parametrize("gone", [True, False])
@pytest.mark.parametrize("beside", [".memory", ".counts"])
def test_a_log_that_is_gone_is_not_begun_anew(tmp_path, beside, gone):
    """What it taught lies beside it; empty files there tell nothing; the newest copy is named where there is one."""
    path = tmp_path / "log.sqlite3"
    if not gone:
        path.write_bytes(b"")
    refuse_lost(path)
    saved = path.with_suffix(beside)
    saved.write_bytes(b"")
    refuse_lost(path)
    saved.write_bytes(b"x")
    lost = "is not there" if gone else "is empty"
    with pytest.raises(LogError, match=f"log{beside} beside it came from, but the file {lost}; no copy is kept"):
        refuse_lost(path)
    (tmp_path / "copies").mkdir()
    for hour in (10, 12, 11):
        (tmp_path / "copies" / f"log-20260302T{hour}0000.sqlite3").write_bytes(b"x")
    with pytest.raises(LogError, match=r"put back the newest copy, .*log-20260302T120000\.sqlite3\. To begin anew"):
        refuse_lost(path)
    path.write_bytes(b"x")
    refuse_lost(path)


def test_a_write_ahead_log_alone_tells_that_there_was_a_log(tmp_path):
    """SQLite would delete it beside an empty file; an empty one tells nothing."""
    path = tmp_path / "log.sqlite3"
    wal = tmp_path / "log.sqlite3-wal"
    wal.write_bytes(b"")
    refuse_lost(path)
    wal.write_bytes(b"x")
    with pytest.raises(LogError, match=r"log\.sqlite3-wal beside it"):
        refuse_lost(path)
    path.with_suffix(".memory").write_bytes(b"x")
    with pytest.raises(LogError, match=r"log\.memory and log\.sqlite3-wal beside it"):
        refuse_lost(path)
    refuse_lost(tmp_path / ("x" * 300))
