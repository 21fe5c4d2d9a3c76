"""Compares this checkout's speed with that of another one, in turn on the same machine.

    python -m tests.bench.compare_with OTHER [--pairs 21]

OTHER is a checkout of an earlier version. Four things are timed in processes of their own, in seconds of processor
time: the first screen of a session, `neckwork shape Cmaj7`, the next card after a grade among 504, and 504 cards with
fingering from nothing. Both checkouts are run in pairs, one right after the other, and who begins changes from pair to
pair, so that a machine that grows busier slows both. What is told is the median of the pairs' ratios.
"""

from __future__ import annotations

import argparse
import os
import pty
import select
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pyte

__all__ = ["MEASURES", "compared", "main"]

HERE = Path(__file__).resolve().parent.parent.parent

WORSE_BY = 1.05
"""Most that this checkout may take, as a multiple of the other one."""

_DEADLINE_S = 60.0

_PLAYERS = "import sys; sys.modules['pandas'] = None; "
"""sqlite_utils imports pandas where it finds it; the test extras bring it, a player has none."""

_CARDS = """
import time; t = time.process_time()
from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.neck.neck import Neck
m = gather(read_deck(find_deck("fourteen", None)), Neck())
"""

_COLD = (
    _CARDS
    + """
assert len(m.cards) == 504
for card in m.cards.values():
    m.answer(card).fingers
print(time.process_time() - t)
"""
)

_NEXT = (
    _CARDS
    + """
import random
from datetime import datetime, timedelta, timezone
from scheduler import Grade, Planner, Review
rng, at = random.Random(1), datetime(2026, 3, 2, 18, tzinfo=timezone.utc)
cards = list(m.cards.values())
planner = Planner(m.specs(), 1, rules=m.rules())
def graded(number, card, grade, when):
    planner.record(Review(card, grade, when, 5.0, skills=m.cards[card].skills, spent=18.0, id=str(number)))
for number in range(600):
    when = at + timedelta(days=number // 30, seconds=20 * (number % 30))
    graded(number, rng.choice(cards).id, rng.choice(list(Grade)), when)
at += timedelta(days=21)
planner.begin("timed", at)
asked = planner.next(at)
t = time.process_time()
for number in range(100):
    at += timedelta(seconds=20)
    graded(1000 + number, asked, Grade.CLEAN, at)
    asked = planner.next(at)
print((time.process_time() - t) / 100)
"""
)


def _environment(checkout: Path, home: Path) -> dict[str, str]:
    env = {**os.environ, "NECKWORK_HOME": str(home), "TERM": "xterm-256color", "PYTHONPATH": str(checkout)}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed tool has its modules compiled
    return env


def _printed(code: str, checkout: Path, home: Path) -> float:
    """The seconds that a piece of code prints, run with a checkout's packages."""
    command = [sys.executable, "-c", code]
    done = subprocess.run(
        command, cwd=checkout, env=_environment(checkout, home), check=True, capture_output=True, text=True
    )
    return float(done.stdout)


def _cpu_of(process: subprocess.Popen[bytes]) -> float:
    """Processor seconds of a process, which is waited for."""
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return used.ru_utime + used.ru_stime


def _shape(checkout: Path, home: Path) -> float:
    code = _PLAYERS + "from drills.cli import main; main(['shape', 'Cmaj7'])"
    command = [sys.executable, "-c", code]
    process = subprocess.Popen(command, cwd=checkout, env=_environment(checkout, home), stdout=subprocess.DEVNULL)
    return _cpu_of(process)


def _first_screen(checkout: Path, home: Path) -> float:
    """Processor seconds of a session until its first screen stands; the process is then ended."""
    code = _PLAYERS + "from drills.cli import main; main(['session'])"
    master, slave = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", code], cwd=checkout, env=_environment(checkout, home),
        stdin=slave, stdout=slave, stderr=slave,
    )  # fmt: skip
    os.close(slave)
    try:
        _wait_for(master, ("Enter starts", "Before you start"))
    finally:
        process.kill()
        seconds = _cpu_of(process)
        os.close(master)
    return seconds


def _wait_for(master: int, marks: tuple[str, ...]) -> None:
    screen = pyte.Screen(80, 24)
    stream, end = pyte.ByteStream(screen), time.monotonic() + _DEADLINE_S
    while not any(mark in line for mark in marks for line in screen.display):
        if not select.select([master], [], [], max(0.0, end - time.monotonic()))[0]:
            raise TimeoutError(f"first screen: none of {marks} within {_DEADLINE_S:.0f} s")
        chunk = os.read(master, 65536)
        stream.feed(chunk)
        if b"\x1b[6n" in chunk:
            os.write(master, b"\x1b[1;1R")  # a real terminal answers where its cursor is


MEASURES: dict[str, Callable[[Path, Path], float]] = {
    "first screen of a session": _first_screen,
    "`neckwork shape Cmaj7`": _shape,
    "next card after a grade, 504 cards": lambda checkout, home: _printed(_NEXT, checkout, home),
    "504 cards with fingering, cold": lambda checkout, home: _printed(_COLD, checkout, home),
}
"""What is timed, by name: each takes a checkout and a player's folder, and answers processor seconds."""


def compared(measure: Callable[[Path, Path], float], ours: Path, other: Path, pairs: int) -> tuple[float, float, float]:
    """Median ratio of ours to the other over so many pairs, and the median of each in seconds.

    One pair more is run before, which compiles the modules and is not counted.
    """
    taken: dict[Path, list[float]] = {ours: [], other: []}
    with tempfile.TemporaryDirectory(prefix="compare-") as folder:
        homes = {ours: Path(folder) / "ours", other: Path(folder) / "other"}
        for number in range(pairs + 1):
            for checkout in (ours, other) if number % 2 else (other, ours):
                seconds = measure(checkout, homes[checkout])
                if number:
                    taken[checkout].append(seconds)
    ratios = [a / b for a, b in zip(taken[ours], taken[other], strict=True)]
    return statistics.median(ratios), statistics.median(taken[ours]), statistics.median(taken[other])


def main() -> int:
    """Prints a table; answers 1 when something is slower than it may be."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("other", type=Path)
    parser.add_argument("--pairs", type=int, default=21)
    given = parser.parse_args()
    other = given.other.resolve()
    if not (other / "drills").is_dir():
        parser.error(f"{other}: expected a checkout with the folder drills, got none")
    print("| what | now, ms CPU | other, ms CPU | ratio |\n|---|---|---|---|")
    worst = 0.0
    for name, measure in MEASURES.items():
        ratio, ours, theirs = compared(measure, HERE, other, given.pairs)
        worst = max(worst, ratio)
        print(f"| {name} | {ours * 1000:.1f} | {theirs * 1000:.1f} | {ratio:.3f} |", flush=True)
    return int(worst > WORSE_BY)


if __name__ == "__main__":
    sys.exit(main())
