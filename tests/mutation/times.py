"""A pytest plugin that writes how many seconds each test took, set-up and all, to the file of MUTATION_TIMES."""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

import pytest

__all__ = ["pytest_runtest_logreport", "pytest_sessionfinish"]

_SECONDS: Counter[str] = Counter()


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Adds a phase of a test to what it took."""
    _SECONDS[report.nodeid] += report.duration


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Writes the file, in the process that has all reports."""
    if not hasattr(session.config, "workerinput"):
        Path(os.environ["MUTATION_TIMES"]).write_text(json.dumps(_SECONDS), encoding="utf-8")
