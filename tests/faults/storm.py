"""Play sessions in terminals to which everything happens that may, and look at what each leaves.

    python -m tests.faults.storm [STORMS] [SEED]

Each of STORMS (60) sessions runs in a process and a pseudo-terminal of its own, with a terminal type, locale and time
zone drawn by SEED (13). While it is played the window changes its size again and again, down to one character; the
process is stopped and goes on; the clock is set back or forward and the zone changes, over the hours when summer time
begins and ends too. It ends by the key to leave, Ctrl-C, INT, TERM, HUP or a closed terminal. Afterwards the exit
code is the documented one, the log is whole and holds every grade after which another screen came up, and nothing of
a traceback was said. README.md beside this file keeps the last table.
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import pty
import random
import select
import signal
import struct
import sys
import tempfile
import termios
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import pyte

from scheduler.log.review_log import ReviewLog

__all__ = ["ENDS", "Storm", "drawn", "main", "weathered"]

PATIENCE_S = 90.0
_PLAYABLE = (40, 15)
"""The smallest window in which what stands on the screen tells a prompt from an answer."""

ENDS = {
    "q": (0,),
    "Ctrl-C": (130,),
    "INT": (130,),
    "TERM": (143, -signal.SIGTERM),
    "HUP": (129, -signal.SIGHUP),
    "closed": (129, 130, -signal.SIGHUP),
}
"""How a session ends, and its exit codes: those the command line documents, or minus the signal, where a session in
lines leaves the signal to the system, of which a shell makes the same number."""

_PROGRAM = """
import datetime, json, os, sys, time
sys.modules["pandas"] = None
from drills.session import drill
changes = json.loads(os.environ["STORM"])
class Weathered(drill.Drill):
    def __init__(self, material, planner, log, clock, **given):
        self.pressed, self.moved_s = 0, 0.0
        moved = lambda: (clock() + datetime.timedelta(seconds=self.moved_s)).astimezone()
        super().__init__(material, planner, log, moved, **given)
    def now_s(self):
        return 8.0 * super().now_s()
    def press(self, *given, **options):
        self.pressed += 1
        for at, seconds, zone in changes:
            if at == self.pressed:
                self.moved_s += seconds
                os.environ["TZ"] = zone
                time.tzset()
        super().press(*given, **options)
drill.Drill = Weathered
from drills.cli import main
main()
"""
"""The program with a clock that is set, and a zone that changes, at certain keys; its own seconds go eight times as
fast, so that keys which rest are not waited for."""

_TERMINALS = ("xterm-256color", "xterm-256color", "screen", "linux", "vt100", "no-such-terminal", "dumb", "")
_LOCALES = ("C", "POSIX", "C.UTF-8", "C.UTF-8", "tr_TR.UTF-8", "xx_YY.nonsense", "")
_ZONES = (
    "UTC",
    "Europe/Berlin",
    "America/New_York",
    "Pacific/Apia",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "nonsense",
)
_JUMPS_S = (0.0, 3_600.0, -3_600.0, 86_400.0, -86_400.0, 8_640_000.0, -8_640_000.0, 15_552_000.0, 1.0)


@dataclass(frozen=True, slots=True)
class Storm:
    """What happens to one session. changes: at which key the clock is set by how many seconds, in which zone.

    happens: at each key, in order, a size of the window, "stop" or nothing; after the last the session is ended.
    """

    environ: tuple[tuple[str, str], ...]
    changes: tuple[tuple[int, float, str], ...]
    happens: tuple[tuple[int, int] | str, ...]
    end: str


def drawn(seed: int, number: int) -> Storm:
    """The storm of that number."""
    rng = random.Random(seed * 100_003 + number)
    environ = (("TERM", rng.choice(_TERMINALS)), ("LC_ALL", rng.choice(_LOCALES)), ("TZ", rng.choice(_ZONES)))
    happens: list[tuple[int, int] | str] = []
    for _ in range(rng.randint(12, 26)):
        kind = rng.random()
        if kind < 0.3:
            happens.append(
                rng.choice(((1, 1), (20, 5), (40, 15), (80, 24), (200, 60), (rng.randint(1, 250), 3), (80, 1)))
            )
        else:
            happens.append("stop" if kind < 0.4 else "storm" if kind < 0.5 else "")
    changes = tuple(
        (rng.randint(1, 20), rng.choice(_JUMPS_S), rng.choice(_ZONES)) for _ in range(rng.choice((0, 1, 3)))
    )
    return Storm(environ, changes, tuple(happens), list(ENDS)[number % len(ENDS)])


def weathered(storm: Storm, home: Path) -> tuple[list[str], int]:
    """Plays a session through a storm; answers what did not hold, in sentences, and how many grades were seen to go."""
    child, terminal = pty.fork()
    if child == 0:
        environ = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES", "NO_COLOR")}
        environ |= {"NECKWORK_HOME": str(home), "STORM": json.dumps(storm.changes), **dict(storm.environ)}
        os.execve(sys.executable, [sys.executable, "-c", _PROGRAM, "session", "--quiet"], environ)
    player = _Player(child, terminal)
    try:
        player.play(storm)
        code = player.ended()
    finally:
        player.let_go()
    found = []
    if code not in ENDS[storm.end]:
        found.append(f"ended by {storm.end} with code {code}, expected {ENDS[storm.end]}")
    for word in ("Traceback", "a fault inside"):
        if word in player.said:
            found.append(f"{word}: {player.said[-1500:]!r}")
    kept = 0
    if (home / "log.sqlite3").exists() or player.acknowledged:
        with ReviewLog(home / "log.sqlite3") as log:
            found += log.faults()
            kept = sum(event.kind in ("review", "meet") for event in log.events())
    if kept < player.acknowledged:
        found.append(f"{player.acknowledged} were acknowledged, {kept} are in the log")
    return found, player.acknowledged


class _Player:
    """Sits at the terminal of a process: reads what comes and presses what fits."""

    def __init__(self, child: int, terminal: int) -> None:
        self._child, self._terminal = child, terminal
        self._screen = pyte.Screen(80, 24)
        self._stream = pyte.ByteStream(self._screen)
        self._code: int | None = None
        self.said = ""
        self.acknowledged = 0
        self._resize(80, 24)

    def play(self, storm: Storm) -> None:
        """Press keys, with what happens between them, then end the session."""
        self._wait("", PATIENCE_S)
        graded = ""
        for number, event in enumerate(storm.happens):
            shown = self._shown()
            lines = [line for line in shown.splitlines() if line.strip()]
            in_lines = bool(lines) and lines[-1].startswith("How did it go?")
            answer = in_lines or ("Looked" in shown and "In time" in shown and "How did" not in shown)
            key = "cft"[number % 3] if answer and self._playable() else ""
            self._press(f"{key}\r" if in_lines or not key else key)
            self._wait(shown, 3.0)
            if key and graded != shown and self._shown() != shown:
                self.acknowledged += 1
            graded = shown
            self._happen(event)
            if self._has_ended():
                return
        self._resize(80, 24)
        self._wait(self._shown(), 0.3)
        self._end(storm.end)

    def _happen(self, event: tuple[int, int] | str) -> None:
        if event == "stop":
            for number in (signal.SIGTSTP, signal.SIGCONT, signal.SIGSTOP):
                self._send(number)
            time.sleep(0.05)
            self._send(signal.SIGCONT)
        elif event == "storm":
            for width in range(1, 120, 4):
                self._resize(width, 1 + width // 3)
            self._resize(80, 24)
        elif isinstance(event, tuple):
            self._resize(*event)
        self._wait(self._shown(), 0.3)

    def _end(self, end: str) -> None:
        if end == "q":
            begun = time.monotonic()
            while not self._has_ended() and time.monotonic() - begun < PATIENCE_S:
                self._press("q\r")
                self._wait(self._shown(), 1.0)
        elif end == "Ctrl-C":
            self._press("\x03")
        elif end == "closed":
            self._close()
        else:
            self._send(signal.Signals[f"SIG{end}"])

    def ended(self) -> int:
        """The exit code once the program has ended, minus the signal that ended it, or 9,999 for one that hangs."""
        begun = time.monotonic()
        while not self._has_ended():
            if time.monotonic() - begun > PATIENCE_S:
                os.kill(self._child, signal.SIGKILL)
                os.waitpid(self._child, 0)
                return 9_999
            self._read(0.05)
        while self._read(0.05):
            pass
        assert self._code is not None
        return self._code

    def let_go(self) -> None:
        """Give the terminal back."""
        self._close()

    def _has_ended(self) -> bool:
        if self._code is None:
            ended, status = os.waitpid(self._child, os.WNOHANG)
            if ended:
                self._code = os.waitstatus_to_exitcode(status)
        return self._code is not None

    def _send(self, number: signal.Signals) -> None:
        if not self._has_ended():
            os.kill(self._child, number)

    def _close(self) -> None:
        if self._terminal >= 0:
            os.close(self._terminal)
            self._terminal = -1

    def _resize(self, columns: int, rows: int) -> None:
        if self._terminal >= 0:
            self._screen.resize(rows, columns)
            with contextlib.suppress(OSError):
                fcntl.ioctl(self._terminal, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def _playable(self) -> bool:
        return self._screen.columns >= _PLAYABLE[0] and self._screen.lines >= _PLAYABLE[1]

    def _shown(self) -> str:
        return "\n".join(line.rstrip() for line in self._screen.display).rstrip()

    def _press(self, keys: str) -> None:
        with contextlib.suppress(OSError):
            os.write(self._terminal, keys.encode())

    def _read(self, seconds: float) -> bool:
        """Read what comes within so many seconds; whether anything came."""
        if self._terminal < 0:
            time.sleep(seconds)
            return False
        ready, _, _ = select.select([self._terminal], [], [], seconds)
        if not ready:
            return False
        try:
            come = os.read(self._terminal, 1 << 16)
        except OSError:  # the program has gone
            return False
        self.said += come.decode("utf-8", "replace")
        with contextlib.suppress(IndexError, ValueError):  # a window of one character is more than the emulator takes
            self._stream.feed(come)
        return bool(come)

    def _wait(self, before: str, seconds: float) -> None:
        """Until there is another screen and nothing more comes, for so many seconds at most."""
        begun = time.monotonic()
        while time.monotonic() - begun < seconds and not self._has_ended():
            if not self._read(0.06) and self._shown() != before:
                return


def main(storms: int = 60, seed: int = 13) -> int:
    """Print the table; answers how many sessions did not end or keep as they should."""
    print(
        f"{storms} sessions, seed {seed}\n\n| ended by | sessions | grades acknowledged | faults |\n|---|---|---|---|"
    )
    counts: dict[str, Counter[str]] = {end: Counter() for end in ENDS}
    for number in range(storms):
        storm = drawn(seed, number)
        with tempfile.TemporaryDirectory() as folder:
            found, acknowledged = weathered(storm, Path(folder) / "home")
        counts[storm.end].update(sessions=1, grades=acknowledged, faults=int(bool(found)))
        for fault in found:
            print(f"storm {number}: {fault}\n  {storm}", file=sys.stderr)
    for end, found in counts.items():
        print(f"| {end} | {found['sessions']} | {found['grades']} | {found['faults']} |")
    whole = sum(counts.values(), Counter[str]())
    print(f"| all | {whole['sessions']} | {whole['grades']} | {whole['faults']} |")
    return whole["faults"]


if __name__ == "__main__":
    sys.exit(min(1, main(*map(int, sys.argv[1:]))))
