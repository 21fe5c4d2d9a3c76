"""Kill every command that writes, inside its writes and between them, and look at what is left.

    python -m tests.faults.kills [KILLS] [SEED] [COMMAND ...]

kills KILLS times (1,000): three in four at a call drawn by SEED, of those three in four in the middle of a write,
where half of the bytes are on file, or right after another call that changes files; the rest from outside, at a moment
drawn by chance. After each: the log opens and is whole, every event from before is in it and every grade that the
screen went on from, an import is there as a whole or not at all, no file that bears a name is half, and the same
command then runs. COMMAND: only those of `WRITERS`. README.md beside this file keeps the last table. Exit code 1 when
anything does not hold.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from tests.faults.children import loaded
from tests.faults.failpoint import Failpoint, How, started_again_with_library
from tests.faults.writers import WRITERS, Lab, Writer

__all__ = ["main"]


def main(kills: int = 1_000, seed: int = 13, names: Sequence[str] = ()) -> int:
    """Print the table; answers how many kills left something that should not be."""
    loaded()
    writers = [writer for writer in WRITERS if not names or writer.name in names]
    rng = random.Random(seed)
    wrong = 0
    whole: Counter[str] = Counter()
    print(f"{kills} kills, seed {seed}\n")
    print("| command | calls | kills | inside a write | at another call | from outside | graded before | faults |")
    print("|---|---|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        lab = Lab(Path(folder))
        for writer, share in zip(writers, _shares(kills, writers), strict=True):
            found = _killed(lab, writer, share, rng)
            wrong += found["faults"]
            whole.update(found)
            _row(writer.name, found)
    _row("all", whole)
    return wrong


def _shares(kills: int, writers: Sequence[Writer]) -> list[int]:
    """How many kills each command gets: the two faces of the session twice as many as another."""
    weights = [2 if writer.name.startswith("session") else 1 for writer in writers]
    shares = [kills * weight // sum(weights) for weight in weights]
    shares[0] += kills - sum(shares)
    return shares


def _killed(lab: Lab, writer: Writer, kills: int, rng: random.Random) -> Counter[str]:
    begun = time.monotonic()
    dry = lab.dry(writer)
    took = time.monotonic() - begun
    found: Counter[str] = Counter(calls=len(dry.calls))
    if dry.code or not dry.calls:
        print(f"{writer.name}: it does not run: {dry}", file=sys.stderr)
        return found + Counter(faults=1)
    writes = [number for number, kind in enumerate(dry.calls, 1) if kind in "wp"]
    while found["kills"] < kills:
        home = lab.home(writer)
        way = rng.choice(("inside", "inside", "any", "outside"))
        if way == "outside":
            ended = lab.start(writer, home, kill_after_s=rng.uniform(0.0, took))
        else:
            at = rng.choice(writes) if way == "inside" and writes else rng.randint(1, len(dry.calls))
            how = How.KILL_INSIDE if way == "inside" else rng.choice((How.KILL_BEFORE, How.KILL_INSIDE))
            ended = lab.start(writer, home, Failpoint(at, how))
        faults = lab.faults(writer, home, ended)
        if ended.code != -9 or ended.hung:
            # It was over before the moment came: nothing was killed, and what holds after a kill holds as well.
            found["over"] += 1
            if found["over"] > 20 * kills or ended.hung:
                faults.append(f"it ended by itself, code {ended.code}: {ended.err[-300:]}")
        else:
            found["kills"] += 1
            found[_place(ended.happened)] += 1
            found["graded"] += ended.acknowledged
            again = lab.start(writer, home)
            done = bool(writer.once) and writer.once in again.err
            if (again.code and not done) or "Traceback" in again.err:
                faults.append(f"it does not run again, code {again.code}: {again.err[-300:]}")
            faults += lab.faults(writer, home, again)
        for fault in faults:
            print(f"{writer.name}, {ended.happened or way}: {fault}", file=sys.stderr)
        found["faults"] += bool(faults)
        if found["faults"] > 5:
            break
    return found


def _place(happened: str) -> str:
    if not happened:
        return "outside"
    return "inside" if " inside " in happened else "other"


def _row(name: str, found: Counter[str]) -> None:
    cells = (found[key] for key in ("calls", "kills", "inside", "other", "outside", "graded", "faults"))
    print(f"| {name} | {' | '.join(str(cell) for cell in cells)} |", flush=True)


if __name__ == "__main__":
    started_again_with_library("tests.faults.kills")
    sys.exit(min(1, main(*map(int, sys.argv[1:3]), names=sys.argv[3:])))
