"""Engines side by side: the same takes heard by each, one column an engine, and the measures of a reference beside."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.ears import hear
from drills.listening.evaluate.counted_takes import Counts, counted, share
from drills.listening.evaluate.disturbers import KINDS, disturber
from drills.listening.evaluate.instruments import RATE, Instrument
from drills.listening.evaluate.takes import DISTURBANCES, FAULTS, Take, take
from drills.listening.heard import Frame, Target
from drills.listening.heard_notes import CERTAIN
from drills.listening.proposal import propose
from drills.listening.verdict import judge

if TYPE_CHECKING:
    from drills.listening.engine import Engine
    from drills.listening.heard import Heard

__all__ = ["drawn_take", "side_by_side", "transcribed"]

_TAKE_S = 10.0
_ONSET_S, _PITCH_CENTS = 0.05, 50.0
_ROWS: dict[str, tuple[str, str]] = {
    "right notes heard": ("right heard", "right"),
    "right notes called wrong": ("right called wrong", "right"),
    "right notes called missing": ("right called missing", "right"),
    "wrong notes called right": ("wrong called right", "wrong"),
    "notes left out, found": ("left out found", "left out"),
    "notes not sure": ("not sure", "notes"),
    "grade true when claimed": ("true", "claimed"),
    "grade claimed": ("claimed", "takes"),
}


def drawn_take(number: int, seed: int, asked: Sequence[tuple[int, ...]], chosen: Sequence[Instrument]) -> Take:
    """The take of that number: instruments in turn; shape, fault and disturbance by chance from `seed` on."""
    rng = np.random.default_rng(seed + number + 1_000_000)
    fault, disturbance = FAULTS[int(rng.integers(len(FAULTS)))], DISTURBANCES[int(rng.integers(len(DISTURBANCES)))]
    shape = asked[int(rng.integers(len(asked)))]
    return take(shape, chosen[number % len(chosen)], fault, disturbance, seed + number)


def transcribed(one: Take, notes: Sequence[Heard]) -> tuple[float, float]:
    """Precision and recall of the notes heard in a take by mir_eval's transcription measures.

    Onsets within 50 ms and pitches within 50 cents of the guitar's own tuning, ends left aside (Raffel et al. 2014).
    Notes too unsure to be held against a player are left out. Raises ImportError where mir_eval is not installed.
    """
    from mir_eval.transcription import precision_recall_f1_overlap

    heard = [note for note in notes if note.sure >= CERTAIN]
    if not heard:
        return 0.0, 0.0
    truth_at = np.array([[at, at + 0.2] for at, _ in one.played])
    found_at = np.array([[note.at_s, note.at_s + 0.2] for note in heard])
    truth = np.array([midi + (one.cents or 0.0) / 100 for _, midi in one.played])
    found = np.array([note.pitch for note in heard], dtype=np.float64)
    precision, recall, _, _ = precision_recall_f1_overlap(
        truth_at, _hz(truth), found_at, _hz(found), onset_tolerance=_ONSET_S, pitch_tolerance=_PITCH_CENTS,
        offset_ratio=None,
    )  # fmt: skip
    return float(precision), float(recall)


def _hz(midi: np.ndarray) -> np.ndarray:
    made: np.ndarray = 440.0 * 2.0 ** ((midi - 69) / 12)
    return made


def side_by_side(
    engines: Sequence[Engine], takes: int, minutes: float, seed: int, asked: Sequence[tuple[int, ...]],
    chosen: Sequence[Instrument], say: Callable[[str], None] = print,
) -> None:  # fmt: skip
    """Says a table in Markdown: all takes but overdriven ones, those of each condition, and sound nobody plays.

    takes: how many performances. minutes: of each kind of sound in which nobody plays. seed: the first one. asked:
    shapes as MIDI numbers. chosen: instruments, taken in turn.
    """
    clear = [one for one in chosen if not one.name.startswith("overdriven")]
    whole = {engine.name: Counts() for engine in engines}
    parts: dict[str, dict[str, Counts]] = {}
    measured: dict[str, list[tuple[float, float]]] = {engine.name: [] for engine in engines}
    for number in range(takes):
        one = drawn_take(number, seed, asked, clear)
        for engine in engines:
            found = counted([one], engine)
            whole[engine.name].add(found)
            for part in (one.disturbance, f"played {one.fault}", f"on {one.instrument.name}"):
                parts.setdefault(part, {}).setdefault(engine.name, Counts()).add(found)
            measured[engine.name].append(transcribed(one, found.heard[-1]))
    _head(engines, "", say)
    for row, (hits, tries) in _ROWS.items():
        _line(row, {name: share(n.numbers[hits], n.numbers[tries]) for name, n in whole.items()}, say)
    cpu = {name: f"{found.cpu_s / max(found.sound_s, 1e-9):.3f}" for name, found in whole.items()}
    _line("CPU, share of real time", cpu, say)
    _line("onsets, 95 % after bias, ms", {name: f"{_spread(found.onset_ms):.1f}" for name, found in whole.items()}, say)
    off = {name: np.abs(found.cents_off or [0.0]) for name, found in whole.items()}
    _line("tuning, median and 95 %, cents", {
        name: f"{np.median(one):.1f}, {np.percentile(one, 95):.1f}" for name, one in off.items()
    }, say)  # fmt: skip
    for place, what in enumerate(("precision", "recall")):
        _line(f"mir_eval, mean {what}", {
            name: f"{np.mean([one[place] for one in found]):.4f}" for name, found in measured.items() if found
        }, say)  # fmt: skip
    say("")
    _head(engines, "wrong or missing, of right notes; false grades, of claimed", say)
    for part, found_of in sorted(parts.items()):
        _line(part, {name: _faults(found) for name, found in found_of.items()}, say)
    say("")
    _head(engines, "proposals while nobody plays", say)
    for kind in KINDS:
        _line(kind, _proposals(kind, engines, minutes, seed, asked), say)


def _spread(onset_ms: Sequence[float]) -> float:
    return float(np.percentile(np.abs(np.array(onset_ms) - np.median(onset_ms)), 95)) if onset_ms else 0.0


def _faults(found: Counts) -> str:
    n = found.numbers
    against, false = n["right called wrong"] + n["right called missing"], n["claimed"] - n["true"]
    return f"{against} of {n['right']}; {false} of {n['claimed']}"


def _proposals(
    kind: str, engines: Sequence[Engine], minutes: float, seed: int, asked: Sequence[tuple[int, ...]]
) -> dict[str, str]:
    counts, made = {engine.name: 0 for engine in engines}, 0
    for number in range(int(minutes * 60 / _TAKE_S)):
        sound = disturber(kind, _TAKE_S, seed + number)
        if sound is None:
            break
        made += 1
        for engine in engines:
            verdict = judge(hear([Frame(0.0, sound)], RATE, engine), Target(asked[number % len(asked)]))
            counts[engine.name] += propose(verdict).grade is not None
    return {name: f"{count} in {made * _TAKE_S / 60:.0f} min" for name, count in counts.items()}


def _head(engines: Sequence[Engine], title: str, say: Callable[[str], None]) -> None:
    say(f"| {title} | " + " | ".join(engine.name for engine in engines) + " |")
    say("|---" * (len(engines) + 1) + "|")


def _line(row: str, cells: Mapping[str, str], say: Callable[[str], None]) -> None:
    say(f"| {row} | " + " | ".join(cells.values()) + " |")
