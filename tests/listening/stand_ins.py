"""Stand-ins for the trained models, by numpy alone, so that what asks them is tested where they are not installed."""

from __future__ import annotations

import numpy as np

from drills.listening.comb import Comb

__all__ = ["StandIns"]

_LOOK_RATE, _LOOK, _ONSET_AT, _STEP = 22_050, 43_844, 22_050, 256
_TRACK_RATE, _WINDOW = 16_000, 1024
_LOOKED_S = 0.17


class StandIns:
    """Answers in the form of the models: notes by the comb, and the one pitch by autocorrelation (Rabiner 1977)."""

    def __init__(self):
        self.asked = []

    def notes(self, samples):
        """Onset, note and contour rows for one look; what the comb finds new at its middle, from there on."""
        assert samples.shape == (_LOOK,)
        self.asked.append("notes")
        count = round(_LOOKED_S * _LOOK_RATE)
        before, after = samples[_ONSET_AT - count : _ONSET_AT], samples[_ONSET_AT : _ONSET_AT + count]
        rows = _LOOK // _STEP + 1
        begins, sounds, thirds = np.zeros((rows, 88)), np.zeros((rows, 88)), np.zeros((rows, 264))
        found = Comb().pitch_of(before, after, _LOOK_RATE)
        if found is not None and found.sure > 0:
            first = _ONSET_AT // _STEP
            note = round(found.pitch) - 21
            sounds[first : first + 20, note] = found.sure
            begins[first, note] = 1.0
            thirds[first : first + 20, round((found.pitch - 21) * 3)] = 1.0
        return begins, sounds, thirds

    def track(self, samples):
        """Hz and sureness for each 256 samples."""
        self.asked.append("track")
        count = len(samples) // _STEP
        padded = np.pad(samples, _WINDOW // 2)
        hz, sure = np.zeros(count), np.zeros(count)
        shortest, longest = round(_TRACK_RATE / 2000), round(_TRACK_RATE / 60)
        for number in range(count):
            part = padded[number * _STEP : number * _STEP + _WINDOW]
            matched = np.fft.irfft(np.abs(np.fft.rfft(part, 2 * _WINDOW)) ** 2)[: longest + 2]
            if matched[0] < 1e-6:
                continue
            matched = matched / matched[0] / (1 - np.arange(len(matched)) / _WINDOW)
            inner = matched[shortest : longest + 1]
            peaks = np.flatnonzero(
                (inner[1:-1] >= inner[:-2]) & (inner[1:-1] > inner[2:]) & (inner[1:-1] > 0.9 * inner.max())
            )
            if len(peaks):
                at = shortest + 1 + int(peaks[0])
                left, middle, right = matched[at - 1 : at + 2]
                hz[number] = _TRACK_RATE / (at + 0.5 * (left - right) / (left - 2 * middle + right))
                sure[number] = min(1.0, max(0.0, middle))
        return np.where(hz > 0, hz, 100.0), sure
