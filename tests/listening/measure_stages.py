"""Measures how often a stage over a track is heard right: ``python -m tests.listening.measure_stages --takes 160``.

Four bars each, at 60 to 100 a minute, played right, with one note late, another note, a note too many, or a bar left
out; alone, under noise, or with the track heard 18 or 30 dB below the guitar. Stage 2, by ``--stages 2``, is strummed:
there one string is silent in place of a note too many, and wrong notes and silent strings are counted beside the right
ones. Simulated playing only.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from drills.band.band import band
from drills.changes.changes_reading import parse_changes
from drills.cli.stage_heard import best_line
from drills.listening.bars import propose_ticket
from drills.listening.ears import hear
from drills.listening.evaluate.counted_takes import share
from drills.listening.evaluate.instruments import HIGHEST, LOWEST, RATE, instruments
from drills.listening.evaluate.takes import pink
from drills.listening.heard import Frame, Judged
from drills.microphone.wav_input import WavInput
from drills.neck.neck import Neck
from drills.shapes.finder import ShapeFinder
from drills.sound.mix import blocks
from drills.tunes.stages.stage_due import due_of
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines
from tests.tunes.measure_lines import FOUR_BARS

STAGES = (1, 3, 4, 5, 6, 7, 8)
"""Those of single notes that are measured where nothing is said; 9 and the named ones by `--stages`."""
FAULTS = ("none", "late", "wrong", "extra", "bar left out")
STRUMMED, STRUM_FAULTS = 2, ("none", "late", "wrong", "silent", "bar left out")
DISTURBANCES = ("none", "noise 20 dB", "track 30 dB", "track 18 dB")
FINDER = ShapeFinder(Neck())


@cache
def _line(page, stage, tempo):
    changes = replace(parse_changes(f"key: C\n| {FOUR_BARS[page]} |"), tempo=float(tempo))
    return stage_lines(stage, stage_material(changes, FINDER)).lines[0]


@cache
def _track(page, stage, tempo):
    changes = _line(page, stage, tempo).changes
    score = band(changes, FINDER)
    return score, np.concatenate(list(blocks(score, rate=RATE))).astype(np.float64)


def _played(line, due, fault, rng):
    """Seconds and MIDI numbers as played, and the bar that the fault is in."""
    plan = [[one.from_s + float(np.clip(rng.normal(0, 0.015), -0.04, 0.04)), one.pitches[0]] for one in due]
    place = int(rng.integers(1, len(due) - 1))
    bar = due[place].bar
    beside = {one.pitches[0] for one in due[max(0, place - 2) : place + 3]}
    other = next(
        midi for step in rng.permutation([-2, -1, 1, 2, 3]) if (midi := due[place].pitches[0] + int(step)) not in beside
    )
    if fault == "late":
        plan[place][0] = due[place].until_s + 0.11
    elif fault == "wrong":
        plan[place][1] = other
    elif fault == "extra":
        plan.insert(place, [(plan[place - 1][0] + plan[place][0]) / 2, other])
    elif fault == "bar left out":
        plan = [one for one, each in zip(plan, due, strict=True) if each.bar != bar]
    return plan, bar


def _strummed(due, fault, rng):
    """Seconds and MIDI numbers as struck, None for a silent string, and the place that the fault is in."""
    plan = [[one.from_s + float(np.clip(rng.normal(0, 0.015), -0.04, 0.04)), list(one.pitches)] for one in due]
    place = int(rng.integers(len(due)))
    string = int(rng.integers(len(plan[place][1])))
    if fault == "late":
        plan[place][0] = due[place].until_s + 0.15
    elif fault == "wrong":
        asked = due[place].pitches
        plan[place][1][string] = int(
            rng.choice([asked[string] + step for step in (-2, -1, 1, 2) if asked[string] + step not in asked])
        )
    elif fault == "silent":
        plan[place][1][string] = None
    elif fault == "bar left out":
        plan = [one for one, each in zip(plan, due, strict=True) if each.bar != due[place].bar]
    return plan, place


def _strings(plan, rng):
    """The notes of strums one by one, low ones first, and when each is stopped by the next strum."""
    rows = []
    for number, (at, pitches) in enumerate(plan):
        until = plan[number + 1][0] if number + 1 < len(plan) else at + 1.8
        each_s = rng.uniform(0.004, 0.018)
        rows += [(at + place * each_s, midi, until) for place, midi in enumerate(pitches) if midi is not None]
    return rows


def _sounded(plan, instrument, seconds, rng):
    """Samples of notes given as seconds and MIDI number, each stopped by the next, or when a third number says."""
    sound = np.zeros(round(seconds * RATE))
    for number, (at, midi, *stopped) in enumerate(plan):
        note = instrument.note(min(max(midi, LOWEST), HIGHEST)) * rng.uniform(0.6, 1.0)
        until = stopped[0] - at if stopped else plan[number + 1][0] - at if number + 1 < len(plan) else 1.5
        length = min(len(note), round(min(until, 1.8) * RATE))
        part = note[:length].copy()
        fade = min(length, round(0.03 * RATE))
        part[length - fade :] *= np.linspace(1, 0, fade)
        first = round(at * RATE)
        sound[first : first + length] += part[: len(sound) - first]
    return sound * (0.4 / float(np.abs(sound).max()))


def measure(takes, seed, chosen, stages=STAGES):
    """What was counted, by part of the table."""
    parts = {}
    for number in range(takes):
        rng = np.random.default_rng(seed + number)
        stage = stages[number % len(stages)]
        faults = STRUM_FAULTS if stage == STRUMMED else FAULTS
        fault = faults[int(rng.integers(len(faults)))]
        disturbance = DISTURBANCES[int(rng.integers(len(DISTURBANCES)))]
        page, tempo = int(rng.integers(len(FOUR_BARS))), int(rng.integers(6, 11)) * 10
        instrument = chosen[number % len(chosen)]
        line = _line(page, stage, tempo)
        score, track = _track(page, stage, tempo)
        due = due_of(line, score.count_in_s)
        if len(due) < 3:
            continue
        if stage == STRUMMED:
            strums, place = _strummed(due, fault, rng)
            plan, bar = _strings(strums, rng), due[place].bar
        else:
            plan, bar = _played(line, due, fault, rng)
        sound = _sounded(plan, instrument, score.length_s + 1.5, rng)
        level = float(np.sqrt(np.mean(sound**2)))
        if disturbance.startswith("track"):
            below = 10 ** (-float(disturbance.split()[1]) / 20)
            quiet = track[: len(sound)] * (level * below / float(np.sqrt(np.mean(track**2))))
            sound[: len(quiet)] += quiet
        sound += pink(len(sound), rng) * level * 10 ** (-(20 if disturbance.startswith("noise") else 55) / 20)
        ears = hear([Frame(0.0, sound)], RATE)
        verdict = best_line((line,), score, ears, WavInput(sound, RATE), 0.0).verdict
        found = _counted(verdict, fault, bar, due)
        if stage == STRUMMED:
            found.update(_counted_strums(verdict, fault, strums, place, due))
        for part in ("all", f"stage {stage}", f"played {fault}", f"with {disturbance}", f"on {instrument.name}"):
            parts.setdefault(part, Counter()).update(found)
        held_out = "never tuned on" if not instrument.tuned_on else None
        if held_out:
            parts.setdefault(held_out, Counter()).update(found)
    return parts


def _counted(verdict, fault, bar, due):
    found = Counter(takes=1)
    proposed, _ = propose_ticket(verdict)
    found["claimed"] += proposed is not None
    found["true"] += proposed is not None and proposed == (fault == "none")
    found["in time"] += fault == "none"
    found["proposed in time"] += fault == "none" and proposed is True
    found["not in time"] += fault != "none"
    found["falsely in time"] += fault != "none" and proposed is True
    for each in verdict.bars:
        for note in each.notes:
            found["notes"] += 1
            found["not sure"] += note.judged is Judged.NOT_SURE
            if each.bar != bar or fault in ("none", "late", "extra"):
                found["right"] += 1
                found["right called wrong or missing"] += note.judged in (Judged.WRONG, Judged.MISSING)
    return found


def _counted_strums(verdict, fault, strums, place, due):
    """The notes of strums, whose truth is known string by string: right, another, or silent."""
    found = Counter()
    told = [note for bar in verdict.bars for note in bar.notes]
    if fault == "bar left out":
        return found
    asked = [pitch for one in due for pitch in one.pitches]
    sounds = [midi for _, pitches in strums for midi in pitches]
    for note, pitch, sounded in zip(told, asked, sounds, strict=True):
        assert note.asked == pitch
        kind = "sounding" if sounded == pitch else "silent" if sounded is None else "another"
        found[f"{kind} strings"] += 1
        found[f"{kind} called {note.judged.value}"] += 1
    return found


def main():
    """Prints the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.listening.measure_stages", description=__doc__)
    parser.add_argument("--takes", type=int, default=160)
    parser.add_argument("--seed", type=int, default=80_000)
    parser.add_argument("--soundfont", type=Path, action="append", default=[])
    parser.add_argument("--notes", type=Path, action="append", default=[])
    parser.add_argument("--stages", nargs="+", default=STAGES, type=lambda word: int(word) if word.isdigit() else word)
    given = parser.parse_args()
    chosen = [one for one in instruments(given.soundfont, given.notes) if not one.name.startswith("overdriven")]
    print("Simulated playing only: no hand, room or microphone is in these figures.")
    parts = measure(given.takes, given.seed, chosen, given.stages)
    for name in ("all", *sorted(set(parts) - {"all"})):
        n = parts[name]
        print(f"{name}, {n['takes']} takes")
        print(f"  right called wrong or missing  {share(n['right called wrong or missing'], n['right'])}")
        print(f"  notes not sure                 {share(n['not sure'], n['notes'])}")
        print(f"  true when claimed              {share(n['true'], n['claimed'])}")
        print(f"  in time, proposed              {share(n['proposed in time'], n['in time'])}")
        print(f"  not in time, yet proposed      {share(n['falsely in time'], n['not in time'])}")
        for kind in ("sounding", "another", "silent") if n["sounding strings"] else ():
            for judged in Judged:
                told = share(n[f"{kind} called {judged.value}"], n[f"{kind} strings"])
                print(f"  string {kind:8} called {judged.value:8} {told}")


if __name__ == "__main__":
    main()
