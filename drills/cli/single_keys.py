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


class _Lines:
    """Lines of an input, each waited for as long as is asked.

    Several may come at once, from a pipe or a quick hand: what was read with one and not asked for yet is kept here,
    where waiting can see it. Python's own buffer would hide it until the next line comes.
    """

    def __init__(self) -> None:
        self._read = bytearray()
        self._ended = False

    def key(self) -> str:
        """The first letter of the next line, ``enter`` for an empty one, ``q`` at the end."""
        number = self._number()
        if number is None:
            try:
                return self._letter(input())
            except EOFError:
                return "q"
        sys.stdout.flush()
        while b"\n" not in self._read and not self._ended:
            came = os.read(number, 4096)
            self._read += came
            self._ended = not came
        if not self._read:
            return "q"
        line, _, rest = self._read.partition(b"\n")
        self._read = rest
        return self._letter(line.decode("utf-8", "replace"))

    def within(self, within_s: float) -> str:
        """The same, or ``""`` where no line comes within so many seconds; Windows waits for the line."""
        number = self._number()
        kept = self._ended or b"\n" in self._read
        if number is not None and not kept and not select.select([number], [], [], within_s)[0]:
            return ""
        return self.key()

    @staticmethod
    def _letter(line: str) -> str:
        return line.strip().lower()[:1] or "enter"

    @staticmethod
    def _number() -> int | None:
        """The number of the input's file, or None where it is no file that can be waited for: it is simply read."""
        if sys.platform == "win32":
            return None
        try:
            return sys.stdin.fileno()
        except (OSError, ValueError):
            return None


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
        if in_lines:
            lines = _Lines()
            yield KeyAsking(lines.key, lines.within)
        else:
            yield KeyAsking(_key, _key_within)
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
