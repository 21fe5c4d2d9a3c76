"""How long a start takes, beside the libraries it stands on; figures are printed, only ratios of one run are asserted.

Run with ``-s`` to read the figures; DEVELOPERS.md keeps the last ones.
"""

from __future__ import annotations

import os
import pty
import resource
import select
import subprocess
import sys
import time

ROUNDS = 15


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
    for _ in range(ROUNDS):
        base.append(_cpu(_python("import click, rich.console"), env))
        ours.append(_cpu(_python("from drills.cli import main; main(['shape', 'Cmaj7'])"), env))
    ratio = min(ours) / min(base)
    print(
        f"\nshape Cmaj7: {min(ours) * 1000:.0f} ms CPU, click and rich.console {min(base) * 1000:.0f} ms, ratio {ratio:.2f}"
    )
    assert ratio <= 1.5


def _first_prompt(env) -> float:
    """Wall seconds from starting a session in a pseudo-terminal until its first screen is drawn."""
    master, slave = pty.openpty()
    start = time.perf_counter()
    process = subprocess.Popen(
        _python("from drills.cli import main; main(['session'])"), stdin=slave, stdout=slave, stderr=slave, env=env
    )
    os.close(slave)
    seen = b""
    while b"Enter" not in seen:
        if select.select([master], [], [], 20)[0]:
            chunk = os.read(master, 65536)
            seen += chunk
            if b"\x1b[6n" in chunk:
                os.write(master, b"\x1b[1;1R")  # a real terminal answers where its cursor is
    taken = time.perf_counter() - start
    process.kill()
    process.wait()
    os.close(master)
    return taken


def test_the_first_prompt_comes_within_half_again_of_its_libraries(tmp_path):
    """A session's first screen against importing prompt_toolkit, rich.console, sqlite_utils and dateutil.rrule."""
    env = _environment(tmp_path)
    _first_prompt(env)  # makes the log and compiles the modules
    ours, base = [], []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        subprocess.run(
            _python("import prompt_toolkit, rich.console, sqlite_utils, dateutil.rrule"), check=True, env=env
        )
        base.append(time.perf_counter() - start)
        ours.append(_first_prompt(env))
    ratio = min(ours) / min(base)
    print(f"\nfirst screen: {min(ours) * 1000:.0f} ms, its libraries {min(base) * 1000:.0f} ms, ratio {ratio:.2f}")
    assert ratio <= 1.5


def test_the_fourteen_quality_deck_is_made_at_once(tmp_path):
    """504 cards with fingering, from nothing: tables read, layouts and fingerings searched. Reported, beside bare Python."""
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
