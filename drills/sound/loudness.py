"""Loudness of what is exported: measured as ITU-R BS.1770-4 has it, set to a target, and its peaks held.

What is played live keeps the quiet ceiling of `drills.sound.mix`; only a track written to a file is brought to the
level other music has, so that it can be practised with beside it.
"""

from __future__ import annotations

from math import log10, pi, tan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.sound.envelope import Samples

__all__ = ["PEAK_DBTP", "TARGET_LUFS", "integrated_lufs", "set_loudness", "true_peak_db"]

TARGET_LUFS = -15.0
"""Between the -16 LUFS of a track and the -14 of the loudest that AES TD1008 (2021) recommends for music."""

PEAK_DBTP = -1.0
"""Highest true peak: EBU R 128 (2020)."""

_HELD_DB = 0.6
"""The limiter works this far under `PEAK_DBTP`: what lies between its samples is measured, not limited."""

_BLOCK_S, _HOP_S = 0.4, 0.1
_ABSOLUTE_LUFS, _RELATIVE_LU = -70.0, -10.0
_OFFSET = -0.691
_CHUNK = 1 << 18
_FILTERED = 1 << 19
_TAIL_S = 0.5
"""Seconds after which the weighting filter's answer is lost in rounding."""


def integrated_lufs(samples: Samples, rate: int) -> float:
    """Integrated loudness of one channel in LUFS, gated; minus infinity for silence and for less than 0.4 s.

    K-weighting, blocks of 400 ms that overlap by three quarters, a gate at -70 LUFS and then at 10 LU under the mean of
    what is left: ITU-R BS.1770-4, annex 1.
    """
    import numpy as np

    power = _weighted(samples, rate) ** 2
    sums = np.concatenate(([0.0], np.cumsum(power)))
    block, hop = round(_BLOCK_S * rate), round(_HOP_S * rate)
    starts = np.arange(0, len(power) - block + 1, hop)
    if not len(starts):
        return float("-inf")
    means = (sums[starts + block] - sums[starts]) / block
    means = means[means > _power(_ABSOLUTE_LUFS)]
    if not len(means):
        return float("-inf")
    means = means[means > _power(_OFFSET + 10 * log10(float(means.mean())) + _RELATIVE_LU)]
    return _OFFSET + 10 * log10(float(means.mean()))


def true_peak_db(samples: Samples, rate: int) -> float:
    """The highest peak between and on the samples in dBTP, by oversampling four times (BS.1770-4, annex 2)."""
    import numpy as np

    peak = 0.0
    for first in range(0, len(samples), _CHUNK):
        low = max(0, first - 64)
        piece = np.asarray(samples[low : first + _CHUNK + 64], dtype=float)
        spectrum = np.fft.rfft(piece)
        wide = np.fft.irfft(np.concatenate((spectrum, np.zeros(3 * len(piece) // 2 + 1))), 4 * len(piece)) * 4
        # The piece's own ends ring: they belong to its neighbours, unless they are the ends of all.
        begin = 4 * (first - low)
        end = 4 * (min(first + _CHUNK, len(samples)) - low)
        peak = max(peak, float(np.abs(wide[begin:end]).max(initial=0.0)))
    return 20 * log10(peak) if peak > 0 else float("-inf")


def set_loudness(samples: Samples, rate: int, target: float = TARGET_LUFS, peak_dbtp: float = PEAK_DBTP) -> Samples:
    """The samples (float32) at a loudness, their peaks held under a ceiling by a gain that looks ahead five
    milliseconds. Silence stays silence.

    What the limiter takes off the loudness is put back, so that the result lies within a tenth of the target unless
    the music is mostly peaks.
    """
    import numpy as np

    made = np.asarray(samples, dtype=float)
    ceiling = 10 ** ((peak_dbtp - _HELD_DB) / 20)
    gain_db = 0.0
    limited: Samples = made
    for _ in range(4):
        now = integrated_lufs(limited, rate)
        if now == float("-inf"):
            return made.astype(np.float32)
        if abs(target - now) < 0.1 and gain_db:
            break
        gain_db += target - now
        limited = _limited(made * 10 ** (gain_db / 20), rate, ceiling)
    return limited.astype(np.float32)


def _limited(samples: Samples, rate: int, ceiling: float) -> Samples:
    """The samples under a gain that is low enough wherever a peak is, and moves smoothly."""
    import numpy as np

    hop = max(1, rate // 1000)
    count = -(-len(samples) // hop)
    padded = np.zeros(count * hop)
    padded[: len(samples)] = np.abs(samples)
    peaks = padded.reshape(count, hop).max(axis=1)
    needed = np.minimum(1.0, ceiling / np.maximum(peaks, 1e-12))
    reach = 5
    around = np.lib.stride_tricks.sliding_window_view(np.pad(needed, reach + 1, constant_values=1.0), 2 * reach + 3)
    lowest = around.min(axis=1)
    window = np.hanning(2 * reach + 3)
    window /= window.sum()
    smooth = np.convolve(np.pad(lowest, reach + 1, mode="edge"), window, mode="valid")
    # Between the middles of two blocks the gain is no higher than either needs: both are within its reach.
    middles = (np.arange(count) + 0.5) * hop
    gain: Samples = np.interp(np.arange(len(samples)), middles, smooth)
    held: Samples = samples * gain
    return held


def _power(lufs: float) -> float:
    return float(10 ** ((lufs - _OFFSET) / 10))


def _weighted(samples: Samples, rate: int) -> Samples:
    """The samples through the two filters of BS.1770-4, table 1 and 2, made for any rate from their analogue forms."""
    import numpy as np

    tail = round(_TAIL_S * rate)
    size, chunk = _FILTERED, _FILTERED - tail
    hz = np.fft.rfftfreq(size, 1 / rate)
    z = np.exp(-2j * pi * hz / rate)
    response = np.ones(len(hz), dtype=complex)
    for b, a in (_shelf(rate), _highpass(rate)):
        response *= (b[0] + b[1] * z + b[2] * z * z) / (a[0] + a[1] * z + a[2] * z * z)
    out = np.zeros(len(samples) + size)
    for first in range(0, len(samples), chunk):
        piece = np.asarray(samples[first : first + chunk], dtype=float)
        answer = np.fft.irfft(np.fft.rfft(piece, size) * response, size)
        reach = len(piece) + tail
        out[first : first + reach] += answer[:reach]
    made: Samples = out[: len(samples)]
    return made


def _shelf(rate: int) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """The head: a shelf of 4 dB above about 1.7 kHz."""
    gain, quality, middle = 3.999843853973347, 0.7071752369554196, 1681.974450955533
    k, vh = tan(pi * middle / rate), 10 ** (gain / 20)
    vb = vh**0.4996667741545416
    a0 = 1 + k / quality + k * k
    b = ((vh + vb * k / quality + k * k) / a0, 2 * (k * k - vh) / a0, (vh - vb * k / quality + k * k) / a0)
    return b, (1.0, 2 * (k * k - 1) / a0, (1 - k / quality + k * k) / a0)


def _highpass(rate: int) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """What is too low to be loud."""
    quality, corner = 0.5003270373238773, 38.13547087602444
    k = tan(pi * corner / rate)
    a0 = 1 + k / quality + k * k
    return (1.0, -2.0, 1.0), (1.0, 2 * (k * k - 1) / a0, (1 - k / quality + k * k) / a0)
