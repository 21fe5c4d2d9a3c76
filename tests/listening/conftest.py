"""The command line in the test's own process, as the tests of the other commands run it."""

from __future__ import annotations

from tests.cli.conftest import neckwork

__all__ = ["neckwork"]
