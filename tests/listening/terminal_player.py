"""A simulated player plays a hands-free session in a real terminal, and what the tool made of it is counted.

    python -m tests.listening.terminal_player --minutes 10

starts the tool in tmux with a pipe in place of the microphone, into which plucked strings and a little noise go at
their own pace. The player reads what is asked from a list that the started tool writes beside its screen, plays it
right or with a known fault, waits, and presses a key only where the tool asks for one. Printed are the grades against
the truth, the time from the last pluck to the verdict, and what the tool took of the processor and of memory.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from functools import lru_cache
from pathlib import Path

import numpy as np

from drills.listening.engine_names import ENGINES
from drills.sound.pluck import GUITAR, pluck
from tests.listening.plucked import hz_of

__all__ = ["PipedDevice", "main"]

RATE, BLOCK = 22_050, 220
FAULTS = (("none", 0.68), ("wrong", 0.12), ("missing", 0.08), ("extra", 0.06), ("mended", 0.06))
TRUE = {"none": 3, "wrong": 1, "missing": 1, "extra": 2, "mended": 2}
SOCKET = f"terminal-player-{os.getpid()}"
"""Of its own for each run: one that ends takes its server along."""
STARTS_S = 90.0


class PipedDevice:
    """A sound library whose microphone is a pipe of 16-bit samples."""

    class PortAudioError(Exception):
        """What the library raises."""

    def __init__(self, path):
        self._path = path
        self._closed = False

    def query_devices(self, kind):
        """The usual microphone."""
        return {"default_samplerate": float(RATE)}

    def InputStream(self, *, callback, **_given):
        """An open microphone."""
        self._callback = callback
        return self

    def start(self):
        """Reads the pipe on a thread, as a device calls back on one."""
        threading.Thread(target=self._read, daemon=True).start()

    def close(self):
        """The device is given back."""
        self._closed = True

    def _read(self):
        with open(self._path, "rb", buffering=0) as pipe:
            rest = b""
            while not self._closed and (more := pipe.read(2 * BLOCK)):
                rest += more
                while len(rest) >= 2 * BLOCK:
                    samples = np.frombuffer(rest[: 2 * BLOCK], "<i2").astype(np.float32) / 32768
                    rest = rest[2 * BLOCK :]
                    self._callback(samples[:, None], BLOCK, None, 0)


def started_tool(pipe, told, engine, arguments):
    """The tool itself, its microphone a pipe, and each new moment of its session told in a file."""
    import drills.cli.opened_ears as opened
    from drills.cli import main as neckwork
    from drills.session.drill import Drill

    device = PipedDevice(pipe)
    opened.load_sounddevice = lambda: device
    best = opened.chosen_engine
    opened.chosen_engine = lambda name, lowest: best(engine or name, lowest)
    out = open(told, "a", buffering=1)  # noqa: SIM115 - open as long as the tool runs
    before = [None]

    def tell(drill):
        state = drill.state
        asked = state.question.shapes[0] if state.question is not None and len(state.question.shapes) == 1 else None
        heard = None if state.heard is None else state.heard.grade and int(state.heard.grade)
        now = (state.phase.value, state.card and state.card.id, state.heard is not None, len(state.given), state.note)
        if now != before[0]:
            before[0] = now
            row = {
                "at": time.monotonic(), "phase": state.phase.value, "heard": state.heard is not None, "grade": heard,
                "asked": [note.midi for note in asked.notes] if asked is not None else [], "note": state.note,
                "given": [int(given.grade) for given in state.given], "line": state.heard and state.heard.line,
            }  # fmt: skip
            out.write(json.dumps(row) + "\n")

    for name in ("press", "tick"):

        def told_after(self, *given, _do=getattr(Drill, name), **more):
            done = _do(self, *given, **more)
            tell(self)
            return done

        setattr(Drill, name, told_after)
    return neckwork(["session", "--hands-free", *arguments])


class Player:
    """Plays notes into a pipe at their own pace, over a little noise."""

    def __init__(self, pipe, seed):
        self._pipe, self._rng = pipe, random.Random(seed)
        self._noise = np.random.default_rng(seed).normal(0, 0.0008, 50 * BLOCK)
        self._lock = threading.Lock()
        self._coming = np.zeros(0)
        self.last_pluck_s = 0.0
        threading.Thread(target=self._write, daemon=True).start()

    def _write(self):
        with open(self._pipe, "wb", buffering=0) as out:
            started, number = time.monotonic(), 0
            while True:
                with self._lock:
                    block, self._coming = self._coming[:BLOCK], self._coming[BLOCK:]
                sound = np.zeros(BLOCK)
                sound[: len(block)] = block
                first = number % 50 * BLOCK
                sound += self._noise[first : first + BLOCK]
                try:
                    out.write((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
                except BrokenPipeError:
                    return
                number += 1
                left = started + number * BLOCK / RATE - time.monotonic()
                if left > 0:
                    time.sleep(left)

    @property
    def busy(self):
        """Whether notes are still to come."""
        with self._lock:
            return len(self._coming) > 0 or time.monotonic() < self.last_pluck_s

    def play(self, pitches, fault):
        """Plays a pass; returns nothing before its last pluck has gone out."""
        rng = self._rng
        beat, place = rng.uniform(0.45, 0.65), rng.randrange(1, len(pitches) - 1)
        plan = [(number * beat, midi) for number, midi in enumerate(pitches)]
        other = next(midi for midi in (pitches[place] + 1, pitches[place] - 1) if midi not in pitches)
        if fault == "wrong":
            plan[place] = (plan[place][0], other)
        elif fault == "missing":
            plan = plan[:place] + [(at - beat, midi) for at, midi in plan[place + 1 :]]
        elif fault == "extra":
            plan.insert(place, (plan[place][0] - beat / 2, other))
        elif fault == "mended":
            plan = [*plan[:place], (plan[place][0], other), *((at + beat * 0.8, midi) for at, midi in plan[place:])]
        plan = [(at + rng.uniform(-0.015, 0.015) + 0.02, midi) for at, midi in plan]
        sound = np.zeros(round((plan[-1][0] + 1.2) * RATE))
        for number, (at, midi) in enumerate(plan):
            until = plan[number + 1][0] - at if number + 1 < len(plan) else 1.2
            tone = _tone(midi)[: round((until + 0.3) * RATE)] * rng.uniform(0.5, 0.9)
            first = round(at * RATE)
            room = len(sound) - first
            sound[first : first + len(tone)] += tone[:room]
        with self._lock:
            self._coming = sound
            self.last_pluck_s = time.monotonic() + plan[-1][0]


@lru_cache(maxsize=64)
def _tone(midi):
    tone = pluck(hz_of(midi), 1.5, RATE, 0.4, GUITAR)
    return np.asarray(tone, dtype=np.float64)


def _tmux(*arguments):
    return subprocess.run(["tmux", "-L", SOCKET, *arguments], capture_output=True, text=True, check=False).stdout


def _of_process(pid):
    """Processor seconds and resident kilobytes."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    ticks = os.sysconf("SC_CLK_TCK")
    resident = next(line for line in Path(f"/proc/{pid}/status").read_text().splitlines() if line.startswith("VmRSS"))
    return (int(fields[11]) + int(fields[12])) / ticks, int(resident.split()[1])


def play_session(minutes, seed, engine, shown_at=None):
    """Plays one session and prints what came of it. shown_at: a file for one screen with a proposal on it."""
    home = Path(tempfile.mkdtemp(prefix="terminal-player-"))
    pipe, told = home / "pipe", home / "told"
    os.mkfifo(pipe)
    told.touch()
    tool = f"{sys.executable} -m tests.listening.terminal_player --tool {pipe} {told} --minutes {minutes:g}"
    tool += f" --engine {engine}" if engine else ""
    environ = f"NECKWORK_HOME={home / 'home'} TERM=tmux-256color"
    _tmux("new-session", "-d", "-s", "play", "-x", "100", "-y", "40", f"{environ} {tool}; sleep 20")
    player, rng = Player(pipe, seed), random.Random(seed)
    state, rows, latencies, asks, played = {}, [], [], 0, None
    moments = told.open()
    began, pid, cpu, memory = time.monotonic(), None, (0.0, 0), []
    pressed_at = 0.0
    while time.monotonic() - began < minutes * 60 + 120:
        time.sleep(0.02)
        while line := moments.readline():
            while not line.endswith("\n"):
                line += moments.readline()
            last, state = state, json.loads(line)
            if last.get("phase") == "prompt" and state["phase"] == "answer" and played is not None:
                latencies.append(state["at"] - player.last_pluck_s)
                rows.append([played, state["grade"], None, state["line"]])
            if len(state["given"]) > len(last.get("given", [])) and rows:
                rows[-1][2] = state["given"][-1]
            if state["phase"] == "prompt" and last.get("phase") != "prompt":
                played = None
        if not state and time.monotonic() - began > STARTS_S:
            break
        if pid is None and state:
            found = _tmux("list-panes", "-t", "play", "-F", "#{pane_pid}").split()
            children = subprocess.run(["pgrep", "-P", found[0]], capture_output=True, text=True, check=False).stdout
            pid = int((children.split() or found)[0])
            cpu = _of_process(pid)
        now, phase = time.monotonic(), state.get("phase", "start")
        if phase in ("end", "done"):
            break
        if player.busy or now - pressed_at < 1.0:
            continue
        if phase in ("start", "warm-up") and now - began > 3:
            _tmux("send-keys", "-t", "play", "Enter")
            pressed_at = now
        elif phase == "prompt" and played is None and now - state["at"] > 1.2 and len(state["asked"]) > 2:
            played = rng.choices([name for name, _ in FAULTS], [share for _, share in FAULTS])[0]
            player.play(state["asked"], played)
        elif phase in ("lesson", "repeat") and now - state["at"] > 1.0 and now - player.last_pluck_s > 2.0:
            player.play(state["asked"], "none")
        elif phase == "answer" and state["grade"] is None and now - state["at"] > 1.5:
            asks += 1
            _tmux("send-keys", "-t", "play", {1: "l", 2: "f", 3: "c"}[TRUE[played or "none"]])
            pressed_at = now
        elif phase == "answer" and shown_at and state["grade"] == 1:
            Path(shown_at).write_text(_tmux("capture-pane", "-p", "-t", "play"))
            shown_at = None
        if pid is not None and len(memory) < (now - began) // 30:
            memory.append(_of_process(pid)[1])
    if pid is None or not Path(f"/proc/{pid}").exists():
        shown = _tmux("capture-pane", "-p", "-t", "play")
        _tmux("kill-server")
        raise SystemExit(f"the tool is not there; its terminal shows:\n{shown}")
    used, took = _of_process(pid)[0] - cpu[0], time.monotonic() - began
    _tmux("send-keys", "-t", "play", "q", "q")
    time.sleep(1)
    _tmux("kill-server")
    shutil.rmtree(home)
    _report(rows, latencies, asks, used, took, memory)


def _report(rows, latencies, asks, used, took, memory):
    proposed = [(fault, grade) for fault, grade, _, _ in rows if grade is not None]
    true = sum(TRUE[fault] == grade for fault, grade in proposed)
    print(f"{len(rows)} prompts in {took / 60:.1f} minutes; {len(proposed)} proposals, {true} of them true; "
          f"{asks} keys were asked for")  # fmt: skip
    print("not true:", [row for row in rows if row[1] is not None and TRUE[row[0]] != row[1]])
    print("played, proposed:", dict(Counter(f"{fault}: {grade}" for fault, grade, _, _ in rows)))
    complete = sorted(s for s, row in zip(latencies, rows, strict=True) if row[0] in ("none", "extra", "mended"))
    if complete:
        middle, last = complete[len(complete) // 2], complete[int(0.95 * (len(complete) - 1))]
        times = f"median {middle:.2f} s, 95 % {last:.2f} s, longest {complete[-1]:.2f} s"
        print(f"last pluck to verdict, {len(complete)} passes that end right: {times}")
    print(f"processor: {used:.1f} s in {took:.0f} s, {used / took:.3f} of one core; "
          f"memory: {memory[:1]} kB after the first half minute, {memory[-1:]} kB at the end")  # fmt: skip
    print("memory in kB, every five minutes:", memory[9::10])


def main(arguments=None):
    """Plays a session, or is the tool that is played."""
    parser = argparse.ArgumentParser(prog="python -m tests.listening.terminal_player", description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--engine", choices=ENGINES, help="the best that is installed when left out")
    parser.add_argument("--screen", help="a file for one screen with a proposal")
    parser.add_argument("--tool", nargs=2, metavar=("PIPE", "TOLD"), help=argparse.SUPPRESS)
    given = parser.parse_args(arguments)
    if given.tool:
        return started_tool(*given.tool, given.engine, ["--minutes", f"{given.minutes:g}", "--quiet"])
    play_session(given.minutes, given.seed, given.engine, given.screen)
    return 0


if __name__ == "__main__":
    sys.exit(main())
