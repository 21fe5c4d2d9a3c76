"""The tuner against strings whose pitch is known, and what it says where no sound comes in."""

from __future__ import annotations

import json
import sys
import types

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import MicrophoneError
from drills.listening.heard import Frame
from drills.listening.room import noise_of, round_trip
from drills.listening.tuner import tuned, tuner_ears
from drills.microphone.device import Microphone, load_sounddevice
from drills.microphone.wav_input import read_wav
from tests.listening.plucked import RATE, hz_of, save, take

OPEN = (40, 45, 50, 55, 59, 64)
"""MIDI numbers of E2 A2 D3 G3 B3 E4."""


def _strings(offsets, shift=0):
    return [
        (0.6 + 1.2 * n, midi + shift + cents / 100) for n, (midi, cents) in enumerate(zip(OPEN, offsets, strict=False))
    ]


def _heard(samples, rate=RATE):
    return tuner_ears(rate).take(Frame(0.0, samples)).finish().heard


@settings(max_examples=5, deadline=None)
@given(st.lists(st.floats(-45, 45), min_size=6, max_size=6), st.integers(0, 4))
def test_every_string_is_told_to_one_cent(offsets, capo):
    """Plucks detuned by known cents, each string by its own, with a capo or without."""
    shared = float(np.mean(offsets))
    offsets = [cents - shared for cents in offsets]
    found = tuned(_heard(take(_strings(offsets, capo), ring_s=1.1)), OPEN)
    assert (found.shift, found.missing) == (capo, ())
    for string, cents in zip(found.strings, offsets, strict=True):
        assert string.cents == pytest.approx(cents, abs=1.0)


@settings(max_examples=5, deadline=None)
@given(st.floats(38, 76), st.floats(0, 2e-4), st.integers(0, 99))
def test_a_stiff_string_is_told_by_its_first_harmonic(midi, stiffness, seed):
    """Sums of sines whose harmonics lie as Fletcher's equation says, to one cent."""
    rng = np.random.default_rng(seed)
    seconds = np.arange(round(1.6 * RATE)) / RATE
    played = np.clip(seconds - 0.5, 0, None)
    first = hz_of(midi) / (1 + stiffness) ** 0.5
    sound = np.zeros(len(seconds))
    for number in range(1, 13):
        hz = number * first * (1 + stiffness * number**2) ** 0.5
        if hz < RATE * 0.4:
            sound += rng.uniform(0.5, 1) / number * np.sin(2 * np.pi * hz * played + rng.uniform(0, 6)) * (played > 0)
    sound = 0.2 * sound * np.exp(-2 * played) + rng.normal(0, 1e-4, len(sound))
    (heard, *_) = [note for note in _heard(sound) if note.midi is not None]
    assert heard.pitch == pytest.approx(midi, abs=0.0101)


def test_a_string_a_semitone_off_is_no_capo():
    """One string far off, the others right."""
    found = tuned(_heard(take(_strings([0, 0, -100, 0, 0, 0]))), OPEN)
    assert found.shift == 0
    assert [string.cents for string in found.strings] == pytest.approx([0, 0, -100, 0, 0, 0], abs=1)


def test_what_was_not_heard_is_named_and_the_last_reading_counts():
    """Five strings, one of them tuned up and plucked again."""
    notes = _strings([0, -30, 0, 0, 0, 0])[:5]
    found = tuned(_heard(take([*notes, (7.0, 45.02)])), OPEN)
    assert found.missing == (1,)
    assert next(s for s in found.strings if s.string == 5).cents == pytest.approx(2, abs=1)


@pytest.mark.parametrize(("hz", "hum"), [(50, 50), (60, 60), (333, None)])
def test_hum_of_the_mains_is_told_from_noise_and_other_tones(hz, hum):
    """A tone 20 dB over white noise."""
    seconds = np.arange(3 * RATE) / RATE
    noise = np.random.default_rng(3).normal(0, 0.001, len(seconds))
    found = noise_of(noise + 0.01 * np.sin(2 * np.pi * hz * seconds), RATE)
    assert found.hum_hz == hum
    assert found.noise_db == pytest.approx(20 * np.log10(np.sqrt(0.01**2 / 2 + 1e-6)), abs=0.5)


@given(st.floats(0.001, 0.5), st.floats(0.02, 1.0))
@settings(max_examples=20, deadline=None)
def test_the_round_trip_is_found_under_noise(late, loud):
    """A click that comes back late and softer is found to a millisecond, and its level to a decibel."""
    rng = np.random.default_rng(1)
    click = rng.uniform(-0.2, 0.2, 88) * np.hanning(88)
    came = rng.normal(0, 0.0005, 5 * RATE)
    for start in (0.5, 1.5, 2.5, 3.5):
        first = round((start + late) * RATE)
        came[first : first + 88] += loud * click
    found = round_trip(came, click, (0.5, 1.5, 2.5, 3.5), RATE)
    assert found.seconds == pytest.approx(late, abs=0.001)
    assert found.bleed_db == pytest.approx(20 * np.log10(loud * np.abs(click).max()), abs=1)
    assert round_trip(rng.normal(0, 0.001, 5 * RATE), click, (0.5, 1.5, 2.5, 3.5), RATE) is None


def test_the_command_reads_a_recording(tmp_path, neckwork):
    """Strings in lines, the flat one with advice; the same as one document."""
    path = save(tmp_path / "open.wav", take(_strings([0, 0, -20, 0, 0, 0])))
    ran = neckwork("tuner", "--wav", str(path))
    assert ran.code == 0 and ran.err == ""
    lines = ran.out.splitlines()
    assert lines[0].startswith("string 6  E2") and lines[0].endswith("in tune")
    assert "too low" in lines[2] and "Level:" in lines[6]
    document = json.loads(neckwork("tuner", "--wav", str(path), "--json").out)
    assert document["missing"] == [] and document["shift"] == 0
    assert document["strings"][2]["cents"] == pytest.approx(-20, abs=1)


@pytest.mark.parametrize(
    ("samples", "said"),
    [(np.zeros(RATE), "allow your terminal"), (np.random.default_rng(0).normal(0, 0.001, RATE), "No string was heard")],
)
def test_silence_and_noise_are_said(samples, said, tmp_path, neckwork):
    """Exact zeros are a microphone without permission; noise is only no string."""
    ran = neckwork("tuner", "--wav", str(save(tmp_path / "no.wav", samples)))
    assert ran.code == 0 and said.lower() in ran.out.lower()


def test_a_file_that_is_no_recording_is_refused_in_a_sentence(tmp_path, neckwork):
    """Missing, of another kind, empty, of too low a rate: what is wrong and what to do, exit code 1."""
    (tmp_path / "text.wav").write_text("no sound")
    save(tmp_path / "slow.wav", np.zeros(8000), 8000)
    save(tmp_path / "empty.wav", np.zeros(0))
    for name, said in (
        ("none", "No such file"), ("text", "save it as WAV"), ("slow", "expected 16000"), ("empty", "no sound in it"),
    ):  # fmt: skip
        ran = neckwork("tuner", "--wav", str(tmp_path / f"{name}.wav"))
        assert ran.code == 1 and said in ran.err and "Traceback" not in ran.err


@pytest.mark.parametrize("width", [1, 2, 3, 4])
def test_every_width_of_sample_reads_alike(width, tmp_path):
    """The same sine as 8, 16, 24 and 32 bits, on two channels."""
    import wave

    sine = 0.5 * np.sin(np.arange(2000) / 9)
    whole = np.round(sine * 2 ** (8 * width - 1)).astype(np.int64) + (128 if width == 1 else 0)
    raw = whole.astype("<i8").view("u1").reshape(-1, 8)[:, :width]
    with wave.open(str(tmp_path / "w.wav"), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(width)
        file.setframerate(44100)
        file.writeframes(np.repeat(raw, 2, axis=0).tobytes())
    sound = read_wav(tmp_path / "w.wav")
    assert sound.rate == 44100
    assert sound.samples == pytest.approx(sine, abs=2.0 ** (1 - 8 * width))


class _PortAudioError(Exception):
    """What the library raises."""


def _library(**given):
    library = types.ModuleType("sounddevice")
    library.PortAudioError = _PortAudioError
    library.query_devices = lambda kind: {"default_samplerate": 48000.0}
    for name, value in given.items():
        setattr(library, name, value)
    return library


def _fails(error):
    def call(*_args, **_kwargs):
        raise error

    return call


@pytest.mark.parametrize(
    ("error", "said"), [(ImportError(), "pip install"), (OSError("PortAudio library not found"), "libportaudio2")]
)
def test_a_machine_without_the_library_says_what_to_install(error, said):
    """Without sounddevice, and without PortAudio, a sentence each."""
    with pytest.raises(MicrophoneError, match=said):
        load_sounddevice(_fails(error))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"query_devices": _fails(_PortAudioError("no device"))}, "no microphone is there"),
        ({"InputStream": _fails(_PortAudioError("busy"))}, "another program may hold it"),
    ],
)
def test_a_machine_without_a_microphone_says_so(given, said, monkeypatch, neckwork):
    """No device, or one that another program holds: a sentence and exit code 1."""
    monkeypatch.setitem(sys.modules, "sounddevice", _library(**given))
    ran = neckwork("tuner")
    assert ran.code == 1 and said in ran.err


def test_a_device_that_is_lost_in_mid_take_is_said(monkeypatch):
    """Frames come, one after an overflow with its time moved on, then none any more."""

    class Stream:
        def __init__(self, callback, **_given):
            self.callback = callback

        def start(self):
            for lost in (0, 0, 1):
                self.callback(np.ones((480, 1), np.float32), 480, None, lost)

        def close(self):
            self.closed = True

    monkeypatch.setattr("drills.microphone.device._PATIENCE_S", 0.05)
    times = []
    with pytest.raises(MicrophoneError, match="lost in mid-take"), Microphone(_library(InputStream=Stream)) as open_one:
        for frame in open_one.frames():
            times.append(frame.at_s)
    assert times == pytest.approx([0.0, 0.01, 0.07])
    assert open_one.overflows == 1


def test_the_microphone_live(monkeypatch, neckwork):
    """Five seconds of quiet, then six strings through a device that plays a recording at once."""
    quiet = np.random.default_rng(0).normal(0, 0.0005, round(5.2 * RATE))
    sound = np.concatenate((quiet, take(_strings([0, 0, 0, 12, 0, 0]))))

    class Stream:
        def __init__(self, callback, blocksize, **_given):
            self.callback, self.size = callback, blocksize

        def start(self):
            for first in range(0, len(sound) - self.size, self.size):
                self.callback(sound[first : first + self.size, None], self.size, None, 0)

        def close(self):
            self.closed = True

    library = _library(InputStream=Stream, query_devices=lambda kind: {"default_samplerate": float(RATE)})
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    monkeypatch.setattr("drills.microphone.device._PATIENCE_S", 0.2)
    monkeypatch.setattr("drills.cli.tuner._MOST_S", 13.0)
    ran = neckwork("tuner")
    assert ran.code == 0
    assert "string 3  G3    +12" in ran.out.replace("+11.9", "+12").replace("+12.1", "+12")
    assert "Be still" in ran.err and "Noise:" in ran.out


def test_starting_the_tool_loads_nothing_of_listening(tmp_path):
    """Neither a shape nor the list of commands pays for ears."""
    import os
    import subprocess

    code = (
        "import sys; from drills.cli import main; main(['shape', 'Cmaj7']); "
        "ears = ('drills.listening', 'drills.microphone', 'drills.pitch_models'); "
        "sys.exit(any(m.startswith(ears) for m in sys.modules))"
    )
    env = {**os.environ, "NECKWORK_HOME": str(tmp_path)}
    assert subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, check=False).returncode == 0
