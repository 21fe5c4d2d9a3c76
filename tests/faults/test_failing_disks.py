"""A disk that fails under a command: a sentence, nothing half, and the command runs again.

A small share of `python -m tests.faults.failures`, in a process of its own: the library that fails is loaded before it.
"""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from tests.faults.failpoint import available, compiled, with_library


@pytest.mark.long
@pytest.mark.skipif(not available(), reason="the library that fails a call needs Linux and gcc")
def test_a_share_of_the_failures(tmp_path):
    """Every failure of the first calls of two commands that write, and of the beginning of a salvage."""
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.failures", "8", "setup", "decks new", "log salvage"],
        env=with_library(compiled(tmp_path)), capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, ""), ran.stdout
    counts = re.search(r"\| all \| \d+ \| (\d+) \| \d+ \| (\d+) \| 0 \|$", ran.stdout, re.MULTILINE)
    assert counts is not None, ran.stdout
    assert int(counts[1]) >= int(counts[2]) > 40
