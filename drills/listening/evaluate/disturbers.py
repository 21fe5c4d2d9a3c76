"""Sounds in which nobody plays what was asked: speech, music, tapping, noise. None may lead to a proposed grade."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import wave
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.evaluate.instruments import RATE, SOUNDFONT, rendered
from drills.listening.evaluate.takes import pink

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["KINDS", "disturber"]

KINDS = ("speech", "music", "tapping", "noise")

_TEXT = (
    "the a one two this that over under before after string hand finger slowly again listen morning window table "
    "never always because water garden number yellow seven eleven quietly tomorrow practice music answer question"
)
_WORDS = tuple(_TEXT.split())


def disturber(kind: str, seconds: float, seed: int) -> Samples | None:
    """Some seconds of one of KINDS by chance, at RATE; None where the machine cannot make it."""
    rng = np.random.default_rng(seed)
    made = {"speech": _speech, "music": _music, "tapping": _tapping, "noise": _noise}[kind](seconds, rng)
    if made is None:
        return None
    count = round(seconds * RATE)
    fitted = np.pad(made, (0, max(0, count - len(made))))[:count]
    peak = float(np.abs(fitted).max())
    return fitted * (10 ** (rng.uniform(-20, -4) / 20) / peak) + rng.normal(0, 1e-4, count)


def _speech(seconds: float, rng: np.random.Generator) -> Samples | None:
    if not shutil.which("espeak-ng"):
        return None
    text = " ".join(str(word) + ("." if rng.uniform() < 0.15 else "") for word in rng.choice(_WORDS, int(seconds * 3)))
    voice = str(rng.choice(["en+m1", "en+m3", "en+f2", "en+f4"]))
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "speech.wav"
        command = [
            "espeak-ng",
            "-v",
            voice,
            "-s",
            str(int(rng.integers(120, 190))),
            "-p",
            str(int(rng.integers(20, 80))),
        ]
        subprocess.run([*command, "-w", str(made), text], capture_output=True, timeout=120, check=True)
        with wave.open(str(made)) as sound:
            rate, raw = sound.getframerate(), sound.readframes(sound.getnframes())
    samples = np.frombuffer(raw, "<i2") / 32768
    places = np.arange(0, len(samples) - 1, rate / RATE)
    return np.interp(places, np.arange(len(samples)), samples)


def _music(seconds: float, rng: np.random.Generator) -> Samples | None:
    """A melody, chords and a bass by chance in one key, on instruments drawn from the soundfont."""
    if not (shutil.which("fluidsynth") and SOUNDFONT.exists()):
        return None
    key = int(rng.integers(0, 12))
    scale = [key + step for step in (0, 2, 4, 5, 7, 9, 11)]
    beat = 60 / float(rng.uniform(70, 140))
    melody, chords, bass = [], [], []
    at = 0.0
    while at < seconds:
        degree = int(rng.integers(0, 7))
        bass.append((at, 36 + scale[degree] % 12, beat * 2, 90))
        chords += [(at, 60 + (scale[(degree + third) % 7]) % 12, beat * 2, 70) for third in (0, 2, 4)]
        inner = at
        while inner < at + 2 * beat - 1e-6:
            length = float(rng.choice([beat / 2, beat]))
            melody.append((inner, 67 + scale[int(rng.integers(0, 7))] % 12, length, 100))
            inner += length
        at += 2 * beat
    programs = rng.permutation([0, 4, 11, 22, 40, 48, 56, 65, 73])
    return rendered({int(programs[0]): melody, int(programs[1]): chords, 32: bass})


def _tapping(seconds: float, rng: np.random.Generator) -> Samples:
    sound = np.zeros(round(seconds * RATE))
    at = 0.3
    while at < seconds - 0.3:
        length = round(float(rng.uniform(0.02, 0.12)) * RATE)
        time = np.arange(length) / RATE
        knock = rng.normal(0, 1, length) * np.exp(-time * rng.uniform(40, 150))
        knock += (
            rng.uniform(0, 2) * np.sin(2 * np.pi * rng.uniform(80, 900) * time) * np.exp(-time * rng.uniform(30, 90))
        )
        first = round(at * RATE)
        sound[first : first + length] += knock * rng.uniform(0.3, 1)
        at += float(rng.uniform(0.15, 0.9))
    return sound


def _noise(seconds: float, rng: np.random.Generator) -> Samples:
    count = round(seconds * RATE)
    swell = 1 + 0.8 * np.sin(2 * np.pi * np.arange(count) / RATE * rng.uniform(0.1, 3))
    made: Samples = (pink(count, rng) if rng.uniform() < 0.5 else rng.normal(0, 1, count)) * swell
    return made
