"""From a key press to the next screen, over a real pseudo-terminal, with a large deck and a long log.

Run with ``-s`` to read the figures, beside the budget of 50 ms; only a ratio of one run is asserted.
"""

from __future__ import annotations

import os
import pty
import random
import select
import subprocess
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.neck.neck import Neck
from scheduler.grade import Grade
from scheduler.log.events import Event, as_us
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

SHORT, LONG = 1_000, 100_000
CARDS = 40
QUIET_S = 0.25
"""A screen is complete when nothing more has come for this long."""


def filled(path: Path, count: int) -> None:
    """A log of reviews of the deck's own 504 cards, thirty a day until yesterday."""
    cards = list(gather(read_deck(find_deck("fourteen", None)), Neck()).cards.values())
    rng = random.Random(7)
    yesterday = datetime.now().astimezone() - timedelta(days=1)
    with ReviewLog(path) as log:

        def events():
            for number in range(count):
                at = yesterday - timedelta(days=(count - number) // 30, seconds=-20 * (number % 30))
                card = cards[number % len(cards)] if number < len(cards) else rng.choice(cards)
                one = Review(
                    card.id, rng.choice((*Grade, Grade.CLEAN, Grade.CLEAN)), at, 6.0, "first", card.skills, 18.0,
                    f"s{number // 30}", f"{number:024x}",
                )  # fmt: skip
                yield Event(one.id, log.id, as_us(at), at, one)

        log.add(events())


class Player:
    """A session in a pseudo-terminal; `press` gives the seconds from a key to the last byte of its screen."""

    def __init__(self, home: Path, deck: str = "fourteen"):
        self._master, slave = pty.openpty()
        env = {**os.environ, "NECKWORK_HOME": str(home), "TERM": "xterm-256color"}
        command = [sys.executable, "-m", "drills.cli", "session", deck, "--quiet", "--minutes", "60"]
        self._process = subprocess.Popen(command, stdin=slave, stdout=slave, stderr=slave, env=env)
        os.close(slave)
        self._seen = b""
        while b"\x1b[" not in self._seen:  # a long log read for the first time says so in a plain line before
            self.screen(120.0)

    def screen(self, longest_s: float) -> float:
        """Reads until the screen is complete; the moment its last byte came."""
        last = None
        end = time.perf_counter() + longest_s
        while time.perf_counter() < end:
            if select.select([self._master], [], [], QUIET_S)[0]:
                chunk = os.read(self._master, 65536)
                last = time.perf_counter()
                self._seen += chunk
                if b"\x1b[6n" in chunk:
                    os.write(self._master, b"\x1b[1;1R")  # a real terminal answers where its cursor is
            elif last is not None:
                return last
        raise AssertionError("no screen came")

    def press(self, key: bytes) -> float:
        """Seconds from the key to its screen."""
        start = time.perf_counter()
        os.write(self._master, key)
        return self.screen(10.0) - start

    def close(self) -> None:
        """Ends the session."""
        self._process.kill()
        self._process.wait()
        os.close(self._master)


def waits(home: Path, deck: str = "fourteen") -> list[float]:
    """Seconds for reveal and grade of some cards in a row, the shortest first."""
    player = Player(home, deck)
    try:
        for _ in range(3):
            player.press(b"\r")
        taken = []
        for _ in range(CARDS):
            taken.append(player.press(b"\r"))
            time.sleep(0.1)  # grading keys rest after a reveal; the wait for a complete screen is the rest of it
            taken.append(player.press(b"c"))
        return sorted(taken)
    finally:
        player.close()


def test_a_long_log_costs_a_key_press_nothing(tmp_path):
    """Half of all keys, and 95 of 100, bring their screen with 100,000 reviews about as soon as with 1,000."""
    figures = {}
    for count in (SHORT, LONG):
        home = tmp_path / str(count)
        home.mkdir()
        filled(home / "log.sqlite3", count)
        taken = waits(home)
        figures[count] = taken[len(taken) // 2], taken[int(len(taken) * 0.95)]
        median, most = (round(seconds * 1000) for seconds in figures[count])
        print(f"\n{count} reviews, 504 cards: key to screen median {median} ms, 95th percentile {most} ms")
    assert figures[LONG][0] < 3 * figures[SHORT][0] + 0.01
