"""Single notes to put takes together from: sampled ones by fluidsynth where it is installed, else plucked by rule."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import wave
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from drills.errors import MicrophoneError
from drills.listening.evaluate.recorded_notes import notes_of_folder
from drills.sound.pluck import GUITAR, StringKind, pluck
from drills.theory.note import hz_of_midi

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drills.listening.heard import Samples

__all__ = ["HIGHEST", "LOWEST", "RATE", "SAMPLED", "SOUNDFONT", "Instrument", "instruments", "rendered"]

RATE = 44_100
LOWEST, HIGHEST = 38, 90
"""MIDI numbers of the notes an instrument has."""

SOUNDFONT = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
"""The Debian package timgm6mb-soundfont."""

_LOOKED_AT = ("FluidR3_GM", "tonejs-instrument-guitar-acoustic")
"""Further soundfonts and folders of recorded notes by whose takes rules were chosen, as `Path.stem`."""

_NOTE_S = 2.0


@dataclass(frozen=True, slots=True)
class Instrument:
    """name: as a table calls it. program: of General MIDI, or None for a string plucked by rule, then `kind`.

    tuned_on: whether any constant of the ears was chosen by its sound. font: the soundfont a program is of.
    folder: recorded notes instead, see `recorded_notes`.
    """

    name: str
    program: int | None
    tuned_on: bool
    kind: StringKind = GUITAR
    font: Path = SOUNDFONT
    folder: Path | None = None

    def note(self, midi: int) -> Samples:
        """Two seconds of one note. midi: from LOWEST to HIGHEST."""
        if self.folder is not None:
            rows = notes_of_folder(self.folder, LOWEST, HIGHEST, _NOTE_S, RATE)
            return np.asarray(rows[midi - LOWEST], dtype=np.float64)
        if self.program is None:
            return np.asarray(pluck(hz_of_midi(midi), _NOTE_S, RATE, 0.8, self.kind), dtype=np.float64)
        return np.asarray(_sampled(self.font, self.program)[midi - LOWEST], dtype=np.float64)

    def struck(self, midi: int, cents: float, rng: np.random.Generator) -> Samples:
        """One note as a hand strikes it: off A4 = 440 Hz by so many cents, and as soft as chance has it.

        midi: one that the instrument has not is the nearest it has.
        """
        note = self.note(min(max(midi, LOWEST), HIGHEST))
        places = np.arange(0, len(note) - 1, 2 ** (cents / 1200))
        found: Samples = np.interp(places, np.arange(len(note)), note) * rng.uniform(0.5, 1.0)
        return found


_PLUCKED = (
    Instrument("plucked by rule", None, True),
    Instrument("plucked near the bridge", None, False, StringKind(pluck_at=0.08, brightness_hz=4000.0, ring_s=8.0)),
)
SAMPLED = (
    Instrument("nylon", 24, True),
    Instrument("steel", 25, True),
    Instrument("jazz", 26, True),
    Instrument("clean electric", 27, True),
    Instrument("overdriven", 29, False),
)
"""Sampled guitars, by General MIDI program counted from 0."""


def instruments(fonts: Sequence[Path] = (), folders: Sequence[Path] = ()) -> tuple[Instrument, ...]:
    """The instruments this machine has; those of further soundfonts and of folders of recorded notes beside them."""
    there = bool(shutil.which("fluidsynth"))
    sampled = SAMPLED if there and SOUNDFONT.exists() else ()
    further = tuple(
        replace(one, name=f"{one.name} ({font.stem})", tuned_on=font.stem in _LOOKED_AT, font=font)
        for font in (fonts if there else ()) for one in SAMPLED
    )  # fmt: skip
    recorded = tuple(
        Instrument(f"recorded ({folder.name})", None, folder.name in _LOOKED_AT, folder=folder) for folder in folders
    )
    return _PLUCKED + sampled + further + recorded


@lru_cache(maxsize=24)
def _sampled(font: Path, program: int) -> NDArray[np.float32]:
    notes = [((midi - LOWEST) * _NOTE_S, midi, 0.8 * _NOTE_S, 90) for midi in range(LOWEST, HIGHEST + 1)]
    size = round(_NOTE_S * RATE)
    count = HIGHEST - LOWEST + 1
    sound = rendered({program: notes}, font)
    whole = np.pad(sound, (0, max(0, count * size - len(sound))))[: count * size].reshape(count, size)
    return whole.astype(np.float32)  # the mean of two samples of 16 bit is kept whole


def rendered(parts: dict[int, list[tuple[float, int, float, int]]], font: Path = SOUNDFONT) -> Samples:
    """What fluidsynth makes of notes, by program: (seconds, MIDI number, seconds long, velocity), one channel.

    Raises MicrophoneError where fluidsynth fails.
    """
    import mido

    file = mido.MidiFile(ticks_per_beat=1000)
    for channel, (program, notes) in enumerate(parts.items()):
        track = mido.MidiTrack()
        track.append(mido.MetaMessage("set_tempo", tempo=1_000_000))
        track.append(mido.Message("program_change", program=program, channel=channel))
        events = [(round(at * 1000), True, midi, loud) for at, midi, _, loud in notes]
        events += [(round((at + length) * 1000), False, midi, 0) for at, midi, length, _ in notes]
        now = 0
        for at, on, midi, loud in sorted(events):
            kind = "note_on" if on else "note_off"
            track.append(mido.Message(kind, note=midi, velocity=loud, time=at - now, channel=channel))
            now = at
        file.tracks.append(track)
    with tempfile.TemporaryDirectory() as folder:
        source, made = Path(folder) / "notes.mid", Path(folder) / "notes.wav"
        file.save(source)
        command = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "1.0", "-r", str(RATE), "-F", str(made)]
        ran = subprocess.run([*command, str(font), str(source)], capture_output=True, timeout=300, check=False)
        if ran.returncode or not made.exists():
            raise MicrophoneError(f"fluidsynth: made no sound of {source.name} (exit code {ran.returncode})")
        with wave.open(str(made)) as sound:
            raw = sound.readframes(sound.getnframes())
    stereo = np.frombuffer(raw, "<i2").reshape(-1, 2) / 32768
    return np.asarray(stereo.mean(axis=1), dtype=np.float64)
