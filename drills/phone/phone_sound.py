"""The sound of a phone page: for every pitch one period of the plucked string and its loop, which the page lets ring.

The page makes its notes as `drills.sound.pluck` does, a sample at a time, so that a page of any length carries a few
kilobytes of sound. `data/phone/pluck.js` is the loop; a test compares its samples with those of `pluck`.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from typing import Any

from drills.sound.mix import CEILING
from drills.sound.pluck import (
    ATTACK_S,
    ELECTRIC,
    LEVEL,
    RELEASE_S,
    first_period,
    pick_noise,
    ring_s,
    string_loop,
)  # fmt: skip
from drills.theory.note import hz_of_midi

__all__ = ["LOUDNESS", "RATE", "sound_tables"]

_UNITS = 1500.0

RATE = 22_050
"""Samples a second: half of what the tool plays elsewhere, and all that a phone's speaker lets hear."""

LOUDNESS = 0.7
"""How hard every string is plucked; a chord is made softer by its level alone."""

NOTE_S, GRIP_S, SPREAD_S, LEGATO_S = 0.4, 2.0, 0.03, 0.02
"""Seconds of a note of a line, of a chord, from string to string of it, and that a note is held into the next."""


def sound_tables(keys: Iterable[int]) -> dict[str, Any]:
    """What the page needs to sound these MIDI keys, as values that JSON knows.

    strings: MIDI key -> [samples of delay, response of the loop, one period, noise of the pick, fall of the swing that
    dies first from sample to sample], the middle three as base64 of float32 and twice int16, little-endian, these in
    units of 1/1500. early: share and pace of the swing that dies first. The rest are the constants of the sound, in
    seconds, and the rate in samples a second.
    """
    return {
        "rate": RATE, "level": LEVEL * LOUDNESS, "ceiling": CEILING, "attack": ATTACK_S, "release": RELEASE_S,
        "early": [ELECTRIC.early.share, ELECTRIC.early.pace],
        "note": NOTE_S, "grip": GRIP_S, "spread": SPREAD_S, "legato": LEGATO_S,
        "strings": {str(key): _string(key) for key in sorted(set(keys))},
    }  # fmt: skip


def _string(key: int) -> list[Any]:
    import numpy as np

    hz = hz_of_midi(key)
    whole, kernel = string_loop(hz, RATE, ELECTRIC)
    period = first_period(hz, RATE, LOUDNESS, ELECTRIC)
    short = np.round(period * _UNITS).astype("<i2")  # a period's peak is under 15 times its mean: it fits
    noise = np.round(pick_noise(hz, RATE, LOUDNESS, ELECTRIC) * _UNITS).astype("<i2")
    falls = round(ELECTRIC.early.falls(ring_s(hz, ELECTRIC), RATE), 9)
    return [whole, *(_base64(each.tobytes()) for each in (kernel.astype("<f4"), short, noise)), falls]


def _base64(raw: bytes) -> str:
    return base64.b64encode(raw).decode("ascii")
