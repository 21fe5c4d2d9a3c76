"""WAV files: the mixed score as 16-bit samples, one channel (RIFF WAVE, PCM)."""

from __future__ import annotations

import io
import os
import wave
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, cast

from drills.errors import SoundError
from drills.sound.mix import CEILING, RATE, blocks, total_samples
from drills.sound.score import Score
from scheduler.atomic_write import atomic_write

if TYPE_CHECKING:
    from drills.sound.envelope import Samples

__all__ = ["save_wav", "wav_bytes", "write_samples", "write_wav"]

_FULL_SCALE = 32767
# The length field of the format is 32 bits wide, for bytes.
_MOST_SAMPLES = (2**32 - 1024) // 2


def write_wav(
    score: Score,
    file: BinaryIO,
    *,
    rate: int = RATE,
    ceiling: float = CEILING,
    volume: float = 1.0,
) -> None:
    """Write the score to an open, seekable binary file as 16-bit mono; see `mix.blocks`.

    Raises SoundError for a score too long for the format (over thirteen hours).
    """
    samples = total_samples(score, rate)
    if samples > _MOST_SAMPLES:
        raise SoundError(f"wav: {samples / rate / 3600:.1f} hours do not fit one file; ask for less")
    write_samples(blocks(score, rate=rate, ceiling=ceiling, volume=volume), samples, file, rate)


def write_samples(pieces: Iterable[Samples], count: int, file: BinaryIO, rate: int) -> None:
    """Write samples of full scale 1, `count` in all, to an open, seekable binary file as 16-bit mono."""
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.setnframes(count)
        for piece in pieces:
            out.writeframes((piece * _FULL_SCALE).round().astype("<i2").tobytes())


def wav_bytes(score: Score, *, rate: int = RATE, ceiling: float = CEILING, volume: float = 1.0) -> bytes:
    """Return the score as the bytes of a WAV file; see `write_wav`."""
    held = io.BytesIO()
    write_wav(score, held, rate=rate, ceiling=ceiling, volume=volume)
    return held.getvalue()


def save_wav(
    score: Score,
    path: str | os.PathLike[str],
    *,
    rate: int = RATE,
    ceiling: float = CEILING,
    volume: float = 1.0,
) -> Path:
    """Write the score to `path` and return it; a file already there is replaced only when done.

    Raises SoundError, with the path and the system's reason, when it cannot be written.
    """
    path = Path(path)
    try:
        with atomic_write(path, "wb") as file:
            write_wav(score, cast(BinaryIO, file), rate=rate, ceiling=ceiling, volume=volume)
    except OSError as error:
        raise SoundError(f"wav: cannot write {path}: {error.strerror or error}; choose another place") from error
    return path
