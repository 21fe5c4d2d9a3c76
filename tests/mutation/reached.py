"""Which tests reach a line, and how long each takes: measured once, on the unchanged tree, by coverage.py."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

from tests.mutation.areas import AREAS
from tests.mutation.mutants import Mutant

__all__ = ["Reached"]


class Reached:
    """The tests that reach each line of the tree.

    kept: folder for the measurement, made where it is not there yet. tree: the
    unchanged copy that is measured. jobs: processes that measure at once.
    """

    def __init__(self, kept: Path, tree: Path, jobs: int) -> None:
        from coverage import CoverageData

        digest = _digest(tree)
        data, times = kept.resolve() / f"{digest}.coverage", kept.resolve() / f"{digest}.json"
        if not times.exists():
            kept.mkdir(parents=True, exist_ok=True)
            _measure(tree, data, times, jobs)
        self._seconds: dict[str, float] = json.loads(times.read_text(encoding="utf-8"))
        self._lines: dict[str, dict[int, set[str]]] = {}
        found = CoverageData(str(data))
        found.read()
        for name in found.measured_files():
            where = Path(name).parts
            root = max(index for index, part in enumerate(where) if part in ("drills", "scheduler"))
            while root and where[root - 1] in ("drills", "scheduler"):
                root -= 1
            self._lines["/".join(where[root:])] = {
                line: {context.rsplit("|", 1)[0] for context in contexts if context}
                for line, contexts in found.contexts_by_lineno(name).items()
            }

    def tests(self, mutant: Mutant, budget: float) -> list[str]:
        """The tests that reach the mutant, quickest first, as far as they fit in the budget of seconds.

        A line that runs as its module is imported is reached by every test of the module.
        """
        lines = self._lines.get(mutant.path, {})
        ids = lines.get(mutant.line) or set().union(*lines.values())
        asked, left = [], budget
        for test in sorted(ids & self._seconds.keys(), key=lambda test: (self._seconds[test], test)):
            left -= self._seconds[test]
            if left < 0:
                break
            asked.append(test)
        return asked


def _digest(tree: Path) -> str:
    """Another one for any other source or test: what was measured on another tree says nothing of this one."""
    found = hashlib.blake2b(digest_size=8)
    for path in sorted(tree.rglob("*.py")):
        found.update(str(path.relative_to(tree)).encode() + path.read_bytes())
    return found.hexdigest()


def _measure(tree: Path, data: Path, times: Path, jobs: int) -> None:
    folders = dict.fromkeys(f"tests/{name}" for _, names in AREAS.values() for name in names)
    command = [
        sys.executable, "-m", "pytest", "-n", str(jobs), "--dist", "worksteal", "--tb=short",
        "--cov=drills", "--cov=scheduler", "--cov-context=test", "--cov-report=",
        "-p", "tests.mutation.times", *folders,
    ]  # fmt: skip
    env = {
        **os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(tree),
        "COVERAGE_FILE": str(data), "MUTATION_TIMES": str(times),
    }  # fmt: skip
    if subprocess.run(command, cwd=tree, env=env).returncode:
        print("some tests fail on the unchanged tree (above): they are asked about no mutant", flush=True)
