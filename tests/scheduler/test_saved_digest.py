"""The digest saved beside a log: the same to the last bit as adding the log up again, whatever happened to either."""

from __future__ import annotations

import ast
import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import scheduler
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from scheduler.saved import saved_digest as module
from scheduler.saved.saved_digest import saved_digest
from scheduler.statistics.digest import Tally
from scheduler.statistics.log_digest import digest_of_log
from tests.strategies import LOG_START, histories

START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
NOW = START + timedelta(days=400)


def kind(card: str) -> str:
    """One of two kinds, by the card's number."""
    return "name" if int(card[1:]) % 2 else "degree"


def review(number: int, at: datetime | None = None) -> Review:
    """A review like any other, by its number."""
    rng = random.Random(number)
    return Review(
        f"c{rng.randrange(9)}", rng.choice(list(Grade)), at or START + timedelta(hours=9 * number), rng.uniform(2, 70),
        attempt=rng.choice(("first", "first", "repeat")), spent=rng.choice((None, rng.uniform(8, 150))),
        skills=(f"form:{number % 4}",), slip=rng.choice((None, "root")), predicted=rng.choice((None, rng.random())),
        id=f"{number:06d}",
    )  # fmt: skip


@pytest.fixture
def log(tmp_path):
    """A log of eighty reviews."""
    with ReviewLog(tmp_path / "log.sqlite3") as made:
        for number in range(80):
            made.record(review(number))
        yield made


@pytest.fixture(autouse=True)
def _save_all(monkeypatch):
    """Whatever is new is worth saving."""
    monkeypatch.setattr(module, "_WORTH_SAVING", 0)


def read(log, path, monkeypatch, until: datetime = NOW, hour: float = 4.0) -> int:
    """How many rows are added up when the digest is asked for; it is checked against the log's own."""
    rows = 0

    class Counting(Tally):
        def add(self, new):
            nonlocal rows
            new = list(new)
            rows += len(new)
            super().add(new)

    monkeypatch.setattr(module, "Tally", Counting)
    found, again = saved_digest(log, path, until, hour, kind), digest_of_log(log, hour, kind, until=until)
    assert found == again
    assert found.weeks() == again.weeks()
    return rows


def test_what_was_added_up_is_not_read_again(log, tmp_path, monkeypatch):
    """The second look reads no review, and two reviews later it reads two."""
    path = tmp_path / "counts"
    assert [read(log, path, monkeypatch) for _ in range(2)] == [80, 0]
    log.record(review(80))
    log.record(review(81))
    assert read(log, path, monkeypatch) == 2


def test_what_disturbs_the_past_is_noticed(log, tmp_path, monkeypatch):
    """An undo, a slip named later, a review from before, another hour, another version, damage: all is read again."""
    path = tmp_path / "counts"
    read(log, path, monkeypatch)
    log.undo(review(30).id, NOW)
    assert read(log, path, monkeypatch) == 79
    log.slip(review(7).id, "shape", NOW)
    assert read(log, path, monkeypatch) == 79
    with ReviewLog(tmp_path / "other.sqlite3") as other:
        other.record(review(700, START - timedelta(days=3)))
    log.join(tmp_path / "other.sqlite3")
    assert read(log, path, monkeypatch) == 80
    assert read(log, path, monkeypatch, hour=0.0) == 80
    assert read(log, path, monkeypatch) == 80
    path.write_bytes(path.read_bytes()[:-3])
    assert [read(log, path, monkeypatch) for _ in range(2)] == [80, 0]
    monkeypatch.setattr(module, "_SOURCES", ("statistics/digest.py",))
    assert read(log, path, monkeypatch) == 80


def test_a_day_gone_by_is_read_from_the_log(log, tmp_path, monkeypatch):
    """Asked how it stood on an earlier day, or when a clock ran ahead, nothing later is counted."""
    path = tmp_path / "counts"
    read(log, path, monkeypatch)
    middle = START + timedelta(days=10)
    assert saved_digest(log, path, middle, kind=kind).total.tries < digest_of_log(log, kind=kind).total.tries
    read(log, path, monkeypatch, until=middle)
    log.record(review(80, NOW + timedelta(days=3)))
    log.record(review(81, NOW - timedelta(days=3)))
    read(log, path, monkeypatch)
    read(log, path, monkeypatch, until=NOW + timedelta(days=4))


def test_little_is_not_saved(log, tmp_path, monkeypatch):
    """A short log makes no file, and a folder that cannot be written to is no error."""
    monkeypatch.setattr(module, "_WORTH_SAVING", 100)
    read(log, tmp_path / "counts", monkeypatch)
    assert not (tmp_path / "counts").exists()
    monkeypatch.setattr(module, "_WORTH_SAVING", 0)
    read(log, tmp_path / "no" / "such" / "folder" / "counts", monkeypatch)


def test_a_log_called_as_the_file_is_stays_a_log(tmp_path):
    """The digest is right and the log is there, whatever it is called."""
    path = tmp_path / "log.counts"
    with ReviewLog(path) as log:
        for number in range(30):
            log.record(review(number))
        assert saved_digest(log, path, NOW) == digest_of_log(log, until=NOW)
    assert path.read_bytes().startswith(b"SQLite format 3\0")  # SQLite's file format, 1.3


@settings(max_examples=40)
@given(parts=st.lists(histories(), min_size=1, max_size=4), hour=st.sampled_from((0.0, 4.0)))
def test_any_history_in_any_pieces_adds_up_as_one(parts, hour, tmp_path_factory):
    """After each piece of what three machines wrote, undone and slipped and joined, the digest is that of the log."""
    folder = tmp_path_factory.mktemp("counts")
    until = LOG_START + timedelta(days=30)
    known: set[str] = set()
    with ReviewLog(folder / "log.sqlite3") as log:
        for part in parts:
            log.add(event for event in part if event.id not in known)
            known |= {event.id for event in part}
            found, again = saved_digest(log, folder / "counts", until, hour), digest_of_log(log, hour, until=until)
            assert (found, found.days()) == (again, again.days())


def test_every_module_behind_the_counts_is_looked_at():
    """Each module of memory and statistics that the counts import is in the list, the curve's growth among them."""
    root = Path(scheduler.__file__).parent
    # An interval is worked out from counts when it is asked for, and never saved.
    found, left = set(), {"statistics/log_digest.py"}
    while left:
        name = left.pop()
        found.add(name)
        for node in ast.walk(ast.parse((root / name).read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(
                ("scheduler.memory.", "scheduler.statistics.")
            ):
                left |= {node.module.removeprefix("scheduler.").replace(".", "/") + ".py"} - found
    assert found - {"statistics/intervals.py"} <= set(module._SOURCES)
    assert "memory/growth.py" in found
