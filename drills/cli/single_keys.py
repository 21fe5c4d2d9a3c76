"""Single keys from a terminal, or lines from anything else, for commands that ask between sounds."""

from __future__ import annotations

import contextlib
import signal
import sys
from collections.abc import Callable, Iterator
from types import FrameType

import click

__all__ = ["asking"]

_NAMES = {
    "\r": "enter", "\n": "enter", "\x1b[A": "up", "\x1bOA": "up", "\x1b[B": "down", "\x1bOB": "down",
    "\x1b[5~": "pageup", "\x1b[6~": "pagedown", "\x04": "q", "\x1b": "q",
}  # fmt: skip


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


@contextlib.contextmanager
def asking(plain: bool) -> Iterator[Callable[[], str]]:
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
        yield _line if plain or not (sys.stdin.isatty() and sys.stdout.isatty()) else _key
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
