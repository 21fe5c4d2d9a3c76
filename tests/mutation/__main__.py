"""Draws mutants by seed, asks the tests about each in a copy of the tree, and prints what became of them.

``python -m tests.mutation --seed 1 --mutants 300`` writes a line a mutant to ``mutation-1.jsonl`` and
goes on where it was cut off; ``--report`` prints the table and the survivors. First all tests run
once on the unchanged tree; which tests reach which line is kept, and a test that fails there is asked
about no mutant. A mutant is asked about by the tests that reach its line, the quickest first, as many as
``--budget`` seconds hold, those of the nearest folder before the others; what those leave alive counts
as a survivor. A mutant whose tests take longer than ``--limit`` seconds has a column of its own: only an
endless loop is killed so.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from tests.mutation.areas import AREAS, modules_of
from tests.mutation.mutants import Mutant, mutants_of
from tests.mutation.reached import Reached

ROOT = Path(__file__).resolve().parent.parent.parent
EQUIVALENT = Path(__file__).with_name("equivalent.txt")
"""Mutants that change nothing anyone can see: a line ``id  # why`` each. They count as survivors and are named."""


def drawn(seed: int, count: int, root: Path) -> list[tuple[str, Mutant]]:
    """As many mutants of each area as of any other where it has them, and every area's own draw."""
    rng = random.Random(seed)
    pools = {}
    for area in AREAS:
        pool = [
            mutant
            for path in modules_of(area, root)
            for mutant in mutants_of(path, (root / path).read_text(encoding="utf-8"))
        ]
        rng.shuffle(pool)
        pools[area] = pool
    chosen: list[tuple[str, Mutant]] = []
    while len(chosen) < count and any(pools.values()):
        for area, pool in pools.items():
            while pool and len(chosen) < count:
                mutant = pool.pop()
                if mutant.applied((root / mutant.path).read_text(encoding="utf-8")) is not None:
                    chosen.append((area, mutant))
                    break
    return chosen


def copied(where: Path) -> Path:
    """A copy of the tree without what git leaves out."""
    names = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\n")
    tree = where / "tree"
    for name in filter(None, names):
        if (ROOT / name).is_file():
            (tree / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, tree / name)
    return tree


def asked(tree: Path, tests: Sequence[str], limit: float) -> tuple[str, str]:
    """What some tests say of the tree: ``killed``, ``timeout`` or ``survived``, and which test failed."""
    if not tests:
        return "survived", ""
    command = [sys.executable, "-m", "pytest", "-x", "--tb=no", "-p", "no:xdist", "-p", "no:cov", *tests]
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(tree)}
    run = subprocess.Popen(
        command, cwd=tree, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
    )
    try:
        out, _ = run.communicate(timeout=limit)
    except subprocess.TimeoutExpired:
        os.killpg(run.pid, signal.SIGKILL)
        run.communicate()
        return "timeout", ""
    by = next((line for line in out.splitlines() if line.startswith(("FAILED", "ERROR"))), "")
    return ("survived" if run.returncode == 0 else "killed"), by


def in_threads(work: Callable[[int], None], count: int) -> None:
    """Runs the work for every index from 0 at once and waits for all of it."""
    threads = [threading.Thread(target=work, args=(index,)) for index in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def run(arguments: argparse.Namespace, results: Path) -> None:
    """Asks about every drawn mutant that has no line yet, and with ``--again`` about each that survived."""
    done = {row["id"] for row in _rows(results) if not (arguments.again and row["result"] == "survived")}
    end = time.monotonic() + 60 * arguments.minutes
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as folder:
        trees = [copied(Path(folder) / str(index)) for index in range(arguments.jobs)]
        pinned = Reached(arguments.reached, trees[0], arguments.jobs)
        left = [mutant for mutant in drawn(arguments.seed, arguments.mutants, trees[0]) if mutant[1].id not in done]
        left.reverse()
        lock = threading.Lock()

        def work(index: int) -> None:
            while time.monotonic() < end:
                with lock:
                    if not left:
                        return
                    area, mutant = left.pop()
                tests = pinned.tests(mutant, area, arguments.budget)
                row = judged(trees[index], area, mutant, tests, arguments.limit)
                with lock, results.open("a", encoding="utf-8") as out:
                    out.write(json.dumps(row) + "\n")
                    print(f"{row['result']:9} {row['seconds']:6.1f} s  {mutant.id}", flush=True)

        in_threads(work, arguments.jobs)


def judged(
    tree: Path, area: str, mutant: Mutant, tests: Sequence[Sequence[str]], limit: float
) -> dict[str, str | float | int]:
    """The line of results of one mutant: the tree is changed, asked about by one list of tests after another until
    one notices, and put back."""
    path = tree / mutant.path
    kept = path.read_text(encoding="utf-8")
    path.write_text(mutant.applied(kept) or kept, encoding="utf-8")
    began = time.monotonic()
    result, by = "survived", ""
    try:
        for some in tests:
            if result == "survived":
                result, by = asked(tree, some, limit)
    finally:
        path.write_text(kept, encoding="utf-8")
    return {
        "id": mutant.id, "area": area, "kind": mutant.kind, "path": mutant.path, "line": mutant.line,
        "before": mutant.before, "after": mutant.after, "result": result, "by": by, "asked": sum(map(len, tests)),
        "seconds": round(time.monotonic() - began, 1),
    }  # fmt: skip


def _rows(results: Path) -> list[dict[str, Any]]:
    """The lines of results, the last of each mutant."""
    lines = results.read_text(encoding="utf-8").splitlines() if results.exists() else []
    return [*{row["id"]: row for row in map(json.loads, lines)}.values()]


def report(results: Path) -> None:
    """The table by area, and each survivor as a difference."""
    rows = _rows(results)
    known = {line.split("  # ")[0] for line in EQUIVALENT.read_text(encoding="utf-8").splitlines() if "  # " in line}
    print("| area | mutants | killed | by time | survived | killed of all |\n|---|---|---|---|---|---|")
    for area in [*AREAS, "all"]:
        counts = Counter(row["result"] for row in rows if area in (row["area"], "all"))
        total = sum(counts.values())
        if total:
            killed, late, survived = counts["killed"], counts["timeout"], counts["survived"]
            share = f"{killed / total:.1%} to {(killed + late) / total:.1%}" if late else f"{killed / total:.1%}"
            print(f"| {area} | {total} | {killed} | {late} | {survived} | {share} |")
    for row in rows:
        if row["result"] == "survived":
            print(f"\n{row['path']}:{row['line']}{' (equivalent)' if row['id'] in known else ''}")
            print(f"-{row['before']}\n+{row['after']}")


def main() -> None:
    """Reads the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--mutants", type=int, default=300)
    parser.add_argument("--limit", type=float, default=180.0, help="seconds a mutant's tests may take")
    parser.add_argument("--budget", type=float, default=45.0, help="seconds the tests asked took on the unchanged tree")
    parser.add_argument("--reached", type=Path, default=Path("mutation-reached"), help="folder of what tests reach")
    parser.add_argument("--jobs", type=int, default=2, help="mutants asked about at once")
    parser.add_argument("--minutes", type=float, default=600.0, help="stop asking after so many")
    parser.add_argument("--results", type=Path, help="file of results, mutation-SEED.jsonl unless given")
    parser.add_argument("--again", action="store_true", help="ask again about survivors, with a larger budget")
    parser.add_argument("--report", action="store_true", help="print what became of them and ask no more")
    arguments = parser.parse_args()
    results = arguments.results or Path(f"mutation-{arguments.seed}.jsonl")
    if not arguments.report:
        run(arguments, results)
    report(results)


if __name__ == "__main__":
    main()
