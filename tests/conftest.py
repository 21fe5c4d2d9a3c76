"""Hypothesis profiles: the same inputs on every run, or fresh ones when exploring; and where files of tests lie."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.examples import PROFILE

settings.register_profile(
    "same",
    deadline=None,  # a shared machine's pauses are no failures
    derandomize=True,
    database=None,
    # Strategies build from shipped tables read once, which the first draw pays for.
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("fresh", parent=settings.get_profile("same"), derandomize=False)

IN_MEMORY = Path("/dev/shm")
"""A file system of memory, on Linux."""

if "TMPDIR" not in os.environ and IN_MEMORY.is_dir() and shutil.disk_usage(IN_MEMORY).free > 4 << 30:
    # Thousands of short-lived folders and synced logs: nothing of theirs needs a disk, and waiting for one is idle.
    os.environ["TMPDIR"] = str(IN_MEMORY)
    tempfile.tempdir = None  # asked for again

# A practice day begins at four in the morning: between midnight and four a program rightly says "later today"
# where it says "tomorrow" at noon. Whenever the tests are run, it is noon of a place on earth, and they run there.
os.environ["TZ"] = f"Noon{datetime.now(UTC).hour - 12:+d}"  # POSIX: hours to be added to get UTC
time.tzset()


def pytest_ignore_collect(collection_path: Path, config) -> bool | None:
    """Benches are run by name only: beside other tests they would time those."""
    if collection_path == Path(__file__).parent / "bench":
        return None if any("bench" in argument for argument in config.args) else True
    return None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long tests are begun first, so that no worker is left with one alone when the others are done."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


settings.load_profile(PROFILE)
