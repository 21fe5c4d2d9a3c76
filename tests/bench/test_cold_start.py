"""How long a start takes, beside the libraries it stands on; figures are printed, only ratios of one run are asserted.

Run with ``-s`` to read the figures; README.md beside it keeps the last ones.
"""

from __future__ import annotations

import os
import pty
import resource
import select
import subprocess
import sys
import time

import pyte

ROUNDS, MOST_ROUNDS = 15, 45
"""Other work on the machine only ever adds time: both sides are sampled in turn until their minima settle."""


def _settled(ours: list[float], base: list[float]) -> bool:
    """Whether enough was sampled: the least number of rounds, and more while the minima still say too much."""
    done = len(base)
    return done >= MOST_ROUNDS or (done >= ROUNDS and min(ours) / min(base) <= GOAL)


GOAL = 1.5
"""Most that a start may take, as a multiple of importing the libraries it stands on."""


def _cpu(command: list[str], env=None) -> float:
    """Seconds of processor time of one run."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, stdout=subprocess.DEVNULL, env=env, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _environment(home) -> dict[str, str]:
    """The environment of an installed tool: its modules are kept compiled, as pip leaves them."""
    env = {**os.environ, "NECKWORK_HOME": str(home), "TERM": "xterm-256color"}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    return env


def _python(code: str) -> list[str]:
    return [sys.executable, "-c", code]


def test_shape_answers_within_half_again_of_its_libraries(tmp_path):
    """`neckwork shape Cmaj7` against importing click and rich.console, the best of several runs of each."""
    env = _environment(tmp_path)
    _cpu(_python("from drills.cli import main; main(['shape', 'Cmaj7'])"), env)  # compiles the modules
    ours, base = [], []
    while not _settled(ours, base):
        base.append(_cpu(_python("import click, rich.console"), env))
        ours.append(_cpu(_python("from drills.cli import main; main(['shape', 'Cmaj7'])"), env))
    ratio = min(ours) / min(base)
    print(
        f"\nshape Cmaj7: {min(ours) * 1000:.0f} ms CPU, click and rich.console {min(base) * 1000:.0f} ms, "
        f"ratio {ratio:.2f}"
    )
    assert ratio <= GOAL


_PLAYERS = "import sys; sys.modules['pandas'] = None; "
"""sqlite_utils imports pandas where it finds it; the test extras bring it, a player has none."""

_DEADLINE_S = 30.0


class _Watched:
    """The tool in a pseudo-terminal; adds up only the time the tool itself takes, not the waiting between keys."""

    def __init__(self, env):
        self.master, slave = pty.openpty()
        self.screen, self.taken = pyte.Screen(80, 24), 0.0  # what is sent is only what differs from before
        self._stream = pyte.ByteStream(self.screen)
        self.started = time.perf_counter()
        code = _PLAYERS + "from drills.cli import main; main(['session'])"
        self.process = subprocess.Popen(_python(code), stdin=slave, stdout=slave, stderr=slave, env=env)
        os.close(slave)

    def shows(self, text: str) -> bool:
        return any(text in line for line in self.screen.display)

    def until(self, *marks: str) -> None:
        """Waits for one of these texts on the screen and adds the time it took."""
        while not any(self.shows(mark) for mark in marks):
            left = self.started + _DEADLINE_S - time.perf_counter()
            if left <= 0 or not select.select([self.master], [], [], left)[0]:
                raise AssertionError(f"none of {marks} within {_DEADLINE_S:.0f} s:\n" + "\n".join(self.screen.display))
            chunk = os.read(self.master, 65536)
            self._stream.feed(chunk)
            if b"\x1b[6n" in chunk:
                os.write(self.master, b"\x1b[1;1R")  # a real terminal answers where its cursor is
        self.taken += time.perf_counter() - self.started

    def press(self, key: bytes) -> None:
        """A key after a player's pause, longer than that for which a key counts as held down."""
        time.sleep(0.35)
        self.started = time.perf_counter()
        os.write(self.master, key)

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        os.close(self.master)


def _first_card(env) -> tuple[float, float]:
    """Seconds the tool takes to its first screen, and to the first card: start, and from each key to its screen."""
    tool = _Watched(env)
    try:
        tool.until("Enter starts")
        screen = tool.taken
        tool.press(b"\r")
        tool.until("Warm up")
        tool.press(b"\r")
        tool.until("played twice", "Play it, then")
        return screen, tool.taken
    finally:
        tool.close()


def test_the_first_prompt_comes_within_half_again_of_its_libraries(tmp_path):
    """A session's first card against importing prompt_toolkit, rich.console, sqlite_utils and dateutil.rrule."""
    env = _environment(tmp_path)
    _first_card(env)  # makes the log, shows the caution and compiles the modules
    cards, base = [], []
    while not _settled([both for _, both in cards], base):
        start = time.perf_counter()
        subprocess.run(
            _python(_PLAYERS + "import prompt_toolkit, rich.console, sqlite_utils, dateutil.rrule"), check=True, env=env
        )
        base.append(time.perf_counter() - start)
        cards.append(_first_card(env))
    screen, card = min(one for one, _ in cards), min(both for _, both in cards)
    print(
        f"\nfirst screen {screen * 1000:.0f} ms, first card {card * 1000:.0f} ms, libraries {min(base) * 1000:.0f} ms, "
        f"ratios {screen / min(base):.2f} and {card / min(base):.2f}"
    )
    assert card / min(base) <= GOAL


def test_the_fourteen_quality_deck_is_made_at_once(tmp_path):
    """504 cards with fingering, from nothing: tables, layouts, fingerings. Reported, beside bare Python."""
    code = (
        "import time; t = time.process_time()\n"
        "from drills.cards.deck import find_deck, read_deck; from drills.cards.material import gather\n"
        "from drills.neck.neck import Neck\n"
        "m = gather(read_deck(find_deck('fourteen', None)), Neck()); n = len(m.cards)\n"
        "[m.answer(c).fingers for c in m.cards.values()]\n"
        "print(n, time.process_time() - t)"
    )
    taken = []
    for _ in range(5):
        count, seconds = subprocess.run(
            _python(code), capture_output=True, text=True, check=True, env=_environment(tmp_path)
        ).stdout.split()
        assert count == "504"
        taken.append(float(seconds))
    print(f"\n504 cards with fingering, cold, imports included: {min(taken) * 1000:.0f} ms CPU")
