"""A writer killed outright, in the making of the log or between two grades: what was acknowledged is there.

`NECKWORK_KILLS` says how often each way is tried; a small share is tried by default.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time

import pytest

from scheduler.log.review_log import ReviewLog

KILLS = int(os.environ.get("NECKWORK_KILLS", "5"))

WRITER = """
import sys
from datetime import UTC, datetime
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
import scheduler.log.migrations, sqlite_utils
print("ready", flush=True)
with ReviewLog(sys.argv[1]) as log:
    while True:
        review = Review("c", Grade.CLEAN, datetime.now(UTC), 3.0)
        log.record(review)
        print(review.id, flush=True)
"""
"""Grades without end; each id is told only when the log has answered."""


@pytest.mark.skipif(os.name != "posix", reason="killing outright is done by a signal")
@pytest.mark.parametrize("longest_s", [0.02, 0.3], ids=["making", "grading"])
def test_a_killed_writer_loses_nothing_it_acknowledged(tmp_path, longest_s):
    """The log opens after every kill, by whichever way it is opened first, and holds every id that was told."""
    chance = random.Random(13)
    for number in range(KILLS):
        path = tmp_path / f"{number}.sqlite3"
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        ) as writer:  # fmt: skip
            assert writer.stdout.readline() == "ready\n"
            time.sleep(chance.uniform(0.0, longest_s))
            writer.kill()
            told = [line.strip() for line in writer.stdout.read().splitlines(keepends=True) if line.endswith("\n")]
        with ReviewLog(path) as log:
            assert set(told) <= {one.id for one in log.reviews()}
            assert log.faults() == []
