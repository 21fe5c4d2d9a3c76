"""Let the disk fail under every command that writes, at each of its first calls, and look at what it says and leaves.

    python -m tests.faults.failures [CALLS] [COMMAND ...]

CALLS: how many, 200 by default, or the first and the last, as in 85-200, to go on with a run that was stopped. At each
of these calls that change files, one after another: no space (from then on), an input/output
error, a short write, a sync that fails, a file system that has become read-only (from then on). The program ends with
exit code 0, where it could do without the call, or else says one sentence and no traceback; a session keeps each
grade, in the log or in a file to import. Afterwards the same holds as after a kill, and the same command runs.
COMMAND: only those of `WRITERS`. README.md beside this file keeps the last table.
"""

from __future__ import annotations

import errno
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.faults.children import Ended, loaded
from tests.faults.failpoint import Failpoint, How, started_again_with_library
from tests.faults.writers import WRITERS, Lab, Writer

__all__ = ["FAILURES", "main", "points"]

FAILURES = {
    "ENOSPC": ("wpotmfr", How.FAIL, errno.ENOSPC, True),
    "EIO": ("wpotfrum", How.FAIL, errno.EIO, False),
    "short write": ("wp", How.SHORT, 0, False),
    "failed fsync": ("f", How.FAIL, errno.EIO, False),
    "EROFS": ("wpotrum", How.FAIL, errno.EROFS, True),
}
"""Each failure: the kinds of call it befalls (letters of failpoint.c), how, its errno, whether it stays."""


def main(calls: int = 200, names: Sequence[str] = (), first: int = 1) -> int:
    """Print the table; answers how many failures did not end as they should."""
    loaded()
    wrong = 0
    print("| command | calls | failures tried | exit 0 | a sentence | faults |\n|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        lab = Lab(Path(folder))
        whole: Counter[str] = Counter()
        for writer in WRITERS:
            if names and writer.name not in names:
                continue
            found = _failed(lab, writer, calls, first)
            wrong += found["faults"]
            whole.update(found)
            _row(writer.name, found)
    _row("all", whole)
    return wrong


def points(kinds: str, calls: int, first: int = 1) -> Iterator[tuple[str, Failpoint]]:
    """Every failure at each of the calls from `first` to `calls` that it can befall."""
    for number, kind in enumerate(kinds[first - 1 : calls], first):
        for name, (befalls, how, error, stays) in FAILURES.items():
            if kind in befalls:
                yield name, Failpoint(number, how, error, stays)


def _failed(lab: Lab, writer: Writer, calls: int, first: int) -> Counter[str]:
    dry = lab.dry(writer)
    found: Counter[str] = Counter(calls=len(dry.calls))
    for name, point in points(dry.calls, calls, first):
        home = lab.home(writer)
        ended = lab.start(writer, home, point)
        faults = _unsaid(ended) + lab.faults(writer, home, ended)
        again = lab.start(writer, home)
        done = bool(writer.once) and writer.once in again.err
        if (again.code and not done) or "Traceback" in again.err:
            faults.append(f"it does not run again, code {again.code}: {again.err[-300:]}")
        found["tried"] += 1
        found["said" if ended.code else "went on"] += 1
        found["faults"] += bool(faults)
        for fault in faults:
            print(f"{writer.name}, {name} at call {point.at} ({dry.calls[point.at - 1]}): {fault}", file=sys.stderr)
        if found["faults"] > 40:
            break
    return found


def _unsaid(ended: Ended) -> list[str]:
    """What is wrong with how a program ended whose disk failed."""
    found = []
    if "Traceback" in ended.err + ended.out or "internal fault" in ended.err:
        found.append(f"a traceback or an internal fault: {ended.err[-600:]}")
    if ended.hung or ended.code < 0:
        found.append(f"it hung or was killed, code {ended.code}")
    lines = [line for line in ended.err.splitlines() if line.strip()]
    if ended.code and not (lines or "not written" in ended.out):
        found.append(f"code {ended.code} and no word")
    if ended.code == 1 and len(lines) > 4:
        found.append(f"{len(lines)} lines instead of a sentence: {ended.err[-600:]}")
    return found


def _row(name: str, found: Counter[str]) -> None:
    cells = (found[key] for key in ("calls", "tried", "went on", "said", "faults"))
    print(f"| {name} | {' | '.join(str(cell) for cell in cells)} |", flush=True)


if __name__ == "__main__":
    started_again_with_library("tests.faults.failures")
    before, _, last = (sys.argv[1] if sys.argv[1:] else "200").rpartition("-")
    sys.exit(min(1, main(int(last), sys.argv[2:], int(before or 1))))
