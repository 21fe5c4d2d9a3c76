"""What a terminal marks as pasted is no key of the session, and a paste that never ends does not hold back the keys."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic
from typing import TYPE_CHECKING

from prompt_toolkit.input.vt100_parser import Vt100Parser

if TYPE_CHECKING:
    from prompt_toolkit.key_binding import KeyPress

__all__ = ["LONGEST_S", "SILENT_S", "PasteParser"]

SILENT_S = 1.0
"""A paste that has been silent for so long has lost its end: what is pasted comes in one stream (common practice)."""

LONGEST_S = 5.0
"""No paste lasts longer: whoever presses key after key because nothing moves is heard again after this time."""


class PasteParser(Vt100Parser):
    """Reads keys from a terminal; a bracketed paste whose end mark does not come is dropped.

    feed_key_callback: takes each key. clock: tells seconds, from any beginning.
    """

    def __init__(self, feed_key_callback: Callable[[KeyPress], None], clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._began_s: float | None = None
        self._latest_s = 0.0
        super().__init__(feed_key_callback)

    def feed(self, data: str) -> None:
        """Take in what the terminal sent."""
        super().feed(data)
        if not self._in_bracketed_paste:
            self._began_s = None
            return
        self._latest_s = self._clock()
        if self._began_s is None:
            self._began_s = self._latest_s

    def drop_unended(self) -> bool:
        """Drop a paste whose end should long have come, so that keys act again; tells whether one was dropped."""
        now = self._clock()
        if self._began_s is None or (now - self._latest_s < SILENT_S and now - self._began_s < LONGEST_S):
            return False
        self._began_s = None
        self.reset()
        return True
