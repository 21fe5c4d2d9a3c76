"""Programs killed in the middle of a write, between writes and from outside: nothing that was acknowledged is lost.

A small share of `python -m tests.faults.kills`, in a process of its own: the library that kills is loaded before it.
"""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from tests.faults.failpoint import available, compiled, with_library

KILLS = 9


@pytest.mark.skipif(not available(), reason="the library that kills inside a call needs Linux and gcc")
def test_a_share_of_the_kills(tmp_path):
    """Each kill leaves a whole log with every grade the screen went on from, and no file half."""
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.kills", str(KILLS), "7", "session, lines", "import, JSON", "decks new"],
        env=with_library(compiled(tmp_path)), capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, ""), ran.stdout
    counts = re.search(r"\| all \| \d+ \| (\d+) \| (\d+) \| .* \| 0 \|$", ran.stdout, re.MULTILINE)
    assert counts is not None, ran.stdout
    assert int(counts[1]) == KILLS
    assert int(counts[2]) >= KILLS // 3
