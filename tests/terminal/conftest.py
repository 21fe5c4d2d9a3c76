"""A real terminal for the real program: a pseudo-terminal driven by pexpect, read by a screen emulator."""

from __future__ import annotations

import fcntl
import os
import pty
import signal
import struct
import sys
import termios
import time

import pexpect
import pyte
import pytest
from pexpect import fdpexpect

NECKWORK = (sys.executable, "-m", "drills.cli")


class Terminal:
    """`neckwork` in a pseudo-terminal of a given size; `screen()` is what a person would see."""

    def __init__(self, home, *args, columns=80, rows=24, environ=None, program=NECKWORK):
        self.columns, self.rows = columns, rows
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.Stream(self._screen)
        env = {**os.environ, "NECKWORK_HOME": str(home), "TERM": "xterm-256color", **(environ or {})}
        env.pop("NO_COLOR", None) if environ is None else None
        self.child = pexpect.spawn(
            program[0],
            [*program[1:], *args],
            env=env,
            dimensions=(rows, columns),
            encoding="utf-8",
            timeout=20,
            # A shell that runs the tests in the background has them ignore Ctrl-C, and so what they start.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
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

    def screen(self) -> str:
        self._pump(0.05)
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
        """Sends keys and waits for another screen, however slow the machine, then `wait` seconds more.

        change: False when the keys are not to change the screen.
        """
        before = self._display()
        self.child.send(keys)
        end = time.monotonic() + (5.0 if change and keys and wait else 0.0)
        while self._display() == before and time.monotonic() < end and self.child.isalive():
            self._pump(0.05)
        self._pump(wait)

    def _display(self) -> str:
        return "\n".join(line.rstrip() for line in self._screen.display).rstrip()

    @property
    def screen_cursor_hidden(self) -> bool:
        """Whether the program on the screen has put the cursor out of sight."""
        self._pump(0.1)
        return self._screen.cursor.hidden

    def resize(self, columns: int, rows: int) -> None:
        self._screen.resize(rows, columns)
        self.child.setwinsize(rows, columns)

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


class Forked(Terminal):
    """The same program in a process forked from this one: its modules are loaded, so it starts at once."""

    def __init__(self, home, *args, columns=80, rows=24):
        self.columns, self.rows = columns, rows
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.Stream(self._screen)
        _load()
        self.pid, terminal = pty.fork()
        if self.pid == 0:
            _become(home, args, columns, rows)
        self.child = fdpexpect.fdspawn(terminal, encoding="utf-8", timeout=20)

    def kill(self) -> None:
        """kill -9, and the terminal taken away."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        self.child.close()


def _load() -> None:

    import scheduler.gain  # noqa: F401 - loaded here so that every fork has it


def _become(home, args, columns: int, rows: int) -> None:
    """In the forked process: the program, on the pseudo-terminal it was given."""
    code = 70
    try:
        fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
        os.environ.update(NECKWORK_HOME=str(home), TERM="xterm-256color")
        from drills.cli import main

        code = main(list(args))
    finally:
        os._exit(code)  # never back into the test runner


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
        one.child.close(force=True)
