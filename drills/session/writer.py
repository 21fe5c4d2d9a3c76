"""Writes what happens in a sitting; what cannot be written is kept in hand, in order, and tried again."""

from __future__ import annotations

from datetime import datetime

from scheduler.errors import LogError
from scheduler.log.events import Body
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

__all__ = ["Writer"]

RETRY_BUSY_S = 0.2
"""How long a try waits for another program, in seconds, once one has failed: the player is at the keys."""


class Writer:
    """Appends to a log. While the log cannot be written (locked, disk full or gone), nothing is dropped.

    What still waits at the end of a sitting is asked about, or put into a file to import: `drills.cli.rescue`.

    trouble: why the last try failed, in the words of the log, or ``""``.
    """

    def __init__(self, log: ReviewLog) -> None:
        self._log = log
        self._waiting: list[tuple[Body, datetime]] = []
        self.trouble = ""

    @property
    def waiting(self) -> tuple[tuple[Body, datetime], ...]:
        """What is not written yet, the oldest first."""
        return tuple(self._waiting)

    def append(self, body: Body, at: datetime) -> None:
        """Write what happened at `at`, after all that waits."""
        self._waiting.append((body, at))
        self.again()

    def again(self) -> bool:
        """Try to write what waits; whether nothing waits any more."""
        try:
            while self._waiting:
                body, at = self._waiting[0]
                # A commit may fail after it has reached the disk: a review that is there is not written twice.
                if not (self.trouble and isinstance(body, Review) and self._log.holds(body.id)):
                    self._log.append(body, at)
                del self._waiting[0]
        except LogError as error:
            if not self.trouble:
                self._log.wait_at_most(RETRY_BUSY_S)
            self.trouble = str(error)
            return False
        if self.trouble:
            self._log.wait_at_most(None)
            self.trouble = ""
        return True

    @property
    def note(self) -> str:
        """What the player is told, or ``""``."""
        if not self._waiting:
            return ""
        count = len(self._waiting)
        return f"{count} not written yet, kept here and tried again at every key: {self.trouble}"
