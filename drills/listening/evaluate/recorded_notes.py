"""Recorded notes of a real instrument from a folder of sound files named by pitch, as `A2.mp3` and `Fs3.mp3` are."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from drills.errors import MicrophoneError
from drills.theory.note import Pitch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drills.listening.heard import Samples

__all__ = ["notes_of_folder", "pitch_of_name"]

_NAMED = re.compile(r"([A-G])(s?)(\d)\.(?:mp3|wav|ogg|flac)")
_BEGINS, _BEFORE_S = 0.05, 0.002
"""A note begins where it first reaches this share of its peak, less so many seconds: files have a rest before it."""


def pitch_of_name(name: str) -> int | None:
    """The MIDI number a file's name tells, `s` for sharp; None where it tells none."""
    found = _NAMED.fullmatch(name)
    return None if found is None else Pitch.parse(f"{found[1]}{'#' if found[2] else ''}{found[3]}").midi


@lru_cache(maxsize=4)
def notes_of_folder(folder: Path, lowest: int, highest: int, seconds: float, rate: int) -> NDArray[np.float32]:
    """One row of samples for each MIDI number from `lowest` to `highest`, so many seconds at so many samples a second.

    Where a pitch was not recorded the nearest one is played faster or slower. Raises MicrophoneError where the folder
    holds no such files, or soundfile is not there to read them.
    """
    try:
        import soundfile
    except (ImportError, OSError):
        raise MicrophoneError("recorded notes need soundfile: pip install 'neckwork[sound]'") from None
    files = {midi: path for path in sorted(folder.rglob("*")) if (midi := pitch_of_name(path.name)) is not None}
    if not files:
        raise MicrophoneError(f"{folder}: expected sound files named by pitch, such as A2.mp3, got none")
    read: dict[int, Samples] = {}
    size = round(seconds * rate)
    rows = np.zeros((highest - lowest + 1, size), dtype=np.float32)
    for midi in range(lowest, highest + 1):
        nearest = min(files, key=lambda other: (abs(other - midi), other))
        if nearest not in read:
            samples, came = soundfile.read(str(files[nearest]), always_2d=True)
            read[nearest] = _begun(_at_rate(samples.mean(axis=1), came, rate), rate)
        note = _at_rate(read[nearest], 2 ** ((midi - nearest) / 12), 1)[:size]
        rows[midi - lowest, : len(note)] = note
    return rows


def _at_rate(samples: Samples, came: float, rate: float) -> Samples:
    """Samples read faster or slower, by straight lines between them."""
    if came == rate:
        return samples
    places = np.arange(0, len(samples) - 1, came / rate)
    found: Samples = np.interp(places, np.arange(len(samples)), samples)
    return found


def _begun(samples: Samples, rate: int) -> Samples:
    loud = np.abs(samples)
    first = int((loud >= _BEGINS * loud.max()).argmax())
    return samples[max(0, first - round(_BEFORE_S * rate)) :]
