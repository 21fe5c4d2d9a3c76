"""Lint, format and strict types hold over both packages, so that none of them can rot."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.parametrize("command", [("check",), ("format", "--check")])
def test_ruff_finds_nothing(command):
    """Whatever the settings in pyproject.toml ask of style holds, and every file is formatted by the one tool."""
    done = subprocess.run(
        [sys.executable, "-m", "ruff", *command, "--no-cache", "."],
        cwd=ROOT, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
