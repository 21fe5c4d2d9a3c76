"""Grips whose truth is known: struck together, right, with one note beside, or with one string silent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.evaluate.instruments import RATE, Instrument
from drills.listening.evaluate.takes import pink
from drills.listening.grip_ears import GripEars, grip_verdict
from drills.listening.heard import Frame, Judged

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["GRIP_FAULTS", "counted_grip", "grip_take", "in_a_room", "with_fault"]

GRIP_FAULTS = ("none", "wrong", "missing", "ringing")
"""Right; one note a semitone or a tone off; one string silent; right over a grip that still rings."""

_LEAD_S, _LENGTH_S = 0.6, 1.6


def grip_take(
    asked: Sequence[int], instrument: Instrument, fault: str, seed: int
) -> tuple[Samples, tuple[int | None, ...]]:
    """Samples of one strum by chance, and what sounds for each note asked for, None for a silent string."""
    rng = np.random.default_rng(seed)
    sounds = with_fault(asked, fault, rng)
    sound = np.zeros(round((_LEAD_S + _LENGTH_S) * RATE))
    cents, each_s = float(rng.uniform(-30, 30)), float(rng.uniform(0.004, 0.022))
    struck = [(_LEAD_S + number * each_s, midi) for number, midi in enumerate(sounds) if midi is not None]
    if fault == "ringing":
        before = int(rng.choice([-3, -1, 2, 4]))
        struck += [(number * each_s, midi + before) for number, midi in enumerate(asked)]
    for at, midi in struck:
        note = instrument.struck(midi, cents, rng)
        first = round(at * RATE)
        room = len(sound) - first
        sound[first : first + min(room, len(note))] += note[:room]
    return in_a_room(sound, rng), sounds


def with_fault(asked: Sequence[int], fault: str, rng: np.random.Generator) -> tuple[int | None, ...]:
    """What sounds for each note asked for: one of them off where the fault is ``wrong``, silent where ``missing``."""
    sounds: list[int | None] = list(asked)
    place = int(rng.integers(len(asked)))
    if fault == "wrong":
        beside = [asked[place] + step for step in (-2, -1, 1, 2) if asked[place] + step not in asked]
        sounds[place] = int(rng.choice(beside))
    elif fault == "missing":
        sounds[place] = None
    return tuple(sounds)


def in_a_room(sound: Samples, rng: np.random.Generator) -> Samples:
    """The sound as loud as chance has it, its peak at -20 to -4 dB, with noise 20 or 40 dB below its level."""
    sound = sound * float(10 ** (rng.uniform(-20, -4) / 20) / np.abs(sound).max())
    level = float(np.sqrt(np.mean(sound**2)))
    heard: Samples = sound + pink(len(sound), rng) * level * 10 ** (-float(rng.choice([20.0, 40.0])) / 20)
    return heard


def counted_grip(asked: Sequence[int], samples: Samples, sounds: Sequence[int | None]) -> Counter[str]:
    """Judges a grip and holds it against the truth."""
    found: Counter[str] = Counter()
    verdict = grip_verdict(GripEars.start(RATE).take(Frame(0.0, samples)), asked)
    for note, sounded in zip(verdict.notes, sounds, strict=True):
        truth = "missing" if sounded is None else "right" if sounded == note.asked else "wrong"
        found[f"{truth} notes"] += 1
        found[f"{truth} called {note.judged.value}"] += 1
        if truth == "wrong" and note.judged is Judged.WRONG:
            found["wrong named"] += note.heard == sounded
    return found
