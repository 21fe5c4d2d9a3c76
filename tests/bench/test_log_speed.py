"""How fast a log of a hundred thousand reviews is opened, read, added up and written out."""

from __future__ import annotations

import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import pytest

from scheduler.grade import Grade
from scheduler.log.events import Event, as_us
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from scheduler.statistics.log_digest import digest_of_log
from tests.log_exports import export_csv

LONG = 100_000
CSV = "CSV with three columns of one's own"


_QUALITIES = ("maj7", "m7", "7", "m7b5", "dim7", "6", "m6", "m(maj7)", "maj7#5", "7#5", "7sus4", "m9", "maj9", "9")
_ROOTS = ("C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G")
_CARDS = [
    f"E2A2D3G3B3E4/arpeggio/{root}/{quality}/{strings}/name"
    for strings in ("654", "543", "432") for quality in _QUALITIES for root in _ROOTS
]  # fmt: skip


def fill(path: Path, count: int) -> Path:
    """A log of `count` reviews of 504 cards, 30 a day."""
    rng = Random(1)
    start = datetime(2018, 1, 1, 18, tzinfo=UTC)
    with ReviewLog(path) as log:

        def events():
            for number in range(count):
                at = start + timedelta(days=number // 30, seconds=20 * (number % 30))
                card = rng.randrange(len(_CARDS))
                one = Review(
                    _CARDS[card], rng.choice((*Grade, Grade.CLEAN)), at,
                    round(rng.uniform(2, 30), 2), rng.choice(("first",) * 9 + ("repeat",)),
                    (f"form:0.3.6-{card // 12 % 14}", f"root:Bb/{card % 36}", f"spell:{card % 60}"),
                    20.5, f"s{number // 30}", f"{number:024x}", predicted=rng.random(),
                )  # fmt: skip
                yield Event(one.id, log.id, as_us(at), at, one)

        log.add(events())
    return path


@pytest.fixture(scope="module")
def long_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of a hundred thousand reviews."""
    return fill(tmp_path_factory.mktemp("logs") / "long.sqlite3", LONG)


def cpu(work: Callable[[], object], times: int = 2) -> float:
    """Seconds of CPU that `work` takes, the best of a few."""
    best = float("inf")
    for _ in range(times):
        before = time.process_time()
        work()
        best = min(best, time.process_time() - before)
    return best


class Nowhere:
    """A file that keeps nothing."""

    def write(self, text: str) -> int:
        """Drop it."""
        return len(text)


def test_a_long_log_is_read_in_proportion(long_log, tmp_path, capsys):
    """Ten times the reviews cost about ten times the reading, adding up and writing, and no more to look at."""
    short_log = fill(tmp_path / "short.sqlite3", LONG // 10)
    figures: dict[str, list[float]] = {}
    for path in (short_log, long_log):
        with ReviewLog(path) as log:
            for name, work in (
                ("all reviews read", lambda log=log: sum(1 for _ in log.reviews())),
                ("digest for the progress page", lambda: digest_of_log(log)),
                (CSV, lambda log=log: export_csv(log, Nowhere(), {
                    "set": lambda c: c.split("/")[4], "root": lambda c: c.split("/")[2], "kind": lambda c: c[-4:]
                })),
                ("what stands beside the reviews", log.standing),
                ("fingerprint", log.fingerprint),
                ("the last ten events", lambda log=log, path=path: list(log.since(log.fingerprint().last_seq - 10))),
            ):  # fmt: skip
                figures.setdefault(name, []).append(cpu(work))
    with capsys.disabled():
        print()
        for name, (short, long) in figures.items():
            print(f"  log of {LONG}: {name}: {long * 1000:.1f} ms CPU ({short * 1000:.1f} ms at a tenth)")
        print(f"  log of {LONG}: CSV rows a second of CPU: {LONG / figures[CSV][1]:.0f}")
        print(f"  log of {LONG}: {long_log.stat().st_size / 1e6:.1f} MB on disk")
    for name in ("all reviews read", "digest for the progress page", CSV):
        short, long = figures[name]
        assert long < 25 * short, name
    for name in ("what stands beside the reviews", "fingerprint", "the last ten events"):
        short, long = figures[name]
        assert long < 10 * short + 0.002, name


def test_reading_a_log_holds_little_of_it(tmp_path, capsys):
    """Streaming reviews or writing them as CSV keeps a small part of the file in memory."""
    path = fill(tmp_path / "log.sqlite3", LONG // 10)
    with ReviewLog(path) as log:
        peaks = {}
        for name, work in (
            ("reading", lambda: sum(1 for _ in log.reviews())),
            ("CSV", lambda: export_csv(log, Nowhere())),
        ):
            tracemalloc.start()
            work()
            peaks[name] = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
    with capsys.disabled():
        print(f"\n  log of {LONG // 10}: peak memory {', '.join(f'{n} {p / 1e6:.1f} MB' for n, p in peaks.items())}")
    assert max(peaks.values()) < path.stat().st_size / 3


def test_opening_costs_little_beside_its_import(tmp_path, capsys):
    """Opening a log of two hundred reviews and reading them costs a part of importing the library it stands on."""
    path = fill(tmp_path / "log.sqlite3", 200)
    code = (
        "import time; a = time.perf_counter()\n"
        "import sqlite_utils; b = time.perf_counter()\n"
        "from scheduler.log.review_log import ReviewLog; c = time.perf_counter()\n"
        f"log = ReviewLog({str(path)!r}); d = time.perf_counter()\n"
        "reviews = list(log.reviews()); log.standing(); log.fingerprint(); e = time.perf_counter()\n"
        "print(b - a, c - b, d - c, e - d)"
    )
    runs = [
        [float(one) for one in subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
         .stdout.split()]
        for _ in range(3)
    ]  # fmt: skip
    library, ours, opened, read = (min(column) for column in zip(*runs, strict=True))
    with capsys.disabled():
        print(
            f"\n  log of 200: import of sqlite-utils {library * 1000:.0f} ms, of the log {ours * 1000:.1f} ms, "
            f"opening {opened * 1000:.1f} ms, reading {read * 1000:.1f} ms"
        )
    assert ours + opened + read < library


def test_recording_does_not_slow_down(long_log, tmp_path, capsys):
    """A review is recorded as fast beside a hundred thousand others as beside two hundred."""
    short_log = fill(tmp_path / "short.sqlite3", 200)
    medians = []
    for path in (short_log, long_log):
        with ReviewLog(path) as log:
            times = []
            for number in range(60):
                one = Review("c", Grade.CLEAN, datetime(2040, 1, 1, 12, 0, number % 60, tzinfo=UTC), 3.0)
                before = time.perf_counter()
                log.record(one)
                times.append(time.perf_counter() - before)
            medians.append(sorted(times)[len(times) // 2])
    with capsys.disabled():
        print(f"\n  recording: {medians[0] * 1000:.2f} ms beside 200 reviews, {medians[1] * 1000:.2f} beside {LONG}")
    assert medians[1] < 5 * medians[0] + 0.002
