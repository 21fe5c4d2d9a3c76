"""Sittings that share one log file and are closed after the test."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from sittings import Sitting


@pytest.fixture
def sitting(tmp_path):
    """A function that opens a sitting; all sittings of a test share one log file."""
    opened = []

    def open_sitting(**options) -> Sitting:
        one = Sitting(tmp_path / "log.sqlite3", **options)
        opened.append(one)
        return one

    yield open_sitting
    for one in opened:
        one.log.close()
