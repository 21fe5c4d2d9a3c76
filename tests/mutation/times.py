"""A pytest plugin that writes how many seconds each test took, set-up and all, to the file of MUTATION_TIMES.

A test that fails on the unchanged tree is left out: it could not tell one tree from another.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

import pytest

__all__ = ["pytest_runtest_logreport", "pytest_sessionfinish"]

_SECONDS: Counter[str] = Counter()
_FAILED: set[str] = set()


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Adds a phase of a test to what it took."""
    _SECONDS[report.nodeid] += report.duration
    if report.failed:
        _FAILED.add(report.nodeid)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Writes the file, in the process that has all reports."""
    if not hasattr(session.config, "workerinput"):
        passed = {test: seconds for test, seconds in _SECONDS.items() if test not in _FAILED}
        Path(os.environ["MUTATION_TIMES"]).write_text(json.dumps(passed), encoding="utf-8")
