"""Runs takes through the ears and counts; shares come with Wilson's interval."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import sqrt
from typing import TYPE_CHECKING

from drills.listening.ears import hear
from drills.listening.evaluate.takes import Take
from drills.listening.heard import ClickGrid, Frame, Heard, Judged, Target
from drills.listening.proposal import propose
from drills.listening.verdict import judge

if TYPE_CHECKING:
    from drills.listening.ears import Ears
    from drills.listening.engine import Engine

__all__ = ["Counts", "counted", "counted_heard", "share", "wilson"]

_NEAR_S = 0.05


@dataclass
class Counts:
    """What was counted over some takes. onset_ms: errors of single onsets. numbers: by name. heard: take by take."""

    numbers: Counter[str] = field(default_factory=Counter)
    onset_ms: list[float] = field(default_factory=list)
    cents_off: list[float] = field(default_factory=list)
    heard: list[tuple[Heard, ...]] = field(default_factory=list)
    cpu_s: float = 0.0
    sound_s: float = 0.0

    def add(self, other: Counts) -> None:
        """Adds what was counted elsewhere."""
        self.numbers += other.numbers
        self.onset_ms += other.onset_ms
        self.cents_off += other.cents_off
        self.heard += other.heard
        self.cpu_s += other.cpu_s
        self.sound_s += other.sound_s


def wilson(hits: int, tries: int) -> tuple[float, float]:
    """The 95 % interval of a share (Wilson 1927, J. Am. Stat. Assoc. 22); 0 to 1 where nothing was tried."""
    if not tries:
        return 0.0, 1.0
    z, p = 1.96, hits / tries
    middle, spread = p + z * z / (2 * tries), z * sqrt(p * (1 - p) / tries + z * z / (4 * tries * tries))
    whole = 1 + z * z / tries
    return max(0.0, (middle - spread) / whole), min(1.0, (middle + spread) / whole)


def share(hits: int, tries: int) -> str:
    """A share in words of a table, with its interval: ``1.2 % (0.8 to 1.7), 12 of 1000``."""
    if not tries:
        return "none"
    low, high = wilson(hits, tries)
    return f"{100 * hits / tries:.2f} % ({100 * low:.2f} to {100 * high:.2f}), {hits} of {tries}"


def counted(takes: Iterable[Take], engine: Engine | None = None) -> Counts:
    """Hears, judges and proposes for each take and holds it against the truth. engine: the comb when left out."""
    found = Counts()
    for one in takes:
        began = time.process_time()
        ears = hear([Frame(0.0, one.samples)], one.rate, engine)
        found.add(counted_heard(one, ears))
        found.cpu_s += time.process_time() - began
        found.sound_s += len(one.samples) / one.rate
    return found


def counted_heard(one: Take, ears: Ears) -> Counts:
    """What was heard of one take, judged and held against the truth; its samples are not looked at."""
    found = Counts()
    target = Target(one.asked, None if one.tempo_bpm is None else ClickGrid(one.tempo_bpm, one.click_s))
    verdict = judge(ears, target)
    proposal = propose(verdict)
    numbers = found.numbers
    for note, right in zip(verdict.notes, one.right, strict=True):
        numbers["notes"] += 1
        numbers["not sure"] += note.judged is Judged.NOT_SURE
        if right:
            numbers["right"] += 1
            numbers["right heard"] += note.judged is Judged.RIGHT
            numbers["right called wrong"] += note.judged is Judged.WRONG
            numbers["right called missing"] += note.judged is Judged.MISSING
        elif right is False:
            numbers["wrong"] += 1
            numbers["wrong called right"] += note.judged is Judged.RIGHT
            numbers["wrong heard"] += note.judged is Judged.WRONG
        else:
            numbers["left out"] += 1
            numbers["left out called right"] += note.judged is Judged.RIGHT
            numbers["left out found"] += note.judged is Judged.MISSING
    numbers["takes"] += 1
    numbers["claimed"] += proposal.grade is not None
    # Without a click nobody can tell clean from in time.
    grade = "clean" if one.tempo_bpm is None and one.grade == "in-time" else one.grade
    numbers["true"] += proposal.grade == grade
    numbers[f"{one.fault}: {proposal.grade}"] += 1
    found.heard.append(ears.heard)
    _compare(one, ears.heard, found)
    if verdict.tuning_cents is not None and one.cents is not None:
        found.cents_off.append(verdict.tuning_cents - one.cents)
    return found


def _compare(one: Take, heard: Sequence[Heard], found: Counts) -> None:
    """Single onsets and pitches, apart from any target."""
    for at, midi in one.played:
        near = [note for note in heard if abs(note.at_s - at) < _NEAR_S]
        found.numbers["plucks"] += 1
        if not near:
            found.numbers["plucks not heard"] += 1
            continue
        note = min(near, key=lambda other: abs(other.at_s - at))
        found.onset_ms.append((note.at_s - at) * 1000)
        if note.pitch is None:
            found.numbers["plucks unpitched"] += 1
        else:
            found.numbers["plucks mistaken"] += round(note.pitch - (one.cents or 0.0) / 100) != midi
