"""Takes made of the project's own plucked strings, put together note by note, with what disturbs them."""

from __future__ import annotations

import wave

import numpy as np

from drills.sound.pluck import GUITAR, pluck

__all__ = ["RATE", "hz_of", "save", "take"]

RATE = 22_050


def hz_of(midi: float, a4_hz: float = 440.0) -> float:
    """The frequency of a MIDI number in equal temperament (ISO 16:1975 for A4 = 440 Hz)."""
    return a4_hz * 2.0 ** ((midi - 69) / 12)


def take(notes, *, ring_s=1.5, rate=RATE, a4_hz=440.0, noise=0.0005, seed=0, tail_s=1.0, kind=GUITAR):
    """Samples of notes given as (seconds, MIDI number, which may have a fraction), each ringing on for `ring_s`."""
    sound = np.zeros(round((max(at for at, _ in notes) + ring_s + tail_s) * rate))
    for at, midi in notes:
        tone = pluck(hz_of(midi, a4_hz), ring_s, rate, 0.8, kind)
        first = round(at * rate)
        sound[first : first + len(tone)] += tone
    return sound + np.random.default_rng(seed).normal(0.0, noise, len(sound))


def save(path, samples, rate=RATE):
    """Writes 16-bit samples of one channel and returns the path."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((np.clip(samples, -1, 32767 / 32768) * 32768).astype("<i2").tobytes())
    return path
