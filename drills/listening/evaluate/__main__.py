"""`python -m drills.listening.evaluate`: how often the ears are right on simulated playing, as one table."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np

from drills.listening.ears import hear
from drills.listening.engine_names import ENGINES
from drills.listening.engines import engine_named
from drills.listening.evaluate.asked_material import MATERIAL, asked_of_material
from drills.listening.evaluate.change_takes import (
    CHANGE_ENDS,
    CHANGE_FAULTS,
    change_take,
    counted_change,
    near_pairs,
)
from drills.listening.evaluate.counted_takes import Counts, counted, share
from drills.listening.evaluate.disturbers import KINDS, disturber
from drills.listening.evaluate.grip_takes import GRIP_FAULTS, counted_grip, grip_take
from drills.listening.evaluate.instruments import LOWEST, RATE, Instrument, instruments
from drills.listening.evaluate.kept_takes import REQUESTS, TakeFolder
from drills.listening.evaluate.side_by_side import side_by_side
from drills.listening.evaluate.takes import DISTURBANCES, FAULTS, FAULTS_OF_ONE, take
from drills.listening.heard import Frame, Target
from drills.listening.proposal import propose
from drills.listening.verdict import judge
from drills.pitch_models.loaded import load_pitch_models

_TAKE_S = 10.0


def _row(name: str, found: Counts) -> None:
    n = found.numbers
    onset = np.array(found.onset_ms or [0.0])
    spread = np.percentile(np.abs(onset - np.median(onset)), 95)
    told = {
        "right heard": share(n["right heard"], n["right"]),
        "right called wrong": share(n["right called wrong"], n["right"]),
        "right called missing": share(n["right called missing"], n["right"]),
        "wrong called right": share(n["wrong called right"], n["wrong"]),
        "left out found": share(n["left out found"], n["left out"]),
        "not sure": share(n["not sure"], n["notes"]),
        "grade true when claimed": share(n["true"], n["claimed"]),
        "no proposal": share(n["takes"] - n["claimed"], n["takes"]),
        "onsets": f"bias {np.median(onset):+.1f} ms, 95 % within {spread:.1f} ms",
        "CPU": f"{found.cpu_s / max(found.sound_s, 1e-9):.3f} of real time",
    }
    print(name)
    for what, figure in told.items():
        print(f"  {what:24} {figure}")


def main(arguments: Sequence[str] | None = None) -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(prog="python -m drills.listening.evaluate", description=__doc__)
    parser.add_argument("--takes", type=int, default=1000, help="simulated performances")
    parser.add_argument("--minutes", type=float, default=20.0, help="minutes of sound in which nobody plays")
    parser.add_argument("--seed", type=int, default=0, help="first seed; 0 to 9999 are those the ears were tuned on")
    parser.add_argument("--grips", type=int, default=0, help="simulated grips, counted apart")
    parser.add_argument("--changes", type=int, default=0, help="simulated changes of grip, counted apart")
    parser.add_argument("--held-out", action="store_true", help="only instruments the ears were never tuned on")
    parser.add_argument(
        "--soundfont", type=Path, action="append", default=[], help="a further soundfont; may be repeated"
    )
    parser.add_argument("--notes", type=Path, action="append", default=[], help="a folder of recorded notes; likewise")
    parser.add_argument("--engines", default="", help=f"hear each take by these, side by side: {','.join(ENGINES)}")
    parser.add_argument("--material", choices=MATERIAL, default=MATERIAL[0], help="what is asked in the takes")
    parser.add_argument("folder", nargs="?", type=Path, help="a folder of kept takes: judge these instead")
    given = parser.parse_args(arguments)
    if given.folder is not None:
        _kept(given.folder)
        return
    asked = asked_of_material(given.material)
    faults = FAULTS if min(map(len, asked)) > 1 else FAULTS_OF_ONE
    chosen = [one for one in instruments(given.soundfont, given.notes) if not (given.held_out and one.tuned_on)]
    print("Simulated playing only: no hand, room or microphone is in these figures.")
    print(f"{given.takes} takes of {len(asked)} shapes, seeds from {given.seed}: {', '.join(o.name for o in chosen)}")
    if given.engines:
        models = cache(load_pitch_models)
        engines = [engine_named(name, LOWEST, models) for name in given.engines.split(",")]
        side_by_side(engines, given.takes, given.minutes, given.seed, asked, chosen)
        return
    whole = Counts()
    clean = Counts()
    parts: dict[str, Counts] = {}
    for number in range(given.takes):
        seed = given.seed + number
        rng = np.random.default_rng(seed + 1_000_000)
        instrument: Instrument = chosen[number % len(chosen)]
        fault = faults[int(rng.integers(len(faults)))]
        disturbance = DISTURBANCES[int(rng.integers(len(DISTURBANCES)))]
        one = take(asked[int(rng.integers(len(asked)))], instrument, fault, disturbance, seed)
        found = counted([one])
        whole.add(found)
        if not instrument.name.startswith("overdriven"):
            clean.add(found)
        for part in (f"on {instrument.name}", f"with {disturbance}", f"played {fault}"):
            parts.setdefault(part, Counts()).add(found)
    _row("all", whole)
    _row("all but overdriven", clean)
    for name in sorted(parts):
        _row(name, parts[name])
    off = np.array(whole.cents_off or [0.0])
    print(f"tuning: median {np.median(np.abs(off)):.1f} cents off, 95 % within {np.percentile(np.abs(off), 95):.1f}")
    print({key: count for key, count in sorted(whole.numbers.items()) if ":" in key or "pluck" in key})
    _grips(given.grips, given.seed, chosen)
    _changes(given.changes, given.seed, chosen)
    _nobody_plays(given.minutes, given.seed, asked)


def _grips_of_deck() -> list[tuple[int, ...]]:
    """Grips at the places of the usual deck, in its order."""
    from drills.cards.deck import find_deck, read_deck
    from drills.cards.material import gather
    from drills.neck.neck import Neck

    material = gather(read_deck(find_deck("first", None)), Neck())
    grips = [grip for card in list(material.cards.values())[::5] if (grip := material.grip(card)) is not None]
    return [tuple(note.midi for note in grip.notes) for grip in grips]


def _changes(count: int, seed: int, chosen: Sequence[Instrument]) -> None:
    """Changes between grips of the usual deck, by fault, end and instrument; overdriven ones are left out."""
    if not count:
        return
    pairs = near_pairs(sorted(set(_grips_of_deck())))
    clear = [one for one in chosen if not one.name.startswith("overdriven")]
    parts: dict[str, Counter[str]] = {}
    for number in range(count):
        place, fault = divmod(number, len(CHANGE_FAULTS))
        place, end = divmod(place, len(CHANGE_ENDS))
        instrument = clear[place % len(clear)]
        first, second = pairs[number * 97 % len(pairs)]
        made = change_take(first, second, instrument, CHANGE_FAULTS[fault], CHANGE_ENDS[end], seed + number)
        found = counted_change(made)
        for part in ("all changes", f"on {instrument.name}", f"played {made.fault}", f"first {CHANGE_ENDS[end]}"):
            parts.setdefault(part, Counter()).update(found)
    for name in ("all changes", *sorted(set(parts) - {"all changes"})):
        _change_row(name, parts[name])


def _change_row(name: str, n: Counter[str]) -> None:
    print(f"{name}, {n['takes']} takes")
    for which in ("first", "second"):
        right, wrong, silent = (f"{which}: {kind}" for kind in ("right", "wrong", "missing"))
        against = n[f"{right} called wrong"] + n[f"{right} called missing"]
        told = {
            "right heard": share(n[f"{right} called right"], n[f"{right} notes"]),
            "right called wrong or missing": share(against, n[f"{right} notes"]),
            "right not sure": share(n[f"{right} called not sure"], n[f"{right} notes"]),
            "wrong called right": share(n[f"{wrong} called right"], n[f"{wrong} notes"]),
            "wrong found": share(n[f"{wrong} called wrong"] + n[f"{wrong} called missing"], n[f"{wrong} notes"]),
            "silent called right": share(n[f"{silent} called right"], n[f"{silent} notes"]),
            "silent found": share(n[f"{silent} called missing"], n[f"{silent} notes"]),
            "not played called right": share(n[f"{which}: unplayed called right"], n[f"{which}: unplayed notes"]),
        }
        for what, figure in told.items():
            print(f"  {which:6} {what:30} {figure}")
    print(f"  grade true when claimed               {share(n['true'], n['claimed'])}")
    print(f"  grade claimed                         {share(n['claimed'], n['takes'])}")
    print(f"  change timed within 30 ms             {share(n['change within 30 ms'], n['change told of one'])}")


def _grips(count: int, seed: int, chosen: Sequence[Instrument]) -> None:
    """Grips at the places of the usual deck, by fault and instrument; overdriven ones are left out."""
    if not count:
        return
    asked = _grips_of_deck()
    clear = [one for one in chosen if not one.name.startswith("overdriven")]
    parts: dict[str, Counter[str]] = {}
    for number in range(count):
        fault, instrument = GRIP_FAULTS[number % len(GRIP_FAULTS)], clear[number // len(GRIP_FAULTS) % len(clear)]
        wanted = asked[number * 7 % len(asked)]
        found = counted_grip(wanted, *grip_take(wanted, instrument, fault, seed + number))
        for part in ("all grips", f"grips on {instrument.name}", f"grips played {fault}"):
            parts.setdefault(part, Counter()).update(found)
    for name in ("all grips", *sorted(set(parts) - {"all grips"})):
        _grip_row(name, parts[name])


def _grip_row(name: str, n: Counter[str]) -> None:
    told = {
        "right heard": share(n["right called right"], n["right notes"]),
        "right called wrong or missing": share(n["right called wrong"] + n["right called missing"], n["right notes"]),
        "right not sure": share(n["right called not sure"], n["right notes"]),
        "wrong called right": share(n["wrong called right"], n["wrong notes"]),
        "wrong found": share(n["wrong called wrong"] + n["wrong called missing"], n["wrong notes"]),
        "silent called right": share(n["missing called right"], n["missing notes"]),
        "silent found": share(n["missing called missing"], n["missing notes"]),
    }
    print(name)
    for what, figure in told.items():
        print(f"  {what:30} {figure}")


def _kept(folder: Path) -> None:
    """The table of takes of real playing, whole and by what was asked to go wrong."""
    takes = TakeFolder(folder).loaded()
    if not takes:
        raise SystemExit(f"{folder}: no kept takes; neckwork listen --keep-takes records them")
    print(f"{len(takes)} takes played by hand, kept in {folder}.")
    _row("all", counted(takes))
    for request in REQUESTS:
        if some := [one for one in takes if one.fault == request]:
            _row(f"played {request}", counted(some))


def _nobody_plays(minutes: float, seed: int, asked: Sequence[tuple[int, ...]]) -> None:
    each = int(minutes * 60 / _TAKE_S / len(KINDS))
    for kind in KINDS:
        proposals, made = 0, 0
        for number in range(each):
            sound = disturber(kind, _TAKE_S, seed + number)
            if sound is None:
                break
            made += 1
            ears = hear([Frame(0.0, sound)], RATE)
            proposals += propose(judge(ears, Target(asked[number % len(asked)]))).grade is not None
        print(f"{kind}: {proposals} proposals in {made} takes, {made * _TAKE_S / 60:.0f} minutes")


if __name__ == "__main__":
    main()
