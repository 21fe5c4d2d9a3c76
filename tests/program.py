"""The program in a process of its own, as a player starts it."""

from __future__ import annotations

import contextlib
import io
import os
import sys
import tempfile
from unittest import mock

__all__ = ["NECKWORK", "opened_once"]

NECKWORK = (sys.executable, "-c", "import sys; sys.modules['pandas'] = None; from drills.cli import main; main()")
"""A command line to put arguments after.

sqlite_utils imports pandas where it finds it: half a second that a player, whose environment has none, never waits.
"""


def opened_once() -> None:
    """Opens a session in lines and leaves it, so that every fork has the modules and tables of one."""
    import drills.session.terminal  # noqa: F401 - lines do without it
    from drills.cli import main

    with (
        tempfile.TemporaryDirectory() as home,
        mock.patch.dict(os.environ, {"NECKWORK_HOME": home, "TERM": "dumb"}),
        mock.patch("sys.stdin", io.StringIO("\nq\n\n")),
        contextlib.redirect_stdout(io.StringIO()),
    ):
        main(["session", "--quiet"])
