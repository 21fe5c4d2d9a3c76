"""A WAV file as frames, as though it came in through a microphone."""

from __future__ import annotations

import wave
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from drills.configuration.home import expanded
from drills.errors import MicrophoneError, shown
from drills.listening.heard import Frame

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["HIGHEST_RATE", "LOWEST_RATE", "WavInput", "read_wav"]

LOWEST_RATE, HIGHEST_RATE = 16_000, 192_000
_LONGEST_S = 1800.0
_PIECE_S = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class WavInput:
    """The sound of a file: samples of one channel, full scale 1, and their rate a second."""

    samples: Samples
    rate: int

    def frames(self, piece_s: float = _PIECE_S) -> Iterator[Frame]:
        """The sound in pieces of some seconds."""
        size = max(1, round(piece_s * self.rate))
        for first in range(0, len(self.samples), size):
            yield Frame(first / self.rate, self.samples[first : first + size])


def read_wav(path: str | Path) -> WavInput:
    """Reads a WAV file of 8, 16, 24 or 32 bits (PCM); its channels are averaged.

    Raises MicrophoneError for a file that is none, is empty, is longer than half an hour, or has a rate outside
    16,000 to 192,000 samples a second.
    """
    file = expanded(path)
    try:
        with wave.open(str(file), "rb") as sound:
            channels, width, rate = sound.getnchannels(), sound.getsampwidth(), sound.getframerate()
            if not LOWEST_RATE <= rate <= HIGHEST_RATE:
                raise MicrophoneError(
                    f"{file}, rate: expected {LOWEST_RATE} to {HIGHEST_RATE} samples a second, got {rate}; "
                    "save it again at 44100"
                )
            if sound.getnframes() > _LONGEST_S * rate:
                raise MicrophoneError(f"{file}: longer than {_LONGEST_S / 60:.0f} minutes; cut out the take")
            raw = sound.readframes(sound.getnframes())
    except (wave.Error, EOFError) as error:
        raise MicrophoneError(f"{file}: no WAV file of plain samples ({error}); save it as WAV, 16 bit") from error
    except MicrophoneError:
        raise
    except OSError as error:
        raise MicrophoneError(f"{file}: {error.strerror or error}; expected a WAV file") from error
    values = _values(raw[: len(raw) - len(raw) % (width * channels)], width, file)
    samples = values.reshape(-1, channels).mean(axis=1)
    if not len(samples):
        raise MicrophoneError(f"{file}: there is no sound in it")
    return WavInput(samples, rate)


def _values(raw: bytes, width: int, file: Path) -> Samples:
    if width == 1:
        return (np.frombuffer(raw, "u1").astype(np.float64) - 128) / 128
    if width == 2:
        return np.frombuffer(raw, "<i2") / 32768.0
    if width == 3:
        parts = np.frombuffer(raw, "u1").reshape(-1, 3).astype(np.int32)
        whole = (parts[:, 0] << 8) | (parts[:, 1] << 16) | (parts[:, 2] << 24)
        return whole / 2147483648.0
    if width == 4:
        return np.frombuffer(raw, "<i4") / 2147483648.0
    raise MicrophoneError(f"{file}, sample width: expected 1 to 4 bytes, got {shown(width)}")
