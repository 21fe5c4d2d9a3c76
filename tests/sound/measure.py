"""Measurements on the samples of a WAV file, made without a look at how it was synthesised."""

from __future__ import annotations

import io
import wave

import numpy as np

from drills.sound.mix import blocks
from drills.sound.score import Score

__all__ = ["cents", "fundamental_hz", "onsets_s", "read_wav", "render", "steepest_step"]


def read_wav(data: bytes) -> tuple[np.ndarray, int]:
    """Return samples (full scale 1) and rate of a 16-bit mono WAV file, read by the stdlib."""
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        raw = file.readframes(file.getnframes())
        return np.frombuffer(raw, "<i2") / 32768, file.getframerate()


def render(score: Score, **options) -> np.ndarray:
    """Return the whole mixed score as float32 samples, one dimension; options as for `blocks`."""
    return np.concatenate(list(blocks(score, **options)))


def cents(hz: float, reference_hz: float) -> float:
    """Return how far `hz` lies above the reference, in hundredths of a semitone."""
    return 1200 * float(np.log2(hz / reference_hz))


def fundamental_hz(samples: np.ndarray, rate: int) -> float:
    """Return the fundamental without being told what to expect.

    The octave comes from the first high peak of the autocorrelation; the fine value from the
    turn of phase of that partial between two windows (phase vocoder, Flanagan and Golden 1966).
    """
    size = 1 << 15
    spectrum = np.fft.rfft(samples[:size], 2 * size)
    lag = np.fft.irfft(np.abs(spectrum) ** 2)[: rate // 25]
    lag = lag / lag[0]
    peaks = np.flatnonzero((lag[1:-1] > lag[:-2]) & (lag[1:-1] >= lag[2:])) + 1
    rough = rate / peaks[lag[peaks] > 0.9 * lag[peaks].max()][0]
    hop, window = 2048, np.hanning(size)
    early = np.fft.rfft(samples[:size] * window)
    late = np.fft.rfft(samples[hop : hop + size] * window)
    low, high = int(rough * 0.94 * size / rate), int(rough * 1.06 * size / rate) + 2
    bin_ = low + int(np.argmax(np.abs(early[low:high])))
    expected = 2 * np.pi * bin_ * hop / size
    turn = np.angle(late[bin_] / early[bin_]) - expected
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    return (expected + turn) * rate / (2 * np.pi * hop)


def onsets_s(samples: np.ndarray, rate: int, *, apart_s: float = 0.05) -> np.ndarray:
    """Return the times in seconds at which something is struck.

    An onset is where the energy of the brightest part of the sound (second difference) in two
    milliseconds stands furthest above any two milliseconds of the twenty-five before; nothing
    40 dB below the loudest counts, nor two within `apart_s`.
    """
    step, wide, behind = rate // 4000, 8, 100
    bright = np.diff(samples, 2) ** 2
    frames = bright[: len(bright) // step * step].reshape(-1, step).sum(axis=1)
    sums = np.concatenate((np.zeros(behind + wide + 1), np.cumsum(frames)))
    energy = sums[wide:] - sums[:-wide]
    before = np.lib.stride_tricks.sliding_window_view(energy[:-wide], behind).max(axis=1)
    after = energy[-len(before) :]
    floor = 1e-4 * after.max()
    rise = after / (before + floor * 1e-2)
    rise[after < floor] = 0
    found: list[int] = []
    for candidate in np.argsort(rise)[::-1]:
        if rise[candidate] < 4:
            break
        if all(abs(candidate - other) * step / rate > apart_s for other in found):
            found.append(int(candidate))
    return np.sort(np.array(found, dtype=float) * step / rate)


def steepest_step(samples: np.ndarray, rate: int, at_s: float, around_s: float) -> float:
    """Return the largest step from one sample to the next within `around_s` of a place."""
    first = max(0, round((at_s - around_s) * rate))
    return float(np.abs(np.diff(samples[first : round((at_s + around_s) * rate)])).max())
