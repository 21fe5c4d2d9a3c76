"""A damaged file gives the right answer, is refused in words, or says what it has lost; a log never lies."""

from __future__ import annotations

import random
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from itertools import islice

import pytest

from scheduler.errors import LogError
from scheduler.grade import Grade
from scheduler.log.checksums import damage, row_sum, sum_new
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import from_row
from scheduler.log.seal import NO_SEAL, Seal, read_seal
from scheduler.review import Review
from tests.faults.damage import DAMAGED_FILES, LOG, Player, cuts, flips, played

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
SHARE = 12


@pytest.fixture(scope="module")
def player(tmp_path_factory):
    home = tmp_path_factory.mktemp("damage") / "home"
    played(home, 60, 12)
    return Player(home)


@pytest.mark.parametrize("name", DAMAGED_FILES)
def test_no_fault_gives_a_wrong_answer(player, name):
    """A share of the cuts and flips of tests/faults/damage.py, drawn by a fixed seed."""
    rng = random.Random(7)
    every = list(cuts(player, name))
    for fault in (*rng.sample(every, min(SHARE, len(every))), *islice(flips(player, name, SHARE, rng), SHARE)):
        assert player.outcome(fault) != "wrong", fault


def log_of_three(path):
    with ReviewLog(path) as log:
        return [log.record(Review("c", Grade.CLEAN, NOW, 3.0, id=f"r{number}")) for number in range(3)]


def tampered(path, *statements):
    """The file changed under the log's own locks, as no damage would be so tidy."""
    with sqlite3.connect(path) as file:
        file.execute("DROP TRIGGER events_no_update")
        file.execute("DROP TRIGGER events_no_delete")
        file.execute("DROP TRIGGER IF EXISTS sums_of_events")
        for statement in statements:
            file.execute(statement)
    file.close()


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE events SET grade = 1 WHERE id = 'r1'", "'r1', number 2: it is not what was written"),
        ("UPDATE events SET seconds = 3.0000000000000004 WHERE id = 'r1'", "'r1', number 2"),
        ("DELETE FROM events WHERE id = 'r1'", "numbered 2 is missing"),
        ("DELETE FROM events WHERE id = 'r2'", "1 events are missing"),
        ("UPDATE identity SET log = 'other'", "own id"),
    ],
)
def test_a_log_whose_rows_are_not_what_was_written_is_refused(tmp_path, statement, words):
    """Every column counts, to the last bit, and every row; what is whole can still be had."""
    path = tmp_path / LOG
    written = log_of_three(path)
    tampered(path, "DROP TRIGGER sums_of_identity", statement)
    with pytest.raises(LogError, match=r"damaged \(.*" + words) as told:
        ReviewLog(path)
    assert "run neckwork log" in str(told.value)
    with ReviewLog(path, writable=False, checked=False) as log:
        assert words in log.faults()[0]
        whole = [from_row(row) for row in log.whole_rows()]
    # The id of the log itself is no part of an event.
    assert whole == [event for event in written if event.id not in statement]


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE imports SET first_seq = 1", "the import from event 4 on is no longer remembered"),
        ("UPDATE imports SET last_seq = 3", "the import from event 4 on: what is remembered of it is not"),
        ("UPDATE imports SET source = 'mine'", "the import from event 4 on: what is remembered of it is not"),
        ("DELETE FROM imports", "the import from event 4 on is no longer remembered"),
    ],
)
def test_what_is_remembered_of_an_import_is_what_was_written(tmp_path, statement, words):
    """Taking it back would otherwise set aside other events than those that came with it."""
    path = tmp_path / LOG
    written = log_of_three(path)
    with ReviewLog(path) as log:
        log.add([replace(written[0], id="x1", body=replace(written[0].body, id="x1"))], source="other.json", at=NOW)
        assert log.faults() == []
    with sqlite3.connect(path) as file:
        file.execute(statement)
    file.close()
    with pytest.raises(LogError, match=words):
        ReviewLog(path)


def test_an_import_remembered_without_a_sum_is_no_damage(tmp_path):
    """A version that knew of none wrote it; the next one has its own."""
    path = tmp_path / LOG
    event = log_of_three(path)[0]
    for number in (1, 2):
        with ReviewLog(path) as log:
            log.add([replace(event, id=f"x{number}", body=replace(event.body, id=f"x{number}"))], source="s", at=NOW)
        if number == 1:
            with sqlite3.connect(path) as file:
                file.execute("DELETE FROM sums WHERE seq < 0")
            file.close()
    with ReviewLog(path) as log:
        assert (log.faults(), len(log.imports())) == ([], 2)


def test_a_log_without_sums_is_read_as_it_is_and_gets_them_at_the_next_write(tmp_path):
    """As one of a version that knew of none."""
    path = tmp_path / LOG
    written = log_of_three(path)
    tampered(path, "DROP TABLE sums")
    with ReviewLog(path) as log:
        assert list(log.events()) == written
        written.append(log.rest("c", NOW))
    with sqlite3.connect(path) as file:
        rows = file.execute("SELECT * FROM events ORDER BY seq").fetchall()
        assert file.execute("SELECT sum FROM sums WHERE seq > 0 ORDER BY seq").fetchall() == [
            (row_sum(row),) for row in rows
        ]
        assert damage(file) == []
    file.close()


def test_stamps_brought_back_by_a_version_without_sums_are_no_damage(tmp_path):
    """The file itself lets go of the sum of a row that is changed on purpose."""
    path = tmp_path / LOG
    log_of_three(path)
    with sqlite3.connect(path) as file:
        file.execute("DROP TRIGGER events_no_update")
        file.execute("UPDATE events SET stamp_us = stamp_us - 1")
        file.execute("UPDATE identity SET log = 'mended'")
        assert damage(file) == []
        sum_new(file)
    file.close()
    with ReviewLog(path) as log:
        assert (log.id, log.fingerprint().last_seq) == ("mended", 3)


def test_a_lost_end_is_counted_once(tmp_path):
    """The count beside the log says how many events are gone; then what is there is the log."""
    path = tmp_path / LOG
    log_of_three(path)
    shorter = path.read_bytes()
    with ReviewLog(path) as log:
        log.rest("c", NOW)
        log.wake("c", NOW)
    path.write_bytes(shorter)
    with ReviewLog(path, writable=False) as log:
        assert log.lost == 2
    with ReviewLog(path) as log:
        assert log.lost == 2
    with ReviewLog(path) as log:
        assert log.lost == 0


def test_a_count_is_on_file_after_every_write_and_a_damaged_one_is_none(tmp_path):
    """A killed program leaves the count of its last write; a seal with a flipped bit is not believed."""
    path = tmp_path / LOG
    seal = path.with_suffix(".seal")
    log = ReviewLog(path)
    log.rest("c", NOW)
    assert read_seal(path) == Seal(log.id, 1, None)
    log.close()
    whole = seal.read_bytes()
    assert read_seal(path).content is not None
    for bit in range(whole.index(b"\n") * 8):
        damaged = bytearray(whole)
        damaged[bit // 8] ^= 1 << bit % 8
        seal.write_bytes(damaged)
        assert read_seal(path) == NO_SEAL
    seal.write_bytes(b"notes of mine")
    with ReviewLog(path) as log:
        log.wake("c", NOW)
    assert seal.read_bytes() == b"notes of mine"
