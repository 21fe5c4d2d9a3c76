"""Lint, format and strict types hold over both packages, so that none of them can rot."""

import os
import re
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


@pytest.mark.long
def test_types_hold_strictly():
    """Both packages pass mypy's strict checks, as pyproject.toml sets them, with no blanket ignore."""
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--cache-dir", os.devnull],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_ignore_names_its_code_and_says_why():
    """An ignored type error names the error it ignores, and a comment says why."""
    for package in ("drills", "scheduler"):
        for path in (ROOT / package).rglob("*.py"):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                if "type: ignore" in line:
                    assert re.search(r"# type: ignore\[[a-z-]+\]  # \w+", line), f"{path}:{number}: {line.strip()}"
