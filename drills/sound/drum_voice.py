"""Drums from noise and a few tones: cymbal, hi-hat, brush, side stick, bass drum (no recording).

Each is band-limited noise or a falling tone under an exponential decay, as in the classic analogue circuits (common
practice; the numbers were chosen by looking at spectra and decays). A stroke is seeded by what it is and when it
falls, so that no two running sound alike and the same score gives the same samples.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import pi
from typing import TYPE_CHECKING

from drills.errors import SoundError
from drills.sound.envelope import ramp
from drills.sound.score import Tone

if TYPE_CHECKING:
    import numpy as np

    from drills.sound.envelope import Samples

__all__ = ["DRUM_KEYS", "drum_samples", "drum_tone"]

_ATTACK_S = 0.0008
_VARIANTS = 6
"""Performances of one stroke that are kept: enough that none is heard to come again."""


@dataclass(frozen=True, slots=True)
class _Drum:
    """low_hz, high_hz: the band of its noise. fall_s: seconds in which the noise falls by 60 dB. tones: (hz, share,
    fall_s) of tones under it. level: of the whole. swell: whether it rises and falls instead, as a sweep does."""

    low_hz: float
    high_hz: float
    fall_s: float
    level: float
    tones: tuple[tuple[float, float, float], ...] = ()
    swell: bool = False


_DRUMS = {
    36: _Drum(30.0, 400.0, 0.05, 0.75, ((52.0, 1.0, 0.42), (104.0, 0.25, 0.12))),
    37: _Drum(1500.0, 6000.0, 0.05, 0.55, ((1650.0, 0.5, 0.05), (820.0, 0.4, 0.06))),
    38: _Drum(700.0, 7000.0, 0.13, 0.50, ((190.0, 0.25, 0.10),)),
    40: _Drum(900.0, 6500.0, 0.0, 0.17, swell=True),
    42: _Drum(6500.0, 14000.0, 0.07, 0.42),
    44: _Drum(4500.0, 12000.0, 0.10, 0.42),
    51: _Drum(3200.0, 13000.0, 0.9, 0.26, ((3150.0, 0.20, 0.8), (4480.0, 0.16, 0.6), (5870.0, 0.12, 0.5))),
}
"""By their key of General MIDI percussion."""

DRUM_KEYS = frozenset(_DRUMS)


def drum_tone(key: int, start_s: float, loudness: float, length_s: float | None = None) -> Tone:
    """A stroke as a tone of a score. length_s: of a sweep; other strokes ring as long as they do.

    Raises SoundError for a key that is no drum of ours.
    """
    drum = _DRUMS.get(key)
    if drum is None:
        raise SoundError(f"drum {key!r}: expected one of {', '.join(map(str, sorted(_DRUMS)))} (General MIDI keys)")
    longest = max((drum.fall_s, *(fall for _, _, fall in drum.tones)))
    return Tone(1000.0, start_s, length_s if drum.swell and length_s else max(0.03, longest), loudness, "drums", key)


def drum_samples(tone: Tone, rate: int, size: int) -> Samples:
    """So many samples of a stroke (float32, one dimension), not to be written to."""
    if tone.midi not in _DRUMS:
        raise SoundError(f"drum {tone.midi!r}: expected a key of General MIDI percussion that is played here")
    variant = round(tone.start_s * 1000) % _VARIANTS
    return _made(tone.midi, variant, size, rate) * tone.loudness


@lru_cache(maxsize=256)
def _made(key: int, variant: int, size: int, rate: int) -> Samples:
    import numpy as np

    drum = _DRUMS[key]
    chance = np.random.default_rng(key * 100 + variant)
    at_s = np.arange(size) / rate
    sound = _noise(drum, size, rate, chance)
    if drum.swell:
        sound *= np.sin(pi * np.clip(at_s * rate / size, 0.0, 1.0)) ** 1.5
    else:
        sound *= 10.0 ** (-3.0 * at_s / drum.fall_s)
    for hz, share, fall_s in drum.tones:
        # A drum's head is stretched by the stroke, so that its tone falls a little as it dies.
        bend = 1.0 + 0.25 * np.exp(-at_s / 0.02) if hz < 200 else 1.0 + 0.0 * at_s
        phase = 2 * pi * np.cumsum(hz * (1 + 0.01 * chance.standard_normal()) * bend) / rate
        sound += share * np.sin(phase) * 10.0 ** (-3.0 * at_s / fall_s)
    ramp(sound, round(_ATTACK_S * rate), min(size // 2, round(0.004 * rate)))
    made: Samples = (sound * drum.level).astype(np.float32)
    made.setflags(write=False)
    return made


def _noise(drum: _Drum, size: int, rate: int, chance: np.random.Generator) -> Samples:
    """Noise in a band, of root mean square one third."""
    import numpy as np

    spectrum = np.fft.rfft(chance.standard_normal(size))
    hz = np.fft.rfftfreq(size, 1 / rate)
    spectrum *= (hz >= drum.low_hz) & (hz <= min(drum.high_hz, rate / 2))
    noise = np.fft.irfft(spectrum, size)
    level = float(np.sqrt(np.mean(noise**2))) or 1.0
    made: Samples = noise / (3.0 * level)
    return made
