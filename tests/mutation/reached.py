"""Which tests reach a line, and how long each takes: measured on the unchanged tree, by coverage.py.

What was measured is kept. A later run measures the test files that have changed since, or are new, and follows the
lines of a changed module by their text. A changed helper of a test is not noticed: delete the folder to measure all.
Which tests are asked is all that rests on it, so that a stale figure may leave a mutant alive and never kills one.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections import defaultdict
from difflib import SequenceMatcher
from pathlib import Path

from tests.mutation.areas import AREAS
from tests.mutation.mutants import Mutant

__all__ = ["Reached"]

_Lines = dict[str, dict[int, set[str]]]
"""The tests that reach each line, by module and line from 1."""


class Reached:
    """The tests that reach each line of the tree.

    kept: folder for the measurement, made where it is not there yet. tree: the
    unchanged copy that is measured. jobs: processes that measure at once.
    """

    def __init__(self, kept: Path, tree: Path, jobs: int) -> None:
        file = kept.resolve() / "measured.json"
        sources = {path: (tree / path).read_text(encoding="utf-8") for path in _paths(tree, "drills", "scheduler")}
        files = {
            path: hashlib.blake2b((tree / path).read_bytes(), digest_size=8).hexdigest()
            for path in _paths(tree, *_folders())
            if Path(path).name.startswith("test_")
        }
        old = json.loads(file.read_text(encoding="utf-8")) if file.exists() else {}
        unchanged = {path for path, digest in files.items() if old.get("files", {}).get(path) == digest}
        self._seconds: dict[str, float] = {
            test: seconds for test, seconds in old.get("seconds", {}).items() if test.split("::")[0] in unchanged
        }
        self._lines: _Lines = defaultdict(lambda: defaultdict(set))
        names = old.get("tests", [])
        for path, lines in old.get("lines", {}).items():
            if path in sources:
                follow = _followed(old["sources"][path], sources[path])
                for line, numbers in lines.items():
                    found = {names[number] for number in numbers} & self._seconds.keys()
                    if int(line) in follow and found:
                        self._lines[path][follow[int(line)]] |= found
        if changed := [path for path in files if path not in unchanged]:
            self._measure(tree, changed, jobs)
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(json.dumps(self._as_kept(sources, files)), encoding="utf-8")

    def tests(self, mutant: Mutant, area: str, budget: float) -> tuple[list[str], list[str]]:
        """The tests that reach the mutant, quickest first, as far as they fit in the budget of seconds.

        Those of the folder nearest to the area come apart, before the others: most mutants are noticed there, and few
        modules need be loaded. After the tests that reach the line come those that reach another of its module: what
        is kept from call to call is reached by the first test only, and what runs at import by none.
        """
        lines = self._lines.get(mutant.path, {})
        ids = lines.get(mutant.line, set())
        others = set().union(*lines.values()) - ids
        asked, left = [], budget
        for some in (ids, others):
            for test in sorted(some & self._seconds.keys(), key=lambda test: (self._seconds[test], test)):
                if self._seconds[test] > left:
                    break
                left -= self._seconds[test]
                asked.append(test)
        near = f"tests/{AREAS[area][1][0]}/"
        return [one for one in asked if one.startswith(near)], [one for one in asked if not one.startswith(near)]

    def _measure(self, tree: Path, files: list[str], jobs: int) -> None:
        """Run some test files and add what they reach. A test that fails there is asked about no mutant."""
        from coverage import CoverageData

        with tempfile.TemporaryDirectory() as folder:
            data, times = Path(folder) / "coverage", Path(folder) / "times.json"
            command = [
                sys.executable, "-m", "pytest", "-n", str(jobs), "--dist", "worksteal", "--tb=short",
                "--cov=drills", "--cov=scheduler", "--cov-context=test", "--cov-report=",
                "-p", "tests.mutation.times", *files,
            ]  # fmt: skip
            env = {
                **os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(tree),
                "COVERAGE_FILE": str(data), "MUTATION_TIMES": str(times),
            }  # fmt: skip
            if subprocess.run(command, cwd=tree, env=env).returncode:
                print("some tests fail on the unchanged tree (above): they are asked about no mutant", flush=True)
            self._seconds.update(json.loads(times.read_text(encoding="utf-8")))
            found = CoverageData(str(data))
            found.read()
            for name in found.measured_files():
                for line, contexts in found.contexts_by_lineno(name).items():
                    self._lines[_module_path(name)][line] |= {one.rsplit("|", 1)[0] for one in contexts if one}

    def _as_kept(self, sources: dict[str, str], files: dict[str, str]) -> dict[str, object]:
        """What is kept of it; tests by their number, since each reaches some thousand lines."""
        number = {test: index for index, test in enumerate(self._seconds)}
        lines = {
            path: {line: sorted(number[test] for test in tests & number.keys()) for line, tests in of_path.items()}
            for path, of_path in self._lines.items()
        }
        return {"sources": sources, "files": files, "seconds": self._seconds, "tests": [*number], "lines": lines}


def _folders() -> list[str]:
    return [*dict.fromkeys(f"tests/{name}" for _, names in AREAS.values() for name in names)]


def _paths(tree: Path, *folders: str) -> list[str]:
    return sorted(path.relative_to(tree).as_posix() for one in folders for path in (tree / one).rglob("*.py"))


def _module_path(name: str) -> str:
    """A measured file as a path from the root: tests may run the packages from a copy that lies elsewhere."""
    where = Path(name).parts
    root = max(index for index, part in enumerate(where) if part in ("drills", "scheduler"))
    while root and where[root - 1] in ("drills", "scheduler"):
        root -= 1
    return "/".join(where[root:])


def _followed(old: str, new: str) -> dict[int, int]:
    """Where each line of the old text that is still there stands in the new one, both counted from 1."""
    blocks = SequenceMatcher(None, old.splitlines(), new.splitlines(), autojunk=False).get_matching_blocks()
    return {block.a + 1 + step: block.b + 1 + step for block in blocks for step in range(block.size)}
