"""How long a chorus of eighth notes takes to find, and that it grows no faster than the chorus."""

from __future__ import annotations

import time

from drills.changes.changes import Changes
from drills.changes.changes_reading import parse_changes, read_changes
from drills.configuration.shipped import decks_folder
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.neck.neck import Neck


def spent_s(changes: Changes, difficulty: int) -> float:
    """Processor seconds for one line over the whole neck, the better of two."""
    taken = []
    for seed in range(2):
        start = time.process_time()
        etude_line(changes, Neck(), EtudeOptions(difficulty=difficulty, seed=seed))
        taken.append(time.process_time() - start)
    return min(taken)


def test_a_chorus_of_thirty_two_bars(capsys):
    """Thirty-two bars of eighths over the whole neck take about four times what eight bars take."""
    chorus = read_changes(decks_folder() / "thirty-two-bars-in-eb.changes")
    eight = parse_changes("| Ebmaj7 | Abmaj7 | Gm7 | C7 | Fm7 | Db7 | Ebmaj7 C7 | Fm7 Bb7 |")
    spent_s(eight, 2)
    for difficulty in (2, 3):
        short, long = spent_s(eight, difficulty), spent_s(chorus, difficulty)
        with capsys.disabled():
            print(f"\n32-bar etude line, difficulty {difficulty}: {long:.2f} s (8 bars: {short:.2f} s)")
        assert long < 8 * short
