"""Every note that leaves the tool as a WAV has the pitch it should have."""

from __future__ import annotations

import numpy as np
import pytest

from drills.errors import SoundError
from drills.sound.patterns import drone
from drills.sound.pluck import BASS, pluck
from drills.sound.score import Score, Tone, tone
from drills.sound.wav import wav_bytes
from drills.theory.note import hz_of_midi
from tests.sound.measure import cents, fundamental_hz, read_wav, render

# From the open A of a low seventh string to fret 24 of string 1.
GUITAR_KEYS = range(33, 89)


def measured_hz(score: Score, after_s: float = 0.7) -> float:
    """Return the fundamental of the score's WAV, past the rise of its opening gain."""
    samples, rate = read_wav(wav_bytes(score))
    return fundamental_hz(samples[round(after_s * rate) :], rate)


def test_hertz_are_equal_tempered_from_a_440() -> None:
    """A4 is 440 Hz and an octave doubles (ISO 16); the open low E is 82.41 Hz."""
    assert hz_of_midi(69) == 440
    assert hz_of_midi(81) == 880
    assert hz_of_midi(40) == pytest.approx(82.4069, abs=1e-4)


@pytest.mark.parametrize("midi", GUITAR_KEYS)
def test_a_plucked_note_is_in_tune(midi: int) -> None:
    """The fundamental of every note of a guitar lies within 3 cents of equal temperament."""
    score = Score((tone(midi, 0.0, 1.6),))
    expected = 440 * 2 ** ((midi - 69) / 12)
    assert abs(cents(measured_hz(score), expected)) < 3


@pytest.mark.parametrize("midi", range(28, 53, 4))
def test_a_bass_note_is_in_tune(midi: int) -> None:
    """The darker bass string is tuned as well as the guitar's."""
    score = Score((tone(midi, 0.0, 1.6, voice="bass"),))
    assert abs(cents(measured_hz(score), hz_of_midi(midi))) < 3


@pytest.mark.parametrize("rate", [22_050, 44_100, 48_000])
def test_tuning_does_not_depend_on_the_rate(rate: int) -> None:
    """A note is in tune at every usual sample rate."""
    samples = pluck(hz_of_midi(64), 2.0, rate)
    assert abs(cents(fundamental_hz(samples[rate // 4 :], rate), hz_of_midi(64))) < 3


@pytest.mark.parametrize("midi", [36, 47, 60])
def test_a_drone_stays_in_tune_to_its_end(midi: int) -> None:
    """After forty seconds, blocks apart, a drone still has its pitch, and has no seam."""
    samples = render(drone([midi], 43.0))
    rate = 44_100
    late = samples[round(39.0 * rate) : round(41.0 * rate)]
    assert abs(cents(fundamental_hz(late, rate), hz_of_midi(midi))) < 3
    steps = np.abs(np.diff(samples))
    join = round(20.0 * rate)
    assert steps[join - 50 : join + 50].max() <= steps[rate * 15 : rate * 16].max() * 1.001


def test_a_mistuned_string_is_heard_by_the_measurement() -> None:
    """The measurement tells 4 cents from none, so the checks above can fail."""
    sharp = Tone(hz_of_midi(52) * 2 ** (4 / 1200), 0.0, 1.6)
    assert cents(measured_hz(Score((sharp,))), hz_of_midi(52)) == pytest.approx(4, abs=0.5)


def test_the_same_note_is_always_the_same_samples() -> None:
    """Nothing is left to chance: the noise is seeded by the pitch."""
    first = wav_bytes(Score((tone(50, 0.0, 0.5),)))
    pluck.__globals__["_pluck"].cache_clear()
    assert wav_bytes(Score((tone(50, 0.0, 0.5),))) == first


def test_a_string_dies_away() -> None:
    """A note is far softer after two seconds than at its start, the high ones sooner."""
    rate = 44_100
    left = []
    for midi in (40, 64, 88):
        samples = pluck(hz_of_midi(midi), 3.0, rate).astype(float)
        early, late = samples[: rate // 10], samples[2 * rate : 2 * rate + rate // 10]
        left.append(np.sqrt((late**2).mean() / (early**2).mean()))
    assert 0.6 > left[0] > left[1] > left[2] > 0


def test_a_bass_is_darker_than_a_guitar() -> None:
    """Of the same note, less of the bass string's energy lies above a kilohertz."""

    def bright_share(samples: np.ndarray) -> float:
        power = np.abs(np.fft.rfft(samples)) ** 2
        return float(power[len(samples) * 1000 // 44_100 :].sum() / power.sum())

    guitar = pluck(110.0, 1.0, 44_100)
    bass = pluck(110.0, 1.0, 44_100, kind=BASS)
    assert bright_share(bass) < bright_share(guitar) / 2


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("hz", 0.0),
        ("hz", float("nan")),
        ("start_s", -1.0),
        ("length_s", 0.0),
        ("loudness", 1.5),
        ("voice", "organ"),
        ("midi", 128),
    ],
)
def test_a_tone_out_of_range_is_refused_by_name(field: str, value: object) -> None:
    """The refusal names the field and what came."""
    fields = {"hz": 440.0, "start_s": 0.0, "length_s": 1.0} | {field: value}
    with pytest.raises(SoundError, match=field) as refusal:
        Tone(**fields)
    assert repr(value) in str(refusal.value)
