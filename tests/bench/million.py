"""A log of a million reviews, and what each command takes beside it: ``python -m tests.bench.million FOLDER``.

The log is made once and kept in the folder; each command runs in a process of its own, and what it took is the
system's own count (wait4: user and system time, the largest memory held).
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

from scheduler.grade import Grade
from scheduler.log.events import Event, as_us
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from tests.bench.test_key_press import waits

A_DAY = 300
"""Reviews a day, so that a million end today after nine years."""

QUALITIES = ("maj7", "m7", "7", "m7b5", "dim7", "6", "m6", "m(maj7)", "maj7#5", "7#5", "7sus4", "m9", "maj9", "9")
ROOTS = ("C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G")
CARDS = [
    f"E2A2D3G3B3E4/arpeggio/{root}/{quality}/{strings}/name"
    for strings in ("654", "543", "432") for quality in QUALITIES for root in ROOTS
]  # fmt: skip


def reviews(log: str, count: int) -> Iterator[Event]:
    """Reviews of 504 cards, the last of them yesterday."""
    rng = Random(1)
    start = datetime.now(UTC).replace(hour=18, minute=0, second=0, microsecond=0) - timedelta(days=count // A_DAY + 1)
    for number in range(count):
        at = start + timedelta(days=number // A_DAY, seconds=20 * (number % A_DAY))
        card = rng.randrange(len(CARDS))
        one = Review(
            CARDS[card], rng.choice((*Grade, Grade.CLEAN)), at, round(rng.uniform(2, 30), 2),
            rng.choice(("first",) * 9 + ("repeat",)),
            (f"form:0.3.6-{card // 12 % 14}", f"root:Bb/{card % 36}", f"spell:{card % 60}"),
            20.5, f"s{number // A_DAY}", f"{number:024x}", predicted=rng.random(),
        )  # fmt: skip
        yield Event(one.id, log, as_us(at), at, one)


def measured(args: list[str], home: Path, typed: str = "") -> tuple[int, float, float, int]:
    """Runs ``neckwork ARGS``: exit code, wall and CPU in seconds, largest memory in MB."""
    began = time.monotonic()
    process = subprocess.Popen(
        [sys.executable, "-m", "drills.cli", *args], env=os.environ | {"NECKWORK_HOME": str(home), "TERM": "dumb"},
        stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    process.stdin.write(typed)
    process.stdin.close()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return (
        process.returncode, time.monotonic() - began, used.ru_utime + used.ru_stime, used.ru_maxrss // 1024,
    )  # fmt: skip


def main() -> None:
    """Makes the log where it is missing, runs the commands, prints a row for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--reviews", type=int, default=1_000_000)
    parser.add_argument("--only", help="Only rows whose name holds this.", default="")
    given = parser.parse_args()
    home, other = given.folder / "home", given.folder / "other"
    path = home / "log.sqlite3"
    if not path.exists():
        began = time.process_time()
        with ReviewLog(path) as log:
            log.add(reviews(log.id, given.reviews))
        print(f"made: {time.process_time() - began:.0f} s of CPU", flush=True)
    print(f"{given.reviews:,} reviews, {path.stat().st_size / 1e6:,.0f} MB, load {os.getloadavg()[0]:.1f}", flush=True)
    json_file, csv_file = str(given.folder / "log.json"), str(given.folder / "log.csv")
    rows = [
        ("session, the first time", ["session", "--plain", "--quiet"], home, "q\n"),
        ("session, beside what is saved", ["session", "--plain", "--quiet"], home, "q\n"),
        ("session, one card graded", ["session", "--plain", "--quiet"], home, "\n\n\nc\nq\n\n"),
        ("progress, the first time", ["progress"], home, ""),
        ("progress, beside what is saved", ["progress"], home, ""),
        ("export as JSON", ["export", "--format", "json", "-o", json_file], home, ""),
        ("export as CSV", ["export", "--format", "csv", "-o", csv_file], home, ""),
        ("import of the JSON into a new log", ["import", "--yes", json_file], other, ""),
        ("import of the CSV, all known", ["import", "--yes", csv_file], home, ""),
        ("neckwork log", ["log"], home, ""),
    ]
    for name, args, where, typed in rows:
        if given.only in name:
            code, wall_s, cpu_s, most_mb = measured(args, where, typed)
            print(f"| {name} | exit {code} | {wall_s:.1f} s | {cpu_s:.1f} s CPU | {most_mb} MB |", flush=True)
    if given.only in (name := "next card"):
        taken = waits(home, "first")
        median, most = (1000 * taken[int(len(taken) * part)] for part in (0.5, 0.95))
        print(f"| {name}: key to its screen | {len(taken)} keys | median {median:.0f} ms | 95 % within {most:.0f} ms |")


if __name__ == "__main__":
    main()
