"""The program in a process forked from this one, on a home of its own, with a failpoint: as lines or full-screen."""

from __future__ import annotations

import contextlib
import fcntl
import gc
import os
import pty
import re
import select
import signal
import struct
import tempfile
import termios
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pyte

from tests.faults.failpoint import Failpoint, armed, counted_kinds, disarmed, preloaded
from tests.program import opened_once

__all__ = ["GRADING", "PATIENCE_S", "Ended", "loaded", "run", "run_full_screen"]

PATIENCE_S = 240.0
"""A program that has not ended by then hangs. It takes a second where the machine is idle, far more where it is not."""

_FAST = 8.0
"""How many seconds of a session pass in one, so that keys which rest are not waited for."""

GRADING = "\n\n\n" + "\nc\n\nf\n1\n\nt\n" * 4 + "q\n\n\n"
"""Keys that play some cards in lines, whatever comes: Enter answers, a letter grades."""

_SEQUENCE = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[=>]")
"""A control sequence (ECMA-48, 5.4), or the two that set a keypad."""

_ANSWER, _REPEAT = "How did it go?", "Enter when"


@dataclass(frozen=True, slots=True)
class Ended:
    """How a program ended. code: the exit code, or minus the signal. happened: what the failpoint did, or "".

    calls: the calls counted, a letter each; only of a program that was not killed.
    out, err: what was written to either; of a full-screen session the last page, and what stood outside of pages.
    acknowledged: how many cards were graded or learned with the next screen already there.
    """

    code: int
    out: str
    err: str
    happened: str
    calls: str
    acknowledged: int
    hung: bool = False


def loaded() -> None:
    """Import what the commands need, so that a fork starts at once."""
    import scheduler.log.migrations  # noqa: F401 - only a new log needs it

    opened_once()


def run(
    args: Sequence[str], home: Path, point: Failpoint | None = None, keys: str = "", kill_after_s: float | None = None
) -> Ended:
    """A command with `keys` as its standard input, which is no terminal."""
    with contextlib.ExitStack() as stack:
        files = [stack.enter_context(tempfile.TemporaryFile()) for _ in range(5)]
        given, out, err, report, kinds = files
        given.write(keys.encode())
        given.seek(0)
        child = os.fork()
        if child == 0:
            for number, file in enumerate((given, out, err)):
                os.dup2(file.fileno(), number)
            _become(args, home, point, report.fileno(), kinds.fileno())
        code, hung = _wait(child, kill_after_s)
        texts = []
        for file in files[1:]:
            file.seek(0)
            texts.append(file.read().decode("utf-8", "replace"))
        return Ended(code, texts[0], texts[1], texts[2], texts[3], _acknowledged(texts[0]), hung)


def _become(args: Sequence[str], home: Path, point: Failpoint | None, report: int, kinds: int) -> None:
    """Be the program in a forked process, and never come back."""
    code = 70
    try:
        gc.freeze()
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.environ["NECKWORK_HOME"] = str(home)
        os.environ.setdefault("TERM", "xterm-256color")
        import sys

        sys.stdin = sys.__stdin__ = os.fdopen(0, encoding="utf-8")
        # Each line is on its way when it is written, as on a terminal.
        sys.stdout = sys.__stdout__ = os.fdopen(1, "w", buffering=1, encoding="utf-8")
        sys.stderr = sys.__stderr__ = os.fdopen(2, "w", buffering=1, encoding="utf-8")
        from drills.cli import main
        from drills.session import drill
        from scheduler.memory import refit

        # The search takes a minute and writes nothing; what is written after it is what is tried here.
        refit.refit = lambda *_: refit.Refit({"growth": 1.1}, 300, 60, 0.5, 0.4)

        class Hurried(drill.Drill):
            def now_s(self) -> float:
                return _FAST * super().now_s()

        drill.Drill = Hurried  # type: ignore[misc] # the clock of a forked program, which ends here
        if preloaded():
            armed(point or Failpoint(), report)
        code = main(list(args))
        if preloaded():
            disarmed()
            os.write(kinds, counted_kinds().encode())
        sys.stdout.flush()
    finally:
        os._exit(code)


def _wait(child: int, kill_after_s: float | None) -> tuple[int, bool]:
    """The child's exit code, or minus its signal, and whether it had to be ended."""
    begun = time.monotonic()
    hung = False
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status), hung
        waited = time.monotonic() - begun
        if kill_after_s is not None and waited > kill_after_s:
            os.kill(child, signal.SIGKILL)
        elif waited > PATIENCE_S:
            hung = True
            os.kill(child, signal.SIGKILL)
        time.sleep(0.002)


def _acknowledged(said: str) -> int:
    """How many answers and lessons in the lines of a session are followed by another screen."""
    count, open_screen, screens = 0, "", []
    text = ""
    for line in said.splitlines(keepends=True):
        text += line
        if line.startswith((_ANSWER, _REPEAT)) or "then Enter" in line:
            screens.append(text)
            text = ""
    for shown in screens:
        # A key that means nothing shows the same screen again, without what stood above it.
        if open_screen and not open_screen.endswith(shown):
            count += 1
        last = shown.splitlines()[-1]
        open_screen = shown if last.startswith((_ANSWER, "Enter when played")) else ""
    return count


def run_full_screen(
    args: Sequence[str], home: Path, point: Failpoint | None = None, cards: int = 6, kill_after_s: float | None = None
) -> Ended:
    """A session in a pseudo-terminal of 80 by 24, played until so many cards are graded, then left."""
    with tempfile.TemporaryFile() as report, tempfile.TemporaryFile() as kinds:
        child, terminal = pty.fork()
        if child == 0:
            os.environ["TERM"] = "xterm-256color"
            _become(args, home, point, report.fileno(), kinds.fileno())
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        try:
            acknowledged, shown, left = _played(child, terminal, cards, kill_after_s)
            code, hung = _wait(child, None if kill_after_s is None else 0.0)
        finally:
            os.close(terminal)
        report.seek(0)
        kinds.seek(0)
        return Ended(code, shown, left, report.read().decode(), kinds.read().decode(), acknowledged, hung)


def _played(child: int, terminal: int, cards: int, kill_after_s: float | None) -> tuple[int, str, str]:
    """How many cards were graded with the next screen there, the last screen, and what was said outside of screens."""
    screen = pyte.Screen(80, 24)
    stream = pyte.ByteStream(screen)
    raw = b""
    begun = time.monotonic()
    acknowledged, graded, before, quiet = 0, 0, "", 0
    grades = 0
    while time.monotonic() - begun < PATIENCE_S:
        if kill_after_s is not None and time.monotonic() - begun > kill_after_s:
            os.kill(child, signal.SIGKILL)
            kill_after_s = None
        ready, _, _ = select.select([terminal], [], [], 0.04)
        if ready:
            try:
                come = os.read(terminal, 1 << 16)
            except OSError:  # the program has ended
                break
            stream.feed(come)
            raw += come
            quiet = 0
            continue
        shown = "\n".join(line.rstrip() for line in screen.display).rstrip()
        quiet += 1
        if not shown or (shown == before and quiet < 25):
            continue
        if graded and shown != before:
            acknowledged += 1
        graded, before, quiet = 0, shown, 0
        answer = "Looked" in shown and "In time" in shown
        with contextlib.suppress(OSError):
            if shown.endswith("Try again? [Y/n]:"):
                os.write(terminal, b"n\r")
            elif acknowledged >= cards and not answer:
                os.write(terminal, b"q" if grades < 1_000 else b"\r")
                grades += 1_000
            elif answer:
                graded = 1
                os.write(terminal, b"cft"[grades % 3 : grades % 3 + 1])
                grades += 1
            else:
                os.write(terminal, b"\r")
    return acknowledged, "\n".join(screen.display), _outside(raw.decode("utf-8", "replace"))


def _outside(raw: str) -> str:
    """What of a terminal's text was written while no page stood on it (DEC private mode 1049 is the page's)."""
    parts = [part.partition("\x1b[?1049l")[2] for part in ("\x1b[?1049l" + raw).split("\x1b[?1049h")]
    return _SEQUENCE.sub("", "".join(parts)).replace("\r", "")
