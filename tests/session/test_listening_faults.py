"""A sitting over a device that fails: it goes on by keys, and no grade is proposed that was not heard."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
import types

import numpy as np
import pytest

from drills.errors import MicrophoneError
from drills.listening.engine import Pitched
from drills.microphone.device import Microphone
from drills.microphone.paced_wav import paced
from drills.microphone.wav_input import WavInput
from drills.session.session_ears import SessionEars
from drills.session.take_source import ThreadedTakes
from scheduler.grade import Grade
from tests.cli.conftest import neckwork
from tests.listening.plucked import RATE, take

__all__ = ["neckwork"]


class _PortAudioError(Exception):
    """What the library raises."""


class Device:
    """A sound library whose microphone gives what the test plays into it."""

    PortAudioError = _PortAudioError

    def __init__(self, rate=RATE, opens=True):
        self.rate, self.opens, self.closed = rate, opens, False

    def query_devices(self, kind):
        """The usual microphone."""
        return {"default_samplerate": float(self.rate)}

    def InputStream(self, *, callback, blocksize, **_given):
        """An open microphone."""
        if not self.opens:
            raise _PortAudioError("Device unavailable")
        self.callback, self.size = callback, blocksize
        return self

    def start(self):
        """Sound may come from now on."""

    def close(self):
        """The device is given back."""
        self.closed = True

    def play(self, sound, lost_at=None):
        """Gives a sound to the tool, in blocks; before the one numbered `lost_at` some were lost."""
        for number, first in enumerate(range(0, len(sound) - self.size + 1, self.size)):
            block = sound[first : first + self.size, None].astype(np.float32)
            self.callback(block, self.size, None, int(number == lost_at))


@pytest.fixture
def heard_by(sitting, monkeypatch):
    """A function that opens a sitting over a device; it is brought to its first prompt."""
    opened = []

    def open_one(device):
        monkeypatch.setattr("drills.microphone.device._PATIENCE_S", 10.0)
        one = sitting()
        microphone = Microphone(device).open()
        takes = ThreadedTakes(microphone.frames(), microphone.rate).start()
        opened.append((takes, microphone))
        one.drill.ears = SessionEars(takes)
        one.start()
        one.through_lessons()
        one.takes = takes
        return one

    yield open_one
    for takes, microphone in opened:
        takes.close()
        microphone.close()


def _all_heard(one, sound):
    """Waits until the thread has taken in a sound."""
    end = time.monotonic() + 5
    while one.takes.heard()[0].now_s < len(sound) / RATE - 0.05 and time.monotonic() < end:
        time.sleep(0.005)


def _pass(one):
    """A clean pass over what is asked."""
    notes = one.state.question.shapes[0].notes
    return take([(0.6 + 0.6 * number, note.midi) for number, note in enumerate(notes)], tail_s=0.2)


def _answered(one, device, sound, lost_at=None):
    device.play(sound, lost_at)
    _all_heard(one, sound)
    one.press("enter", seconds=8)
    return one.state.heard


def test_a_sound_device_brings_a_proposal(heard_by):
    """The way from the device's callback to the answer, whole; the faults below are told from this."""
    one = heard_by(device := Device())
    assert _answered(one, device, _pass(one)).grade is Grade.CLEAN


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("zeros", "gives nothing"),
        ("clipped", "clipped"),
        ("overflow", "was lost on the way"),
        ("quiet", "too quiet"),
    ],
)
def test_sound_that_is_not_fit_to_judge_brings_no_grade(heard_by, fault, said):
    """The reason stands with the answer, nothing is drawn as wrong, and the key grades as ever."""
    one = heard_by(device := Device())
    sound = _pass(one)
    peak = np.abs(sound).max()
    sound = {
        "zeros": sound * 0.0,
        "clipped": np.clip(sound * 8 / peak, -1, 1),
        "overflow": sound,
        "quiet": sound * 1e-3 / peak,
    }[fault]
    heard = _answered(one, device, sound, lost_at=150 if fault == "overflow" else None)
    assert heard.grade is None and said in heard.line and set(heard.glyphs) == {""} and heard.notes == ()
    one.press("c")
    assert one.firsts()[-1].grade is Grade.CLEAN


def test_a_device_that_is_lost_in_mid_take_ends_the_listening(heard_by, monkeypatch):
    """Half a take is not judged; the session says it once and goes on to its next prompt."""
    one = heard_by(device := Device())
    monkeypatch.setattr("drills.microphone.device._PATIENCE_S", 0.1)
    sound = _pass(one)
    device.play(sound[: len(sound) // 2])
    end = time.monotonic() + 20
    while not one.takes.trouble and time.monotonic() < end:
        time.sleep(0.01)
    assert one.drill.tick() and "lost in mid-take" in one.state.note
    one.press("enter", seconds=8)
    assert one.state.heard is None
    one.press("c")
    assert len(one.firsts()) == 1 and one.log.witnessed() == []


def test_a_fault_in_the_listening_itself_is_no_end_of_the_session(sitting):
    """Whatever an engine raises is told in a sentence."""

    class Broken:
        name, version = "broken", 1

        def pitch_of(self, before, after, rate):
            raise ZeroDivisionError

    one = sitting()
    sound = WavInput(take([(0.6, 48)]), RATE)
    takes = ThreadedTakes(paced(sound, lambda: 0.0, lambda _: None), RATE, engine=Broken()).start()
    one.drill.ears = SessionEars(takes)
    end = time.monotonic() + 20
    while not takes.trouble and time.monotonic() < end:
        time.sleep(0.01)
    one.drill.tick()
    assert one.state.note == "Not listening: a fault in the listening (ZeroDivisionError). The session goes on by keys."


def test_no_key_waits_for_an_engine():
    """While an engine is at work what was heard is told, and a new take begins; the old sound is none of it."""
    at_work, done = threading.Event(), threading.Event()

    class Slow:
        name, version, lowest, highest = "slow", 1, 26, 90

        def pitch_of(self, before, after, rate):
            at_work.set()
            assert done.wait(20)
            return Pitched(48.0, 0.9)

    sound = WavInput(take([(0.6, 48)]), RATE)
    takes = ThreadedTakes(paced(sound, lambda: 0.0, lambda _: None), RATE, engine=Slow()).start()
    assert at_work.wait(20)
    assert takes.heard()[0].heard == ()
    takes.begin()
    done.set()
    end = time.monotonic() + 20
    while not takes.trouble and time.monotonic() < end:
        time.sleep(0.01)
    assert takes.trouble == "the recording is over"
    assert all(note.midi is None for note in takes.heard()[0].heard)


@pytest.mark.parametrize(
    ("device", "said"),
    [
        (Device(rate=8000), "8000 samples a second"),
        (Device(opens=False), "another program may hold it"),
        (None, "pip install"),
    ],
    ids=["wrong rate", "held by another program", "no library"],
)
def test_a_session_that_cannot_listen_says_why_and_begins(device, said, neckwork, monkeypatch):
    """It stands with the plan, and everything else works."""
    if device is None:
        monkeypatch.setitem(sys.modules, "sounddevice", None)
    else:
        library = types.ModuleType("sounddevice")
        for name in ("PortAudioError", "query_devices", "InputStream"):
            setattr(library, name, getattr(device, name))
        monkeypatch.setitem(sys.modules, "sounddevice", library)
    lines = iter(["", "", "q", "q"])
    monkeypatch.setattr("builtins.input", lambda: next(lines))
    ran = neckwork("session", "--listen", "--plain", "--quiet")
    assert ran.code == 0 and ran.out.count("Not listening: ") == 1 and said in ran.out
    assert "The microphone is on" not in ran.out and "Enter when played." in ran.out


def test_the_device_is_given_back_after_the_session(neckwork, monkeypatch):
    """The microphone is open for the sitting and no longer."""
    device = Device()
    library = types.ModuleType("sounddevice")
    for name in ("PortAudioError", "query_devices", "InputStream"):
        setattr(library, name, getattr(device, name))
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    lines = iter(["q", "q"])
    monkeypatch.setattr("builtins.input", lambda: next(lines))
    ran = neckwork("session", "--listen", "--plain", "--quiet")
    assert ran.code == 0 and "The microphone is on." in ran.out and device.closed


def test_a_device_that_opens_and_does_not_begin_is_given_back():
    """Another program may take it in between."""

    class Taken(Device):
        def start(self):
            raise _PortAudioError("Device busy")

    device = Taken()
    with pytest.raises(MicrophoneError, match="another program may hold it"):
        Microphone(device).open()
    assert device.closed


def test_a_recording_that_is_none_is_said(neckwork, monkeypatch, tmp_path):
    """The file's fault stands with the plan."""
    (tmp_path / "no.wav").write_bytes(b"RIFF")
    monkeypatch.setattr("builtins.input", lambda: "q")
    ran = neckwork("session", "--recording", str(tmp_path / "no.wav"), "--plain", "--quiet")
    assert ran.code == 0 and "no WAV file of plain samples" in ran.out


def test_a_recording_comes_in_at_its_own_pace():
    """Each frame is given when its last sample would have been captured, and no sooner; late ones at once."""
    now, waited = [100.0], []

    def wait(seconds):
        waited.append(seconds)
        now[0] += seconds

    frames = []
    for frame in paced(WavInput(np.zeros(RATE), RATE), lambda: now[0], wait):
        frames.append(frame)
        assert now[0] == pytest.approx(100.0 + frame.at_s + len(frame.samples) / RATE, abs=1e-6)
        if len(frames) == 50:
            break
    assert len(waited) == 50


def test_a_session_that_does_not_listen_loads_nothing_of_it(tmp_path):
    """Neither ears nor microphone nor voice: it starts as fast as before there were any."""
    code = (
        "import sys; from drills.cli import main; main(['session', '--plain', '--quiet']); "
        "loaded = [m for m in sys.modules if m.startswith(('drills.listening', 'drills.microphone', "
        "'drills.pitch_models', 'drills.session.session_ears', 'drills.session.hands_free', "
        "'drills.session.announcer'))]; "
        "print(loaded, file=sys.stderr); sys.exit(bool(loaded))"
    )
    env = {**os.environ, "NECKWORK_HOME": str(tmp_path)}
    ran = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, input=b"q\n", check=False)
    assert ran.returncode == 0, ran.stderr.decode()
