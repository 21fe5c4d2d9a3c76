"""A plucked string, made by a delay line with a gentle loss in its loop and tuned to a fraction of a sample.

The model is the plucked string of Karplus and Strong 1983 (Computer Music Journal 7(2)):
one period of noise goes round a delay line and is averaged with its neighbour each time.
Jaffe and Smith 1983 (the same volume) give its tuning by an allpass filter, the loss factor that
sets the decay, and the weakening of harmonics by the place of the pluck.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import atan2, cos, pi, pow, sin
from typing import TYPE_CHECKING

from drills.sound.envelope import ramp
from drills.sound.loudspeaker import loudspeaker
from drills.sound.polarisation import Polarisation

if TYPE_CHECKING:
    from drills.sound.envelope import Samples

__all__ = [
    "ATTACK_S",
    "BASS",
    "ELECTRIC",
    "GUITAR",
    "LEVEL",
    "RELEASE_S",
    "STROKES",
    "StringKind",
    "first_period",
    "pick_noise",
    "pluck",
    "ring_s",
    "string_loop",
]

# The allpass is kept to a delay of 0.5 to 1.5 samples, where its coefficient is at most about
# 1/3 and its response has fallen below 1e-10 after this many samples. Cut there, the loop is a
# short convolution, and a whole period can be computed at once.
_ALLPASS_TERMS = 22
_STIFF_SECTIONS, _STIFF_TERMS = 4, 96
"""First-order allpass sections that stretch the partials, and the samples of their response that are kept."""
_G3_HZ, _PLAIN_FROM_HZ = 196.0, 180.0
"""The open G string, the lowest plain one on the measured guitar, and where a line usually comes to it."""
_BRIGHTEST_HZ = 6000.0
"""No pluck is brighter, however high the note."""
_LEAST_AVERAGED = 0.09
"""What even a plain string loses on each trip."""
_UNHEARD = 1e-7
"""Under this the response is cut: -140 dB."""
_STIFF_PARTIAL = 8
"""The partial whose stretch is met exactly; what is fitted over twelve partials stands in drills/sound/STRING.md."""
ATTACK_S, RELEASE_S = 0.0015, 0.040
"""Seconds in which a note begins and ends: the finger leaves the string over a millisecond and a half, so that a note
never starts with a step; the damping hand takes forty."""

# Spread in radians of the harmonics' phases. Near 0 they all meet in one hard pulse, far above
# 1 the first period is a hiss and the onset of a low note smears over its eighteen
# milliseconds; here every onset stays within two milliseconds.
_PHASE_SPREAD = 0.4
_PICK_S, _PICK_FALLS_S = 0.008, 0.0015
"""Seconds of the pick's noise, and in which it falls to a third (by ear, no source)."""
STROKES = 6
"""So many strokes of one note differ; the seventh is the first again, so that a long track need not make each anew."""
_PLACE_VARIES, _BRIGHTNESS_VARIES, _LEVEL_VARIES = 0.02, 0.1, 0.05
"""By how much strokes differ: the place of the pluck in shares of the string, brightness and level in shares of
themselves (chosen by ear, no source: small enough that no stroke is heard as an accent)."""

LEVEL = 0.25
"""The root mean square of the first period at loudness 1."""


@dataclass(frozen=True, slots=True)
class StringKind:
    """What a string sounds like.

    The pluck was chosen by listening to spectra (no source); what an electric guitar has of brightness, decay and
    inharmonicity follows a measured one, see drills/sound/STRING.md.

    pluck_at: place of the pluck as a share of the string, 0 to 0.5. brightness_hz: above
    this the pluck itself is soft, at 82.4 Hz; brightens: higher notes are plucked brighter, by this power of their
    frequency, up to `_BRIGHTEST_HZ`. plain_hz: above it strings are thinner and at last plain, and the loop takes less
    of their upper partials, see `_averaged`; 0 where all strings lose alike. pick: strength of the noise of the pick.
    ring_s: seconds in which a note of 82.4 Hz falls by 60 dB;
    higher notes ring shorter, by the power `ring_falls` of their frequency. stiffness: inharmonicity B of
    f_k = k f0 sqrt(1 + B k^2) at 82.4 Hz. stiffness_falls: higher notes lie on thinner strings and have less of it,
    by this power of their frequency. plain_stiffness, plain_falls: the same of plain strings, B at 196 Hz; 0 where no
    string is plain.
    """

    pluck_at: float
    brightness_hz: float
    ring_s: float
    ring_falls: float = 0.4
    stiffness: float = 0.0
    stiffness_falls: float = 2.0
    plain_stiffness: float = 0.0
    plain_falls: float = 0.0
    brightens: float = 0.0
    plain_hz: float = 0.0
    pick: float = 0.0
    early: Polarisation = Polarisation(share=0.0, ring=1.0, flat_cents=0.0)
    amplified: bool = False


GUITAR = StringKind(pluck_at=0.19, brightness_hz=2200.0, ring_s=6.0)
"""An ideal string, whose partials are whole multiples: what the hearing of notes is tried on."""
ELECTRIC = StringKind(
    pluck_at=0.19, brightness_hz=228.0, ring_s=13.0, ring_falls=0.33, stiffness=21.8e-5, plain_stiffness=9.95e-5,
    plain_falls=4.5, brightens=2.5, plain_hz=110.0, pick=0.12,
    early=Polarisation(share=0.35, ring=0.25, flat_cents=0.5), amplified=True,
)  # fmt: skip
"""What is played: partials, brightness and decay of a clean electric guitar, see drills/sound/STRING.md."""
BASS = StringKind(pluck_at=0.28, brightness_hz=600.0, ring_s=4.0)


def pluck(
    hz: float, length_s: float, rate: int, loudness: float = 1.0, kind: StringKind = GUITAR, stroke: int = 0
) -> Samples:
    """Return the samples (float32, one dimension) of one plucked note.

    hz: fundamental, below a tenth of `rate`. length_s: seconds, the last 40 ms of which fade.
    rate: samples a second. loudness: 0 to 1; a softer note is also darker. The noise is
    seeded by pitch and stroke, so that the same note is always the same samples. stroke: another number, another
    stroke of the same string, up to `STROKES` of them; 0 is the plain one. The result is
    shared between calls and must not be written to.
    """
    samples = max(1, round(length_s * rate))
    return _pluck(hz, samples, rate, round(loudness, 3), kind, stroke % STROKES)


@lru_cache(maxsize=256)
def _pluck(hz: float, samples: int, rate: int, loudness: float, kind: StringKind, stroke: int) -> Samples:
    import numpy as np

    whole, kernel = string_loop(hz, rate, kind)
    taps = len(kernel)
    line = np.zeros(taps + whole + samples)
    start = taps + whole
    burst = first_period(hz, rate, loudness, kind, stroke)
    # What the loop looks back on before the note is the end of the same period: silence there would put a step into
    # every period, and with it a hiss that no string has.
    line[start - taps : start] = np.resize(burst[::-1], taps)[::-1]
    burst = burst[:samples]
    line[start : start + len(burst)] = burst
    for first in range(start + len(burst), start + samples, whole):
        # A block of at most the whole delay looks back only on samples older than itself.
        last = min(first + whole, start + samples)
        past = line[first - whole - taps + 1 : last - whole]
        line[first:last] += np.convolve(past, kernel, mode="valid")
    sound = kind.early.joined(line[start:], ring_s(hz, kind), rate)
    noise = pick_noise(hz, rate, loudness, kind, stroke)[:samples]
    sound[: len(noise)] += noise  # after the loop has run: it is heard once and does not ring
    sound = sound * (LEVEL * loudness)
    ramp(sound, round(ATTACK_S * rate), round(RELEASE_S * rate))
    sound = sound.astype(np.float32)
    sound.setflags(write=False)
    return sound


def string_loop(hz: float, rate: int, kind: StringKind) -> tuple[int, Samples]:
    """Return whole samples of delay of a string's loop, and the response of what else is in the loop."""
    import numpy as np

    angle = 2 * pi * hz / rate
    stiff, stiff_delay = _stiffness(hz, rate, kind)
    period = rate / hz - stiff_delay
    share = _averaged(hz, kind)
    # Phase delay of the average at the fundamental; half a sample where both samples weigh alike.
    average_delay = atan2(share * sin(angle), 1 - share + share * cos(angle)) / angle
    whole = int(period - average_delay - 0.5)
    rest = period - average_delay - whole
    # Jaffe and Smith 1983, equation 16: this coefficient delays the fundamental by exactly
    # `rest` samples.
    c = sin((angle - angle * rest) / 2) / sin((angle + angle * rest) / 2)
    powers = np.arange(_ALLPASS_TERMS)
    allpass = np.concatenate(([c], (1 - c * c) * (-c) ** powers))
    # Each trip takes one period; after `ring_s` seconds of trips the level is 10^-3 (60 dB).
    loss = 10.0 ** (-3.0 / (hz * ring_s(hz, kind)))
    loop = np.convolve(allpass, (1 - share, share))
    return whole, loss * (loop if stiff is None else np.convolve(loop, stiff))


def ring_s(hz: float, kind: StringKind) -> float:
    """Return the seconds in which the fundamental of a note falls by 60 dB, of the swing that lasts."""
    return float(kind.ring_s * (82.41 / hz) ** kind.ring_falls)


def _averaged(hz: float, kind: StringKind) -> float:
    """The share of the older of the two samples that are averaged on each trip: one half dulls most, 0 not at all.

    A wound string loses its upper partials faster than a plain one; the power is fitted to the measured centres of the
    spectrum in drills/sound/STRING.md.
    """
    if not kind.plain_hz:
        return 0.5
    return min(0.5, max(_LEAST_AVERAGED, 0.5 * pow(kind.plain_hz / hz, 1.5)))


def _stretch(hz: float, kind: StringKind) -> float:
    """Inharmonicity B at a pitch: that of wound strings, and from `_PLAIN_FROM_HZ` up that of plain ones."""
    if kind.plain_stiffness and hz >= _PLAIN_FROM_HZ:
        return kind.plain_stiffness * pow(_G3_HZ / hz, kind.plain_falls)
    return kind.stiffness * pow(82.41 / hz, kind.stiffness_falls)


def _stiffness(hz: float, rate: int, kind: StringKind) -> tuple[Samples | None, float]:
    """The response of the allpass sections that stretch a string's partials, and their delay of the fundamental.

    The coefficient is found by bisection, so that the partial `_STIFF_PARTIAL` comes where it should. None where the
    stretch is too small to hear, or that partial is above the range of the rate.
    """
    import numpy as np

    stretch = _stretch(hz, kind)
    k = _STIFF_PARTIAL
    wanted_hz = k * hz * ((1 + stretch * k * k) / (1 + stretch)) ** 0.5
    if stretch * k * k < 4e-4 or wanted_hz > rate / 5:
        return None, 0.0

    def delay(coefficient: float, at_hz: float) -> float:
        """Phase delay of the sections in samples."""
        turn = 2 * pi * at_hz / rate
        z = complex(np.exp(-1j * turn))
        phase = -float(np.angle((coefficient + z) / (1 + coefficient * z)))
        return _STIFF_SECTIONS * (phase % (2 * pi)) / turn

    # A whole trip at the partial must take k turns: the delay there is shorter by what the partial is sharp.
    wanted = rate / hz - k * rate / wanted_hz
    low, high = -0.85, 0.0
    for _ in range(40):
        middle = (low + high) / 2
        if delay(middle, hz) - delay(middle, wanted_hz) > wanted:
            low = middle
        else:
            high = middle
    a = (low + high) / 2
    powers = np.arange(_STIFF_TERMS)
    one = np.concatenate(([a], (1 - a * a) * (-a) ** powers))[:_STIFF_TERMS]
    response = np.ones(1)
    for _ in range(_STIFF_SECTIONS):
        response = np.convolve(response, one)[:_STIFF_TERMS]
    heard = int(np.nonzero(np.abs(response) > _UNHEARD)[0][-1]) + 1
    return response[:heard], delay(a, hz)


def pick_noise(hz: float, rate: int, loudness: float, kind: StringKind, stroke: int = 0) -> Samples:
    """Return what the pick itself is heard by, a few milliseconds of noise; none for a string without it.

    The harder the stroke, the more of it beside the tone. It runs to the bridge and back by the place of the pluck,
    which takes out the frequencies that have a node there; nearer the middle of the string there is less of it. In
    units of the first period, as that is.
    """
    import numpy as np

    if not kind.pick:
        return np.zeros(0)
    noise = np.random.default_rng([round(hz * 1000), stroke, 1])
    place = kind.pluck_at + _PLACE_VARIES * (float(noise.uniform(-1.0, 1.0)) if stroke else 0.0)
    there_and_back = max(1, round(place * rate / hz))
    size = round(_PICK_S * rate)
    scrape = noise.normal(0.0, 1.0, size) * np.exp(-np.arange(size) / (_PICK_FALLS_S * rate))
    burst: Samples = np.zeros(size + there_and_back)
    burst[:size] += scrape
    burst[there_and_back:] -= scrape
    burst *= kind.pick * loudness**0.5 * (1 - 2 * place)
    if kind.amplified:
        long = 2 * len(burst)
        above_0 = np.fft.rfftfreq(long, 1 / rate)[1:]
        passed = np.fft.rfft(burst, long)
        passed[0], passed[1:] = 0, passed[1:] * loudspeaker(above_0)
        burst = np.fft.irfft(passed, long)
    return burst[:size]


def first_period(hz: float, rate: int, loudness: float, kind: StringKind, stroke: int = 0) -> Samples:
    """Return one period of noise with the strengths of a plucked string's harmonics.

    Only the phases are drawn at random, about a pulse at the end of the attack: a wholly
    random period (as first published) would now and then leave a note almost without its
    fundamental, and blur the onset of low ones. stroke: 0 the plain one; others are plucked a little elsewhere, a
    little brighter or darker, harder or softer.
    """
    import numpy as np

    size = int(rate / hz)
    harmonic = np.arange(1, size // 2 + 1)
    noise = np.random.default_rng(round(hz * 1000) if not stroke else [round(hz * 1000), stroke])
    place, bright, level = noise.uniform(-1.0, 1.0, 3) if stroke else (0.0, 0.0, 0.0)
    brightness_hz = min(_BRIGHTEST_HZ, kind.brightness_hz * (hz / 82.41) ** kind.brightens)
    softness = brightness_hz * (0.5 + 0.5 * loudness) * (1 + _BRIGHTNESS_VARIES * bright)
    strength = np.abs(np.sin(pi * harmonic * (kind.pluck_at + _PLACE_VARIES * place))) / harmonic
    strength = strength / np.sqrt(1 + (harmonic * hz / softness) ** 2)
    spectrum = np.zeros(size // 2 + 1, dtype=complex)
    phase = noise.normal(0.0, _PHASE_SPREAD, len(harmonic)) - 2 * pi * harmonic * hz * ATTACK_S
    spectrum[1:] = strength * np.exp(1j * phase)
    if kind.amplified:
        spectrum[1:] *= loudspeaker(harmonic * hz)
    period = np.fft.irfft(spectrum, size)
    burst: Samples = period / np.sqrt(np.mean(period**2)) * (1 + _LEVEL_VARIES * level)
    return burst
