"""How each voice of a score sounds: plucked string, bass string, drums, held drone, click."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from drills.sound.drum_voice import drum_samples
from drills.sound.envelope import half_cosine, ramp
from drills.sound.pluck import BASS, ELECTRIC, STROKES, pluck
from drills.sound.score import Tone

if TYPE_CHECKING:
    from drills.sound.envelope import Samples

__all__ = ["samples_of", "sounded"]

# A click is over in forty milliseconds and falls by 60 dB in thirty; it opens within one, so
# that its onset is sharp and yet not a step.
_CLICK_S, _CLICK_FALL_S, _CLICK_ATTACK_S = 0.040, 0.030, 0.001
_CLICK_LEVEL = 0.45
# A drone swells and dies slowly; its harmonics weaken by 1/n^1.5, which is round and not shrill.
_DRONE_RISE_S, _DRONE_FALL_S = 0.5, 0.7
_DRONE_HARMONICS, _DRONE_SLOPE, _DRONE_LEVEL = 6, 1.5, 0.16


def samples_of(tone: Tone, rate: int) -> int:
    """Return how many samples the tone sounds for."""
    seconds = min(tone.length_s, _CLICK_S) if tone.voice == "click" else tone.length_s
    return max(1, round(seconds * rate))


def sounded(tone: Tone, rate: int, first: int, last: int) -> Samples:
    """Return samples `first` to `last` of the tone, 0 being its own onset (float, one dimension).

    Any part of a tone can be asked for, and parts asked for separately join without a seam.
    """
    if tone.voice == "drone":
        return _drone(tone, rate, first, last)
    if tone.voice == "click":
        return _click(tone, rate)[first:last]
    if tone.voice == "drums":
        return drum_samples(tone, rate, samples_of(tone, rate))[first:last]
    kind = BASS if tone.voice == "bass" else ELECTRIC
    return pluck(tone.hz, tone.length_s, rate, tone.loudness, kind, _stroke(tone))[first:last]


def _stroke(tone: Tone) -> int:
    """Which stroke of its string a tone is: another one at another time, and always the same at the same time.

    What begins at once is the plain stroke, so that a single note of a card is the same whenever it is heard.
    """
    # Times on one grid have common factors; a multiplicative hash scatters them.
    return (round(tone.start_s * 1000) * 40_503 >> 7) % STROKES


def _click(tone: Tone, rate: int) -> Samples:
    import numpy as np

    at_s = np.arange(samples_of(tone, rate)) / rate
    sound = np.sin(2 * pi * tone.hz * at_s) * 10.0 ** (-3.0 * at_s / _CLICK_FALL_S)
    ramp(sound, round(_CLICK_ATTACK_S * rate), round(_CLICK_S * rate / 4))
    return sound * (_CLICK_LEVEL * tone.loudness)


def _drone(tone: Tone, rate: int, first: int, last: int) -> Samples:
    import numpy as np

    total = samples_of(tone, rate)
    # Turns are counted in double precision, or a long drone would go out of tune; inside one
    # turn single precision is ample, and several times faster.
    turns = np.arange(first, last) * (tone.hz / rate)
    angle = ((turns - np.floor(turns)) * (2 * pi)).astype(np.float32)
    # sin(n x) = 2 cos(x) sin((n-1) x) - sin((n-2) x): two calls give every harmonic.
    twice_cos = 2 * np.cos(angle)
    before, now = np.zeros_like(angle), np.sin(angle)
    sound = now.copy()
    for harmonic in range(2, _DRONE_HARMONICS + 1):
        before, now = now, twice_cos * now - before
        if harmonic * tone.hz < rate / 2:
            sound += now * np.float32(harmonic**-_DRONE_SLOPE)
    rise = round(min(_DRONE_RISE_S, tone.length_s / 2) * rate)
    fall = round(min(_DRONE_FALL_S, tone.length_s / 2) * rate)
    if first < rise:
        sound *= half_cosine(first, last, rise)
    if last > total - fall:
        # The fall is the rise read from the other end.
        sound *= half_cosine(total - last, total - first, fall)[::-1]
    held: Samples = sound * np.float32(_DRONE_LEVEL * tone.loudness)
    return held
