"""Single keys from a terminal, or lines from anything else, for commands that ask between sounds."""

from __future__ import annotations

import contextlib
import os
import select
import signal
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import FrameType

import click

__all__ = ["KeyAsking", "asking"]

_NAMES = {
    "\r": "enter", "\n": "enter", "\x1b[A": "up", "\x1bOA": "up", "\x1b[B": "down", "\x1bOB": "down",
    "\x1b[5~": "pageup", "\x1b[6~": "pagedown", "\x04": "q", "\x1b": "q",
}  # fmt: skip


_LOOK_S = 0.02


@dataclass(frozen=True, slots=True)
class KeyAsking:
    """Ways to ask for a key. key: waits for one. within: waits so many seconds at most, then gives ``""``."""

    key: Callable[[], str]
    within: Callable[[float], str]


def _key() -> str:
    try:
        pressed = click.getchar()
    except EOFError:
        return "q"
    return _NAMES.get(pressed, pressed.lower())


def _line() -> str:
    try:
        typed = input().strip().lower()
    except EOFError:
        return "q"
    return typed[:1] or "enter"


def _key_within(within_s: float) -> str:
    """The next key, or ``""`` where none is pressed within so many seconds."""
    if sys.platform == "win32":
        import msvcrt

        end_s = time.monotonic() + within_s
        while not msvcrt.kbhit():
            if time.monotonic() >= end_s:
                return ""
            time.sleep(_LOOK_S)
        return _key()
    import termios
    import tty

    terminal = sys.stdin.fileno()
    before = termios.tcgetattr(terminal)
    try:
        # Line ends that are printed meanwhile stay whole, and Ctrl-C ends the program as ever.
        tty.setcbreak(terminal, termios.TCSANOW)
        if not select.select([terminal], [], [], within_s)[0]:
            return ""
        pressed = os.read(terminal, 32).decode("utf-8", "replace")
    finally:
        termios.tcsetattr(terminal, termios.TCSANOW, before)
    if not pressed:
        return "q"
    return _NAMES.get(pressed, pressed[:1].lower())


def _line_within(within_s: float) -> str:
    """The next letter, or ``""`` where no line comes within so many seconds; Windows waits for the line."""
    if sys.platform != "win32":
        with contextlib.suppress(OSError, ValueError):  # an input that is no file is simply read
            if not select.select([sys.stdin.fileno()], [], [], within_s)[0]:
                return ""
    return _line()


@contextlib.contextmanager
def asking(plain: bool) -> Iterator[KeyAsking]:
    """What to call for the next key: one press on a terminal, a letter and Enter when `plain` or piped.

    Keys come by name (``enter``, ``up``, ``pagedown``) or as the letter; the end of input is ``q``.
    A hang-up or a request to end leaves the terminal as it was.
    """

    def leave(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = {}
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            before[name] = signal.signal(getattr(signal, name), leave)
    try:
        in_lines = plain or not (sys.stdin.isatty() and sys.stdout.isatty())
        yield KeyAsking(_line, _line_within) if in_lines else KeyAsking(_key, _key_within)
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
