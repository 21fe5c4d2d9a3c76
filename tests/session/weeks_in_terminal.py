"""The first weeks of the simulated players in a real pseudo-terminal, under a clock that is moved from outside.

``python -m tests.session.weeks_in_terminal FOLDER --days 28 > tests/session/FIRST_WEEKS.md`` writes the page beside
this file. What was played of each player is kept in FOLDER, player by player, so that a run that was stopped
goes on with the next one; ``--only NAME`` plays one of them.

The program is started once a day on a terminal of 100 columns and 30 rows, and is told by keys alone. Which card is
asked is read from the large letters on the screen, and compared afterwards with the log: a session in which the two
differ ends the run. Its clock stands where this script sets it before each key, so that a fortnight takes minutes and
no key is waited for.
"""

from __future__ import annotations

import argparse
import json
import mmap
import os
import pty
import random
import re
import select
import signal
import struct
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ
from typing import Any

import numpy as np
import pyte

from drills.cards.card import Card
from drills.cards.material import Material
from drills.session.letters import big
from scheduler.log.review_log import ReviewLog
from tests.program import opened_once
from tests.session.first_weeks import PLAYERS, Day, Pupil, Shown, page, shown_as
from tests.session.sittings import START, gathered

__all__ = ["play_weeks"]

COLUMNS, ROWS = 100, 30
GRADES = {"c": b"\x1b[C", "l": b"\x1b[D", "f": b"\x1b[B", "t": b"\x1b[A"}
"""The grade keys as arrows: Clean, Looked, Found it, In time."""

MARKS = {
    "start": "Enter starts.", "lesson": "Enter: played twice", "prompt": "Play it, then Enter",
    "answer": "Up In time", "repeat": "Play it right", "music": "A musical minute", "end": "Enter leaves.",
    "warm-up": "Enter goes on.",
}  # fmt: skip
"""What tells each screen from the others, in the order in which they are looked for."""

_TITLE = re.compile(r"^(\S+), strings ([\d-]+)", re.MULTILINE)
_LONGEST_S = 60.0
"""A screen that has not come after so many seconds, on whatever machine, does not come."""


class Shared:
    """What this script and the program share: the time, in seconds since START, and how many screens were drawn."""

    def __init__(self) -> None:
        self._memory = mmap.mmap(-1, 16)

    def seconds(self) -> float:
        """The time."""
        return float(struct.unpack("d", self._memory[:8])[0])

    def set_seconds(self, seconds: float) -> None:
        """Moves the clock."""
        self._memory[:8] = struct.pack("d", seconds)

    def drawn(self) -> int:
        """How many screens were written to the terminal as a whole."""
        return int(struct.unpack("q", self._memory[8:])[0])

    def count_one(self) -> None:
        """One more was written."""
        self._memory[8:] = struct.pack("q", self.drawn() + 1)


class Terminal:
    """One session of the program in a pseudo-terminal, with a clock that `shared` moves."""

    def __init__(self, home: Path, shared: Shared, choices: Path) -> None:
        self._shared, self._drawn = shared, shared.drawn()
        self._screen = pyte.Screen(COLUMNS, ROWS)
        self._stream = pyte.ByteStream(self._screen)
        self._pid, self._master = pty.fork()
        if self._pid == 0:
            _become_the_program(home, shared, choices)
        ioctl(self._master, TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))

    def text(self) -> str:
        """What stands on the screen."""
        return "\n".join(line.rstrip() for line in self._screen.display)

    def next_screen(self, before: str = "") -> tuple[str, str]:
        """The name and the text of the next screen that is not `before`, once all of it has come."""
        end = time.monotonic() + _LONGEST_S
        while time.monotonic() < end:
            came = self._read(0.05)
            if came is None:
                break
            if came or self._shared.drawn() == self._drawn:
                continue
            shown = self.text()
            for name, mark in MARKS.items():
                if mark in shown and shown != before:
                    return name, shown
        raise TimeoutError(f"no screen that is known came; on the screen stands:\n{self.text()}")

    def press(self, key: bytes) -> None:
        """Sends a key."""
        self._drawn = self._shared.drawn()
        os.write(self._master, key)

    def finished(self) -> int:
        """Reads to the end of the program; its exit code."""
        while self._read(0.05) is not None:
            pass
        os.close(self._master)
        return os.waitstatus_to_exitcode(os.waitpid(self._pid, 0)[1])

    def kill(self) -> None:
        """Ends the program, however it stands."""
        os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)

    def _read(self, wait_s: float) -> bytes | None:
        """What came; empty where nothing did, None at the end."""
        if not select.select([self._master], [], [], wait_s)[0]:
            return b""
        try:
            chunk = os.read(self._master, 65536)
        except OSError:
            return None
        self._stream.feed(chunk)
        if b"\x1b[6n" in chunk:
            os.write(self._master, b"\x1b[1;1R")  # a real terminal answers where its cursor is
        return chunk or None


def _become_the_program(home: Path, shared: Shared, choices: Path) -> None:
    """Runs ``neckwork session`` in the process just forked, which then ends."""
    code = 70
    try:
        os.environ.update({"NECKWORK_HOME": str(home), "TERM": "xterm-256color", "TZ": "UTC"})
        for name in ("COLUMNS", "LINES", "NO_COLOR"):
            os.environ.pop(name, None)
        time.tzset()
        sys.stdin = sys.__stdin__ = os.fdopen(0)
        sys.stdout = sys.__stdout__ = os.fdopen(1, "w")
        sys.stderr = sys.__stderr__ = os.fdopen(2, "w")
        _move_clocks(shared.seconds)
        _count_drawings(shared)
        _tell_choices(choices)
        from drills.cli import main

        code = main(["session", "--quiet"])
        sys.stdout.flush()
    finally:
        os._exit(code)


def _move_clocks(seconds: Callable[[], float]) -> None:
    """The wall clock and the clock of the session, both in this process alone."""
    import datetime as module

    from drills.session import drill

    class Moved(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            at = START + timedelta(seconds=seconds())
            return cls.fromtimestamp(at.timestamp(), tz)

    class Timed(drill.Drill):
        def __init__(self, *given: Any, **options: Any) -> None:
            super().__init__(*given, **{**options, "seconds": seconds})

    module.datetime = Moved  # type: ignore[misc]
    drill.Drill = Timed  # type: ignore[misc]


def _count_drawings(shared: Shared) -> None:
    """Counts the screens, so that nobody reads one of which a part is still to come."""
    from prompt_toolkit.renderer import Renderer

    render = Renderer.render

    def counted(self: Any, *given: Any, **options: Any) -> None:
        render(self, *given, **options)
        shared.count_one()

    Renderer.render = counted  # type: ignore[method-assign]


def _tell_choices(choices: Path) -> None:
    """Writes for each choice of the planner which preferences it kept, which gave way, and what was gained by that."""
    from scheduler.planning import planner as module

    weighed: dict[str, Any] = {}
    weigh, choice = module.weigh, module.Planner.choice

    def noted(deck: Any, choosable: Any, rules: Any, now: Any) -> Any:
        weighed.update(rows=choosable, factors=weigh(deck, choosable, rules, now))
        return weighed["factors"]

    def told(self: Any, at: Any, without: Any = ()) -> Any:
        weighed.clear()
        found = choice(self, at, without)
        if found is not None and weighed:
            rows, gained = weighed["rows"], {}
            if found.yielded:
                gains = _gains(self, at)[rows]
                own = gains[[self.cards[row].id for row in rows].index(found.card)]
                for rule in found.yielded:
                    factor = weighed["factors"][rule]
                    best = gains[factor >= factor.max()].max()
                    gained[rule] = float(own / best) if best > 0.0 else None
            with choices.open("a", encoding="utf-8") as file:
                file.write(json.dumps([found.card, found.kept, found.yielded, gained]) + "\n")
        return found

    module.weigh = noted
    module.Planner.choice = told  # type: ignore[method-assign]


def _gains(planner: Any, at: datetime) -> Any:
    """What each card of the deck gains a second, without any preference."""
    worth, recalls = planner.worths(at)
    clean, other = planner.pace.factors()
    seconds = np.array([card.seconds for card in planner.cards])
    return worth.sum(1) / (seconds * (recalls * clean + (1.0 - recalls) * other))


class Eye:
    """Reads the card that a screen asks or shows."""

    def __init__(self, material: Material) -> None:
        self.material = material
        self._cards = {(card.call, card.large): card for card in material.cards.values()}
        self._calls = {
            tuple(big(call, COLUMNS, "█", tall) or ()): call
            for call in {call for call, _ in self._cards} for tall in (1, 2, 3, 4)
        }  # fmt: skip
        self._sets = {
            tuple(big(large, COLUMNS, "█", tall) or ()): large
            for large in {large for _, large in self._cards} for tall in (1, 2, 3, 4)
        }  # fmt: skip

    def asked(self, shown: str) -> Card:
        """The card of a prompt."""
        return self._cards[self._found(self._calls, shown), self._found(self._sets, shown)]

    def shown(self, shown: str) -> Card:
        """The card of a lesson or an answer."""
        found = _TITLE.search(shown)
        if found is None:
            raise LookupError(f"no title of a shape on this screen:\n{shown}")
        call, strings = found.groups()
        return self._cards[call, strings]

    @staticmethod
    def _found(letters: dict[tuple[str, ...], str], shown: str) -> str:
        lines = "\n".join(["", *(line.rstrip() for line in shown.splitlines()), ""])
        for rows, text in letters.items():
            if rows and "\n".join(["", *(row.rstrip() for row in rows), ""]) in lines:
                return text
        raise LookupError(f"no large letters that are known on this screen:\n{shown}")


def play_weeks(name: str, days: int, folder: Path, seed: int = 0, told: Callable[[str], None] = print) -> list[Day]:
    """Plays a session a day on the first deck in a terminal, but for an absence."""
    player = PLAYERS[name]
    pupil = Pupil(player, random.Random(f"{player} {seed}"))
    eye, shared = Eye(gathered()), Shared()
    opened_once()
    found = []
    for number in range(days):
        if player.away is not None and player.away[0] <= number <= player.away[1]:
            continue
        found.append(_day(pupil, number, folder, eye, shared))
        told(f"{name}, day {number + 1}: {found[-1].said[0]}")
    return found


def _day(pupil: Pupil, number: int, folder: Path, eye: Eye, shared: Shared) -> Day:
    now = number * 86_400.0
    choices = folder / "choices"
    choices.unlink(missing_ok=True)

    def pass_time(seconds: float) -> None:
        nonlocal now
        now += seconds
        shared.set_seconds(now)

    pass_time(0.0)
    terminal = Terminal(folder / "home", shared, choices)
    shown: list[Shown] = []
    said: list[str] = []
    text, key, card = "", "", None
    try:
        while True:
            name, text = terminal.next_screen(text)
            match name:
                case "start":
                    said += [f"At the start: {line}" for line in _sentences(text)[1:]]
                    _go_on(pass_time, terminal, 2.0)
                case "lesson":
                    card = eye.shown(text)
                    shown.append(shown_as(eye.material, card, ""))
                    pupil.played(card.skills, number, "")
                    _go_on(pass_time, terminal, 20.0)
                case "prompt":
                    card = eye.asked(text)
                    key = pupil.key(card.skills, number)
                    _go_on(pass_time, terminal, pupil.seconds(key))
                case "answer":
                    assert card is not None
                    if eye.shown(text) != card:
                        raise LookupError(f"asked was {card.id}, answered is:\n{text}")
                    shown.append(shown_as(eye.material, card, key))
                    pupil.played(card.skills, number, key)
                    pass_time(4.0)
                    terminal.press(GRADES[key])
                case "end":
                    said += [f"At the end: {line}" for line in _sentences(text)[1:]]
                    _go_on(pass_time, terminal, 2.0)
                    break
                case _:
                    _go_on(pass_time, terminal, {"repeat": 15.0, "music": 55.0, "warm-up": 30.0}[name])
        code = terminal.finished()
    except BaseException:
        terminal.kill()
        raise
    if code:
        raise ChildProcessError(f"day {number + 1}: exit code {code}")
    _agrees(folder / "home" / "log.sqlite3", number, shown)
    kept, yielded, gained = _told(choices, shown)
    clean = sum(one.key in ("c", "t") for one in shown)
    return Day(number, shown, [f"{clean} of {sum(bool(one.key) for one in shown)} clean", *said], kept, yielded, gained)


def _go_on(pass_time: Callable[[float], None], terminal: Terminal, seconds: float) -> None:
    pass_time(seconds)
    terminal.press(b"\r")


def _sentences(shown: str) -> list[str]:
    """The lines of a screen, keys and empty ones left out, those that were broken to its width joined again."""
    found: list[str] = []
    broken = False
    for line in shown.splitlines():
        if broken and line and found:
            found[-1] += f" {line}"
        elif line:
            found.append(line)
        broken = len(line) > COLUMNS - 20 and not line.endswith(".")
    return [line for line in found if not line.startswith(("Enter ", "Only: "))]


def _agrees(log_path: Path, number: int, shown: list[Shown]) -> None:
    """Raise LookupError unless the log holds the first tries and grades that were read from the screen, in order."""
    began = START + timedelta(days=number)
    grades = {"l": 1, "f": 2, "c": 3, "t": 4}
    with ReviewLog(log_path, writable=False) as log:
        of_day = [one for one in log.reviews() if one.attempt == "first" and began <= one.at.astimezone(UTC)]
    written = [(one.card, int(one.grade)) for one in of_day]
    read = [(one.card, grades[one.key]) for one in shown if one.key]
    if written != read:
        raise LookupError(f"day {number + 1}: on the screen came {read}, in the log stands {written}")


def _told(choices: Path, shown: list[Shown]) -> tuple[Counter[str], Counter[str], dict[str, list[float]]]:
    """What the planner's choices of the cards shown kept and let go: of several of one card, the last before it."""
    lines = [json.loads(line) for line in choices.read_text(encoding="utf-8").splitlines()] if choices.exists() else []
    kept, yielded, gained = Counter[str](), Counter[str](), dict[str, list[float]]()
    wanted = Counter(one.card for one in shown)
    for card, keeps, yields, gains in reversed(lines):
        if not wanted[card]:
            continue
        wanted[card] -= 1
        kept.update(keeps)
        yielded.update(yields)
        for rule, ratio in gains.items():
            if ratio is not None:
                gained.setdefault(rule, []).append(ratio)
    return kept, yielded, gained


def _kept_days(path: Path) -> list[Day]:
    """What was played, read back."""
    return [
        Day(
            number, [Shown(*map(_as_tuple, one)) for one in shown], said, Counter(kept), Counter(yielded), gained
        )
        for number, shown, said, kept, yielded, gained in json.loads(path.read_text(encoding="utf-8"))
    ]  # fmt: skip


def _as_tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def main() -> None:
    """Plays whom there is nothing kept of, and prints the page of all that is kept."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("folder", type=Path)
    options.add_argument("--days", type=int, default=28)
    options.add_argument("--seed", type=int, default=0)
    options.add_argument("--only", choices=list(PLAYERS), action="append")
    given = options.parse_args()
    played = {}
    for name in PLAYERS:
        kept = given.folder / f"{name}.json"
        if not kept.exists() and (given.only is None or name in given.only):
            home = given.folder / name
            home.mkdir(parents=True)
            days = play_weeks(name, given.days, home, given.seed, lambda line: print(line, file=sys.stderr, flush=True))
            kept.write_text(json.dumps(days), encoding="utf-8")
        if kept.exists():
            played[name] = _kept_days(kept)
    how = (
        f"Written by `python -m tests.session.weeks_in_terminal FOLDER --days {given.days}`. The program is started "
        f"once a day in a pseudo-terminal of {COLUMNS} columns and {ROWS} rows and played by keys alone, with its log "
        "on disk and a clock that is moved; every session's screens were compared with its log."
    )
    print(page("The first weeks of five simulated players, in a terminal", how, played))


if __name__ == "__main__":
    main()
