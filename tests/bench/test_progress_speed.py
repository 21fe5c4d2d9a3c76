"""How long a player with a hundred thousand reviews waits for progress and export, and what it takes in memory."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.bench.test_log_speed import LONG, fill

MEASURE = """
import resource, sys, time
sys.modules["pandas"] = None  # sqlite-utils takes it along where it is; it comes with the test libraries only
before = time.process_time(), time.perf_counter()
from drills.cli import main
code = main(sys.argv[1:])
print(code, time.process_time() - before[0], time.perf_counter() - before[1],
      resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform == "linux" else 1024 * 1024),
      file=sys.stderr)
"""


def measured(home: Path, *args: str) -> tuple[float, float, float]:
    """CPU seconds, wall seconds and peak megabytes of one command in a process of its own, libraries included."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, *args],
        env={**os.environ, "NECKWORK_HOME": str(home)},
        capture_output=True,
        text=True,
        check=True,
    )
    code, cpu, wall, megabytes = done.stderr.split()[-4:]
    assert code == "0", done.stderr
    return float(cpu), float(wall), float(megabytes)


@pytest.fixture(scope="module")
def homes():
    """Homes of a player of a hundred thousand reviews, and of one of a tenth of that."""
    with tempfile.TemporaryDirectory() as folder:
        found = []
        for name, count in (("long", LONG), ("short", LONG // 10)):
            home = Path(folder) / name
            home.mkdir()
            fill(home / "log.sqlite3", count)
            found.append(home)
        yield tuple(found)


TODAY = ("--on", "2027-03-01")
"""After the last review of the long log."""

AHEAD = ("progress", *TODAY, "--ahead", "14")


def test_a_long_log_is_added_up_once(homes, capsys):
    """The first look at the progress of a long log reads it; from then on what it adds up to is kept beside it, and a
    look costs hardly more than beside a tenth of the reviews: it is libraries for the most part."""
    long, short = homes
    (long / "log.counts").unlink(missing_ok=True)
    first, *more = (measured(long, "progress", *TODAY) for _ in range(3))
    again, little = min(more), min(measured(short, "progress", *TODAY) for _ in range(3))
    with capsys.disabled():
        for name, (cpu, wall, megabytes) in (("first", first), ("again", again), ("at a tenth", little)):
            print(f"\n  progress, {LONG} reviews, {name}: {cpu:.2f} s CPU, {wall:.2f} s, {megabytes:.0f} MB", end="")
    assert again[0] < 0.75 * first[0]
    assert again[0] < 2 * little[0]
    assert first[2] < 3 * little[2]


@pytest.mark.parametrize("args", [("export", "--format", "csv", "-o", os.devnull)])
def test_a_long_log_costs_in_proportion(homes, args, capsys):
    """Ten times the reviews cost at most some ten times the work, and no more memory than the counts need."""
    long, short = (min(measured(home, *args) for _ in range(2)) for home in homes)
    with capsys.disabled():
        print(f"\n  {' '.join(args[:3])}, {LONG} reviews: {long[0]:.2f} s CPU, {long[1]:.2f} s, {long[2]:.0f} MB "
              f"({short[0]:.2f} s CPU, {short[2]:.0f} MB at a tenth)")  # fmt: skip
        if args[0] == "export":
            print(f"  rows a second of CPU, start-up included: {LONG / long[0]:.0f}")
    assert long[0] < 14 * short[0]
    assert long[2] < 3 * short[2]


def test_the_days_ahead_are_read_once(homes, capsys):
    """The first look ahead at a long log brings the memory forward; from then on the state saved beside it will do: at
    a fifth of the work or less for the screen, at half for the page with its pictures."""
    long, _ = homes
    (long / "log.memory").unlink(missing_ok=True)
    first, again = measured(long, *AHEAD), min(measured(long, *AHEAD) for _ in range(2))
    page = measured(long, "progress", *TODAY, "--html", os.devnull)
    with capsys.disabled():
        for name, (cpu, wall, megabytes) in (("first", first), ("again", again), ("the page", page)):
            print(f"\n  progress --ahead, {name}: {cpu:.2f} s CPU, {wall:.2f} s, {megabytes:.0f} MB", end="")
    assert again[0] < first[0] / 5
    assert page[0] < first[0] / 2
    assert max(first[2], page[2]) < 3 * again[2]
