"""The program in a process of its own, as a player starts it."""

from __future__ import annotations

import sys

__all__ = ["NECKWORK"]

NECKWORK = (sys.executable, "-c", "import sys; sys.modules['pandas'] = None; from drills.cli import main; main()")
"""A command line to put arguments after.

sqlite_utils imports pandas where it finds it: half a second that a player, whose environment has none, never waits.
"""
