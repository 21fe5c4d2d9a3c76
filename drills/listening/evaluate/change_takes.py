"""Two grips in a row whose truth is known: struck one after the other, right or with a fault, stopped or ringing on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.any_take import change_s
from drills.listening.change_ears import ChangeEars, change_verdict
from drills.listening.evaluate.grip_takes import in_a_room, with_fault
from drills.listening.evaluate.instruments import RATE, Instrument
from drills.listening.evaluate.takes import stopped
from drills.listening.heard import Frame, Target
from drills.listening.proposal import propose

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["CHANGE_ENDS", "CHANGE_FAULTS", "ChangeTake", "change_take", "counted_change", "near_pairs"]

CHANGE_FAULTS = (
    "none",
    "wrong in the first",
    "wrong in the second",
    "silent in the second",
    "struck again",
    "no second",
)
"""Right; a note a semitone or a tone off in one of them; a string of the second silent; the first struck twice before
the second; the first struck twice and no second."""

CHANGE_ENDS = ("stopped", "joined", "ringing")
"""How the first ends: its strings stopped shortly before the second; each at the moment its successor is struck; or
left to ring under the second, all but what is struck again."""

_LEAD_S, _TAIL_S = 0.6, 1.6
_FURTHEST = 5
"""Semitones by which two neighbouring grips lie apart on the average, at most."""


@dataclass(frozen=True, slots=True, eq=False)
class ChangeTake:
    """asked, sounds: for each grip the MIDI numbers asked for and what sounded, None for a silent string.

    second_s: when the second was struck, None where it was not.
    """

    samples: Samples
    asked: tuple[tuple[int, ...], tuple[int, ...]]
    sounds: tuple[tuple[int | None, ...], tuple[int | None, ...]]
    fault: str
    second_s: float | None


def near_pairs(grips: Sequence[tuple[int, ...]]) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """All pairs of different grips with as many notes that lie near one another."""
    return [
        (one, other)
        for one in grips for other in grips
        if len(one) == len(other) and set(one) != set(other) and abs(float(np.mean(one) - np.mean(other))) <= _FURTHEST
    ]  # fmt: skip


def change_take(
    first: tuple[int, ...], second: tuple[int, ...], instrument: Instrument, fault: str, end: str, seed: int
) -> ChangeTake:
    """A take by chance. fault: of CHANGE_FAULTS. end: of CHANGE_ENDS."""
    rng = np.random.default_rng(seed)
    kind = "missing" if fault.startswith("silent") else fault.partition(" in the ")[0]
    one = with_fault(first, kind if fault.endswith("in the first") else "none", rng)
    two = with_fault(second, kind if fault.endswith("in the second") else "none", rng)
    gaps = [float(rng.uniform(0.55, 1.8)) for _ in range(2)]
    strokes = [(_LEAD_S, one)]
    if fault in ("struck again", "no second"):
        strokes.append((_LEAD_S + gaps[0], one))
    if fault != "no second":
        strokes.append((strokes[-1][0] + gaps[1], two))
    cents, each_s = float(rng.uniform(-30, 30)), float(rng.uniform(0.004, 0.022))
    sound = np.zeros(round((strokes[-1][0] + _TAIL_S) * RATE))
    stopped_s = float(rng.uniform(0.02, 0.12))
    for number, (at, played) in enumerate(strokes):
        following = strokes[number + 1] if number + 1 < len(strokes) else None
        for place, midi in enumerate(played):
            if midi is None:
                continue
            note = instrument.struck(midi, cents, rng)
            begin = at + place * each_s
            if following is not None and (end != "ringing" or midi in following[1]):
                until = following[0] + place * each_s - (stopped_s if end == "stopped" else 0.0)
                note = stopped(note, until - begin)
            begin_at = round(begin * RATE)
            sound[begin_at : begin_at + len(note)] += note[: len(sound) - begin_at]
    if rng.random() < 0.5:
        # The hand on its way: a scrape over the strings before the last stroke.
        length, at = round(0.03 * RATE), round((strokes[-1][0] - rng.uniform(0.05, 0.3)) * RATE)
        sound[at : at + length] += np.abs(sound).max() * 0.03 * rng.normal(0, 1, length)
    second_s = None if fault == "no second" else strokes[-1][0]
    return ChangeTake(in_a_room(sound, rng), (first, second), (one, two), fault, second_s)


def counted_change(take: ChangeTake) -> Counter[str]:
    """Judges a take and holds it against the truth."""
    target = Target(take.asked[0] + take.asked[1], onward_at=len(take.asked[0]))
    verdict = change_verdict(ChangeEars.start(RATE).take(Frame(0.0, take.samples)), target)
    found: Counter[str] = Counter(takes=1)
    sounds = [("first", one) for one in take.sounds[0]] + [("second", one) for one in take.sounds[1]]
    for note, (which, sounded) in zip(verdict.notes, sounds, strict=True):
        truth = "missing" if sounded is None else "right" if sounded == note.asked else "wrong"
        if which == "second" and take.second_s is None:
            truth = "unplayed"
        found[f"{which}: {truth} notes"] += 1
        found[f"{which}: {truth} called {note.judged.value}"] += 1
    proposal = propose(verdict)
    all_right = take.fault in ("none", "struck again")
    found["claimed"] += proposal.grade is not None
    found["true"] += proposal.grade is not None and (proposal.grade == "clean") == all_right
    came = change_s(verdict, target)
    found["change told"] += came is not None
    if came is not None and take.second_s is not None and take.fault != "struck again":
        found["change within 30 ms"] += abs(came - (take.second_s - _LEAD_S)) <= 0.03
        found["change told of one"] += 1
    return found
