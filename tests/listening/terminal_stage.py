"""A simulated player plays stages over their track in a real terminal; what the tool says is held against the truth.

    python -m tests.listening.terminal_stage --takes 10

measures the device by `neckwork tuner --clicks` first, then starts `neckwork stages ... --play --listen` in tmux for
each take, with a simulated speaker and microphone at their own pace, presses b, and reads the screen. Strings plucked
by rule; every start of the device has a round trip of its own within a few milliseconds.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from drills.band.band import band
from drills.changes.changes_reading import parse_changes
from drills.neck.neck import Neck
from drills.shapes.finder import ShapeFinder
from drills.tunes.stages.stage_due import due_of
from drills.tunes.stages.stage_material import comfortable_start, stage_material
from drills.tunes.stages.stage_table import stage_lines
from tests.listening.simulated_room import SimulatedRoom

SOCKET = f"terminal-stage-{os.getpid()}"
CHANGES = ("| F7 | Bb7 | F7 | C7 |", "| Dm7 | G7 | Cmaj7 | A7 |", "| Am7b5 | D7 | Gm7 | Eb7 |")
STAGES = (1, 3, 4, 5)
FAULTS = ("none", "late", "wrong", "left out")
TRIP_S, WAVER_S = 0.137, 0.003
MOST_S = 90.0
KEPT = ("Kept for", "nothing was kept", "did not come back")
SAID = ("I think", "not in time", "Your word?")


def planned(changes, stage, fault, rng):
    """What the tool is asked, and what the player does: seconds after the track's beginning and MIDI numbers."""
    page = replace(parse_changes(changes), tempo=100.0)
    finder = ShapeFinder(Neck())
    start = comfortable_start(page, finder.neck, None)  # as the command begins where nothing is said
    line = stage_lines(stage, stage_material(page, finder, start=start)).lines[0]
    due = due_of(line, band(line.changes, finder).count_in_s)
    plan = [[one.from_s + rng.gauss(0, 0.012), one.pitches[0]] for one in due]
    place = rng.randrange(len(plan) // 2, len(plan) - 1)
    if fault == "late":
        plan[place][0] = due[place].until_s + 0.12
    elif fault == "wrong":
        beside = {one.pitches[0] for one in due}
        plan[place][1] = next(midi for midi in (plan[place][1] + step for step in (1, -1, 2, -2)) if midi not in beside)
    elif fault == "left out":
        plan = [one for one, each in zip(plan, due, strict=True) if each.bar != due[place].bar]
    return plan


def started_tool(room_file, arguments):
    """The tool itself, over a simulated room."""
    given = json.loads(Path(room_file).read_text())
    sys.modules["sounddevice"] = SimulatedRoom(speed=1, **given)
    from drills.cli import main as neckwork

    return neckwork(arguments)


def _tmux(*arguments):
    return subprocess.run(["tmux", "-L", SOCKET, *arguments], capture_output=True, text=True, check=False).stdout


def screen_after(home, room, arguments, key, words, wait_for="h keys"):
    """What the terminal shows once one of the words stands on it after a key was pressed."""
    file = home / "room.json"
    file.write_text(json.dumps(room))
    tool = [sys.executable, "-m", "tests.listening.terminal_stage", "--tool", str(file), *arguments]
    quoted = " ".join(f"'{one}'" for one in tool)
    environ = f"NECKWORK_HOME={home / 'home'} TERM=tmux-256color"
    _tmux("new-session", "-d", "-s", "play", "-x", "110", "-y", "50", f"{environ} {quoted}; sleep 60")
    began, pressed, shown = time.monotonic(), not key, ""
    while time.monotonic() - began < MOST_S:
        time.sleep(0.2)
        shown = _tmux("capture-pane", "-p", "-t", "play")
        if not pressed and wait_for in shown:
            _tmux("send-keys", "-t", "play", key)
            pressed, before = True, shown
        elif pressed and any(word in shown.replace(before if key else "", "") for word in words):
            break
    if key:
        _tmux("send-keys", "-t", "play", "q")
    _tmux("kill-server")
    return shown


def play_takes(takes, seed, timed):
    """Plays them and prints what was said, and how much of it was true."""
    home, rng = Path(tempfile.mkdtemp(prefix="terminal-stage-")), random.Random(seed)
    trips = [TRIP_S + rng.uniform(-WAVER_S, WAVER_S) for _ in range(4)]
    if timed:
        measured = screen_after(home, {"trips_s": trips, "bleed": 0.2}, ["tuner", "--clicks"], "", KEPT)
        print("\n".join(line for line in measured.splitlines() if line.strip()))
    counts = {}
    for number in range(takes):
        changes, stage, fault = CHANGES[number % 3], STAGES[number % 4], FAULTS[rng.randrange(4)]
        plan = planned(changes, stage, fault, rng)
        room = {"trips_s": [TRIP_S + rng.uniform(-WAVER_S, WAVER_S)], "plan": plan}
        arguments = ["stages", changes, "--stage", str(stage), "--tempo", "100", "--play", "--listen"]
        shown = screen_after(home, room, arguments, "b", SAID)
        lines = [line for line in shown.splitlines() if line.strip()]
        told = " ".join(lines[next((n for n, line in enumerate(lines) if "I listen" in line), 0) + 1 :])
        kind = "in time" if "In time, I think" in told else "notes right" if "notes were right, I think" in told else (
            "late" if "not in time" in told else "not through" if "Not through" in told else "no proposal"
        )  # fmt: skip
        counts[fault, kind] = counts.get((fault, kind), 0) + 1
        print(f"stage {stage}, {changes}, played {fault}: {told[:160]}", flush=True)
    for (fault, kind), count in sorted(counts.items()):
        print(f"{fault:9} said {kind:12} {count}")


def main():
    """Plays takes, or is the tool that is played."""
    if sys.argv[1:2] == ["--tool"]:
        return started_tool(sys.argv[2], sys.argv[3:])
    parser = argparse.ArgumentParser(prog="python -m tests.listening.terminal_stage", description=__doc__)
    parser.add_argument("--takes", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--unmeasured", action="store_true", help="leave the device unmeasured: notes only")
    given = parser.parse_args()
    play_takes(given.takes, given.seed, not given.unmeasured)
    return 0


if __name__ == "__main__":
    sys.exit(main())
