"""Feed the program a million inputs that nobody should type, and look at how it takes each.

    python -m tests.fuzz.fuzz_run [INPUTS] [SEED] [KIND ...]

INPUTS (1,000,000) are divided among the kinds of `tests.fuzz.fuzzed_kinds` by their shares, at least one each. Each
input is drawn by SEED (13), the kind and its number alone, so that one can be drawn again. It is read, or refused
with an error of the program's own that says something in one line; anything else is a traceback and a fault. An input
that takes more than 2 s of processor time, or five minutes by the clock of a busy machine, hangs. README.md beside
this file keeps the last table. Exit code 1 when anything does not hold.
"""

from __future__ import annotations

import random
import signal
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from types import FrameType
from zlib import crc32

from drills.errors import DrillsError
from scheduler.errors import SchedulerError
from tests.fuzz.fuzzed_kinds import Bench, Fuzzed

__all__ = ["Hung", "drawn_again", "fuzz", "main", "outcome"]

BUSY_S, PATIENCE_S = 2.0, 300.0
MILLION = 1_000_000
_LONGEST = 2_000
_FEW = 3


class Hung(BaseException):
    """An input took too long; no reader may catch it."""


def _hung(number: int, _frame: FrameType | None) -> None:
    raise Hung(f"more than {BUSY_S if number == signal.SIGPROF else PATIENCE_S} s")


def main(inputs: int = MILLION, seed: int = 13, names: Sequence[str] = ()) -> int:
    """Print the table; answers how many inputs were taken as they should not be."""
    print(f"{inputs:,} inputs, seed {seed}\n")
    print("| kind | inputs | read | refused | tracebacks | hangs | longest, ms | seconds |")
    print("|---" * 8 + "|")
    whole: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for kind in Bench(Path(folder)).fuzzed:
            if names and kind.name not in names:
                continue
            found = fuzz(kind, max(1, kind.share * inputs // MILLION), seed)
            whole.update({key: count for key, count in found.items() if key != "longest"})
            whole["longest"] = max(whole["longest"], found["longest"])
            _row(kind.name, found)
    _row("all", whole)
    return whole["traceback"] + whole["hang"]


def fuzz(kind: Fuzzed, inputs: int, seed: int) -> Counter[str]:
    """What came of so many inputs of a kind, counted; faults are printed to standard error with what was read."""
    found: Counter[str] = Counter()
    before = [signal.signal(number, _hung) for number in (signal.SIGPROF, signal.SIGALRM)]
    begun = time.process_time()
    try:
        for number in range(inputs):
            value = drawn_again(kind, number, seed)
            started = time.process_time_ns()
            result, said = outcome(kind, value)
            found["longest"] = max(found["longest"], (time.process_time_ns() - started) // 1_000)
            found[result] += 1
            found["inputs"] += 1
            if result in ("traceback", "hang"):
                found["shown"] += 1
                if found["shown"] <= _FEW:
                    print(f"{kind.name}, number {number}, seed {seed}: {said}\n  {value!r:.3000}", file=sys.stderr)
    finally:
        for number, handler in zip((signal.SIGPROF, signal.SIGALRM), before, strict=True):
            signal.signal(number, handler)
    found["ms"] = round(1_000 * (time.process_time() - begun))
    return found


def drawn_again(kind: Fuzzed, number: int, seed: int) -> object:
    """The input of a kind that bears this number."""
    return kind.draw(random.Random((seed << 64) + (crc32(kind.name.encode()) << 32) + number))


def outcome(kind: Fuzzed, value: object) -> tuple[str, str]:
    """How an input was taken: read, refused, traceback or hang; and what was said."""
    try:
        signal.setitimer(signal.ITIMER_PROF, BUSY_S)
        signal.setitimer(signal.ITIMER_REAL, PATIENCE_S)
        try:
            kind.read(value)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0.0)
            signal.setitimer(signal.ITIMER_REAL, 0.0)
    except (DrillsError, SchedulerError) as error:
        said = str(error)
        if not said.strip() or "\n" in said or len(said) > _LONGEST:
            return "traceback", f"a refusal that is no sentence: {said!r:.500}"
        return "refused", said
    except Hung as error:
        return "hang", str(error)
    except (Exception, SystemExit) as error:
        import traceback

        where = traceback.extract_tb(error.__traceback__)[-1]
        return "traceback", f"{type(error).__name__}: {error!s:.300} at {where.filename}:{where.lineno}"
    return "read", ""


def _row(name: str, found: Counter[str]) -> None:
    counts = " | ".join(f"{found[key]:,}" for key in ("inputs", "read", "refused", "traceback", "hang"))
    print(f"| {name} | {counts} | {found['longest'] / 1000:.0f} | {found['ms'] / 1000:.0f} |", flush=True)


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    sys.exit(min(1, main(*map(int, sys.argv[1:3]), names=sys.argv[3:])))
