"""Runs the command line in the test's own process, in a home folder of its own."""

from __future__ import annotations

from dataclasses import dataclass

import pytest


@dataclass
class Ran:
    """What one command did: exit code, standard output, standard error."""

    code: int
    out: str
    err: str


@pytest.fixture
def neckwork(tmp_path, monkeypatch, capsys):
    """A function that runs ``neckwork ARGS`` and returns what happened."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))
    for name in ("NO_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    from drills.cli import main

    def run(*args: str) -> Ran:
        capsys.readouterr()
        code = main(list(args))
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return run
