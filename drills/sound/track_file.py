"""A track as a file at the loudness of other music: WAV, FLAC or Ogg Vorbis, by the ending of its name."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, cast

from drills.errors import SoundError
from drills.sound.loudness import set_loudness
from drills.sound.mix import RATE, blocks
from drills.sound.score import Score
from drills.sound.wav import write_samples
from scheduler.atomic_write import atomic_write

if TYPE_CHECKING:
    from drills.sound.envelope import Samples

__all__ = ["TRACK_ENDINGS", "save_track", "track_samples"]

TRACK_ENDINGS = (".wav", ".flac", ".ogg")


def track_samples(score: Score, rate: int = RATE) -> Samples:
    """The whole mix, one channel (float32), brought to `drills.sound.loudness.TARGET_LUFS`."""
    import numpy as np

    mixed = np.concatenate([np.zeros(0, dtype=np.float32), *blocks(score, rate=rate)])
    return set_loudness(mixed, rate)


def save_track(score: Score, path: str | os.PathLike[str], rate: int = RATE) -> Path:
    """Write the score, whole or not at all, and return the path.

    Raises SoundError for another ending, when what writes FLAC and Ogg is not installed, and when the file cannot be
    written.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in TRACK_ENDINGS:
        raise SoundError(f"{path}: expected a name ending in {', '.join(TRACK_ENDINGS)}")
    samples = track_samples(score, rate)
    try:
        with atomic_write(path, "wb") as file:
            if ending == ".wav":
                write_samples([samples], len(samples), cast(BinaryIO, file), rate)
            else:
                _packed(samples, cast(BinaryIO, file), rate, ending, path)
    except OSError as error:
        raise SoundError(f"{path}: cannot be written: {error.strerror or error}; choose another place") from error
    return path


def _packed(samples: Samples, file: BinaryIO, rate: int, ending: str, path: Path) -> None:
    try:
        import soundfile
    except (ImportError, OSError) as error:
        raise SoundError(
            f"{path}: {ending} needs soundfile, which is not here ({error}); "
            "pip install 'neckwork[sound]', or write a .wav"
        ) from error
    kind, subtype = ("FLAC", "PCM_16") if ending == ".flac" else ("OGG", "VORBIS")
    # A long stretch at once overflows the encoder of Vorbis: it is handed on in pieces.
    with soundfile.SoundFile(file, "w", rate, 1, format=kind, subtype=subtype) as out:
        for first in range(0, len(samples), rate):
            out.write(samples[first : first + rate])
