"""A real terminal for the real program: a pseudo-terminal driven by pexpect, read by a screen emulator."""

from __future__ import annotations

import gc
import os
import signal
import sys
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache

import pexpect
import pyte
import pytest

from tests.program import opened_once

FAST = 8.0
"""How many seconds pass in a forked program's session while one passes outside."""

QUIET_S = 0.08
"""A screen on which nothing has come for so long is drawn, on a busy machine too."""


class Terminal:
    """`neckwork` in a pseudo-terminal of a given size; `screen()` is what a person would see.

    The program runs in a process forked from this one, in which its modules are loaded: it starts in a
    third of the time. The clock it times a session by runs `FAST` times as fast there, so that a key that
    rests, and a session of some minutes, are not waited for. program: a command to start in its place,
    `NECKWORK` for a process of its own, whose clock nobody moves. fast: how fast its clock runs, in place of `FAST`.
    """

    def __init__(self, home, *args, columns=80, rows=24, environ=None, program=None, fast=None):
        self.columns, self.rows = columns, rows
        self.fast = 1.0 if program else fast or FAST
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.Stream(self._screen)
        env = {**os.environ, "NECKWORK_HOME": str(home), "TERM": "xterm-256color", **(environ or {})}
        env.pop("NO_COLOR", None) if environ is None else None
        for name in ("COLUMNS", "LINES"):  # those of whoever runs the tests are not this terminal's
            env.pop(name, None)
        if program is None:
            _load()
        self.child = pexpect.spawn(
            program[0] if program else sys.executable,
            [*program[1:], *args] if program else [],
            env=env,
            dimensions=(rows, columns),
            encoding="utf-8",
            timeout=20,
            preexec_fn=_heed_interrupts if program else _becoming(args, env, self.fast),
        )

    def _pump(self, seconds: float) -> None:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                self._stream.feed(self.child.read_nonblocking(65536, timeout=0.05))
            except pexpect.TIMEOUT:
                continue
            except pexpect.EOF:
                return

    def _pump_until_quiet(self) -> None:
        """Reads until nothing has come for `QUIET_S`: a screen is never looked at half drawn."""
        end = time.monotonic() + 5.0
        while time.monotonic() < end:
            try:
                self._stream.feed(self.child.read_nonblocking(65536, timeout=QUIET_S))
            except (pexpect.TIMEOUT, pexpect.EOF):
                return

    def _pump_until_anything(self, seconds: float) -> None:
        with suppress(pexpect.TIMEOUT, pexpect.EOF):
            self._stream.feed(self.child.read_nonblocking(65536, timeout=seconds))

    def screen(self) -> str:
        """What stands on the screen; one that was wiped to be drawn anew is waited for while the program runs."""
        self._pump(0.05)
        end = time.monotonic() + 5.0
        while not self._display() and time.monotonic() < end and self.child.isalive():
            self._pump_until_anything(0.5)
            self._pump_until_quiet()
        return self._display()

    def wait_for(self, text: str, seconds: float = 20.0) -> str:
        """The screen once it holds a text; fails with the screen when it does not come."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            shown = self.screen()
            if text in shown:
                return shown
        raise AssertionError(f"{text!r} did not come up; the screen was:\n{self.screen()}")

    def press(self, keys: str, wait: float = 0.35, change: bool = True) -> None:
        """Sends keys and waits for another screen, however slow the machine, until it is drawn.

        wait: seconds more, on the clock of the program. change: False when the keys are not to change the screen.
        """
        before = self._display()
        self.child.send(keys)
        end = time.monotonic() + (5.0 if change and keys and wait else 0.0)
        while self._display() == before and time.monotonic() < end and self.child.isalive():
            self._pump(0.05)
        if wait:
            self._pump(wait / self.fast)
            self._pump_until_quiet()

    def _display(self) -> str:
        return "\n".join(line.rstrip() for line in self._screen.display).rstrip()

    @property
    def screen_cursor_hidden(self) -> bool:
        """Whether the program on the screen has put the cursor out of sight."""
        self._pump(0.1)
        return self._screen.cursor.hidden

    def resize(self, columns: int, rows: int) -> None:
        """Another size of window; comes back once the program has drawn itself anew in it, however slow the machine."""
        if (columns, rows) == (self._screen.columns, self._screen.lines):
            return  # nobody is told of a size that stays
        self._screen.resize(rows, columns)
        self.child.setwinsize(rows, columns)
        self._pump_until_anything(5.0)
        self._pump_until_quiet()

    def finish(self) -> int:
        """Waits for the program to end; its exit code, or minus the signal that ended it."""
        self._pump(0.2)
        try:
            self.child.expect(pexpect.EOF)
        except pexpect.TIMEOUT:
            self.child.close(force=True)
            raise
        self.child.close()
        return self.child.exitstatus if self.child.exitstatus is not None else -self.child.signalstatus

    def kill(self) -> None:
        """kill -9, and the terminal taken away."""
        self.child.kill(signal.SIGKILL)
        # pexpect gives a killed program a tenth of a second to go, which a busy machine may not have.
        end = time.monotonic() + 20.0
        while not self.child.closed and self.child.isalive() and time.monotonic() < end:
            time.sleep(0.01)
        self.child.close(force=True)

    def end(self) -> None:
        """Takes the terminal away, from a program that still runs too."""
        if not self.child.closed and self.child.isalive():
            self.kill()
        self.child.close(force=True)


def _heed_interrupts() -> None:
    """A shell that runs the tests in the background has them ignore Ctrl-C, and so what they start."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


_load = cache(opened_once)


def _becoming(args: tuple[str, ...], env: Mapping[str, str], fast: float) -> Callable[[], None]:
    """What makes a process forked onto a pseudo-terminal the program; it never comes back into the test runner."""

    def become() -> None:
        code = 70
        try:
            gc.freeze()  # what the runner left open is not to be closed under a file of the program's
            os.closerange(3, 1 << 16)  # pexpect waits for one of these to close, as starting a program would
            _heed_interrupts()
            os.environ.clear()
            os.environ.update(env)
            sys.stdin = sys.__stdin__ = os.fdopen(0)
            sys.stdout = sys.__stdout__ = os.fdopen(1, "w")
            sys.stderr = sys.__stderr__ = os.fdopen(2, "w")
            from drills.cli import main
            from drills.session import drill

            class Hurried(drill.Drill):
                def now_s(self) -> float:
                    return fast * super().now_s()

            drill.Drill = Hurried
            code = main(list(args))
            sys.stdout.flush()
        finally:
            os._exit(code)

    return become


@pytest.fixture
def terminal(tmp_path):
    """A function that starts the program in a terminal; all share one home folder."""
    started = []

    def start(*args, **options) -> Terminal:
        one = Terminal(tmp_path / "home", *args, **options)
        started.append(one)
        return one

    start.home = tmp_path / "home"
    yield start
    for one in started:
        one.end()
