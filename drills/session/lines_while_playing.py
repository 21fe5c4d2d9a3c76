"""Typed lines of a session that goes on by what is heard: while a line is waited for, time passes and is told."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable

from drills.session.drill import Drill

__all__ = ["reading_while_playing"]


def reading_while_playing(drill: Drill, read: Callable[[], str], tell: Callable[[], None]) -> Callable[[], str]:
    """A `read` that lets time pass while it waits, and tells each new moment that comes without a line.

    read: the next line typed, raising EOFError at the end; it is called on a thread of its own. tell: says the
    present moment.
    """
    came: queue.SimpleQueue[str | BaseException] = queue.SimpleQueue()
    waiting = False

    def fetch() -> None:
        try:
            came.put(read())
        except (EOFError, KeyboardInterrupt) as error:
            came.put(error)

    def next_line() -> str:
        nonlocal waiting
        if not waiting:
            threading.Thread(target=fetch, name="lines", daemon=True).start()
            waiting = True
        while True:
            try:
                line = came.get(timeout=drill.tick_s)
            except queue.Empty:
                before = drill.state
                drill.tick()
                now = drill.state
                if (now.phase, now.question, now.note) != (before.phase, before.question, before.note):
                    tell()
                continue
            waiting = False
            if isinstance(line, BaseException):
                raise line
            return line

    return next_line
