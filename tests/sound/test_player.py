"""The player: nothing waits for it, the latest wish wins, and a machine without sound is fine."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
import wave
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from drills.sound.outlets import DeviceOutlet, SystemOutlet, find_outlets
from drills.sound.patterns import drone
from drills.sound.playback import Playback
from drills.sound.score import Score, tone

SHORT = Score((tone(60, 0.0, 0.05),))
PATIENCE_S = 20.0


class FakeOutlet:
    """Remembers what it was given; a sound lasts until stopped or for a number of looks."""

    name = "fake"

    def __init__(self, looks: float = 1, code: int = 0, refuse: bool = False):
        self.looks, self.code, self.refuse = looks, code, refuse
        self.lengths: list[int] = []
        self.stopped = 0
        self.started = threading.Event()

    def start(self, path: Path) -> SimpleNamespace:
        if self.refuse:
            raise OSError("busy")
        with wave.open(str(path)) as file:
            self.lengths.append(file.getnframes())
        self.started.set()
        left = [self.looks]

        def poll() -> int | None:
            left[0] -= 1
            return self.code if left[0] < 0 else None

        def stop() -> None:
            self.stopped += 1

        return SimpleNamespace(poll=poll, stop=stop)


def test_a_score_is_played_to_its_end() -> None:
    """The score reaches the outlet as a WAV file, once, and the player comes to rest."""
    outlet, told = FakeOutlet(), threading.Event()
    with Playback(lambda: [outlet], notify=told.set) as player:
        player.play(SHORT)
        assert player.wait(PATIENCE_S)
        assert told.wait(PATIENCE_S)
        assert len(outlet.lengths) == 1
        assert outlet.stopped == 0
        assert player.take_notice() is None


def test_asking_returns_before_anything_is_rendered() -> None:
    """`play` and `stop` return at once while the machine is still being searched for players."""
    gate = threading.Event()

    def slow_search() -> list:
        gate.wait(PATIENCE_S)
        return []

    with Playback(slow_search) as player:
        player.play(drone([40], 20.0))
        player.stop()
        player.play(SHORT)
        assert not player.wait(0.01)
        gate.set()
        assert player.wait(PATIENCE_S)


def test_the_latest_wish_wins() -> None:
    """A new score ends the one that sounds and is played in its place."""
    outlet = FakeOutlet(looks=float("inf"))
    with Playback(lambda: [outlet]) as player:
        player.play(SHORT)
        assert outlet.started.wait(PATIENCE_S)
        outlet.started.clear()
        outlet.looks = 1
        player.play(drone([40], 2.0))
        assert outlet.started.wait(PATIENCE_S)
        assert player.wait(PATIENCE_S)
        assert outlet.stopped == 1
        assert outlet.lengths[1] > outlet.lengths[0]


def test_stopping_ends_the_sound() -> None:
    """`stop` ends what sounds; the next wish is played as usual."""
    outlet = FakeOutlet(looks=float("inf"))
    with Playback(lambda: [outlet]) as player:
        player.play(SHORT)
        assert outlet.started.wait(PATIENCE_S)
        player.stop()
        assert player.wait(PATIENCE_S)
        assert outlet.stopped == 1
        outlet.looks = 1
        player.play(SHORT)
        assert player.wait(PATIENCE_S)
        assert len(outlet.lengths) == 2


def test_no_way_to_play_is_said_once_and_passed_over() -> None:
    """Without any outlet the player is told so once, and later wishes do nothing."""
    with Playback(list) as player:
        player.play(SHORT)
        assert player.wait(PATIENCE_S)
        assert "No sound" in (player.take_notice() or "")
        player.play(SHORT)
        assert player.wait(PATIENCE_S)
        assert player.take_notice() is None


def test_an_outlet_that_fails_gives_way_to_the_next() -> None:
    """One that cannot start and one that ends with an error are each tried once only."""
    refusing, failing, good = FakeOutlet(refuse=True), FakeOutlet(code=1), FakeOutlet()
    with Playback(lambda: [refusing, failing, good]) as player:
        for _ in range(2):
            player.play(SHORT)
            assert player.wait(PATIENCE_S)
        assert len(failing.lengths) == 1
        assert len(good.lengths) == 2
        assert player.take_notice() is None


def test_a_sound_ended_by_a_signal_is_no_fault() -> None:
    """A player process that someone killed is used again."""
    outlet = FakeOutlet(code=-15)
    with Playback(lambda: [outlet]) as player:
        for _ in range(2):
            player.play(SHORT)
            assert player.wait(PATIENCE_S)
        assert len(outlet.lengths) == 2


@pytest.mark.parametrize("fault", [RuntimeError("odd library"), OSError("no space left")])
def test_a_fault_is_said_and_never_raised(fault: Exception, capfd: pytest.CaptureFixture[str]) -> None:
    """Whatever a sound library does, the screen stays clean and one line says what happened."""

    def find() -> list:
        raise fault

    with Playback(find) as player:
        player.play(SHORT)
        assert player.wait(PATIENCE_S)
        assert player.take_notice() == f"No sound: {fault}."
    assert capfd.readouterr() == ("", "")


def test_no_place_for_a_file_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a writable folder there is no sound, one line, and no hanging wait."""
    monkeypatch.setattr("tempfile.tempdir", "/nowhere/at/all")
    with Playback(lambda: [FakeOutlet()]) as player:
        player.play(SHORT)
        assert player.wait(PATIENCE_S)
        assert "No sound" in (player.take_notice() or "")


def test_closing_leaves_silence_and_no_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """After `close` nothing sounds, nothing more is played, and no file is left."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    outlet = FakeOutlet(looks=float("inf"))
    player = Playback(lambda: [outlet])
    player.play(SHORT)
    assert outlet.started.wait(PATIENCE_S)
    player.close(PATIENCE_S)
    player.close()
    player.play(SHORT)
    assert player.wait(0)
    assert outlet.stopped == 1
    assert list(tmp_path.iterdir()) == []


def wait_until(condition: Callable[[], bool]) -> None:
    """Wait for a condition, or fail."""
    end = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < end
        time.sleep(0.01)


def script(folder: Path, name: str, body: str) -> str:
    """Write an executable Python script and return its path."""
    place = folder / name
    place.write_text(f"#!{sys.executable}\nimport os, signal, sys, time\n{body}\n")
    place.chmod(0o755)
    return str(place)


def test_a_system_player_is_run_and_ended(tmp_path: Path) -> None:
    """A real process gets the file, is out of our terminal, and is gone after `stop`."""
    note = tmp_path / "note"
    place = script(
        tmp_path,
        "aplay",
        f"open({str(note)!r}, 'w').write(f'{{os.getpid()}} {{os.getsid(0)}} {{sys.argv[1:]}}')\ntime.sleep(60)",
    )
    outlets = find_outlets(which=lambda name: place if name == "aplay" else None, load=missing, popen=subprocess.Popen)
    assert [outlet.name for outlet in outlets] == ["aplay"]
    with Playback(lambda: outlets) as player:
        player.play(SHORT)
        wait_until(lambda: note.exists() and "]" in note.read_text())
        pid, session, arguments = note.read_text().split(" ", 2)
        assert pid == session
        assert arguments.startswith("['-q', ")
        player.stop()
        assert player.wait(PATIENCE_S)
        with pytest.raises(ProcessLookupError):
            os.kill(int(pid), 0)


def test_a_player_that_will_not_end_is_killed(tmp_path: Path) -> None:
    """A process deaf to a polite request is ended all the same, within a second or so."""
    ready = tmp_path / "ready"
    place = script(
        tmp_path,
        "paplay",
        f"signal.signal(signal.SIGTERM, signal.SIG_IGN)\nopen({str(ready)!r}, 'w').close()\ntime.sleep(60)",
    )
    playing = SystemOutlet((place,)).start(tmp_path / "a.wav")
    wait_until(ready.exists)
    assert playing.poll() is None
    playing.stop()
    assert playing.poll() == -9
    playing.stop()


def missing(name: str) -> None:
    """Load nothing, as on a machine without the library."""
    raise ModuleNotFoundError(name)


def no_portaudio(name: str) -> None:
    """Fail as sounddevice does where PortAudio is not installed."""
    raise OSError("PortAudio library not found")


@pytest.mark.parametrize("load", [missing, no_portaudio])
def test_system_players_stand_in_for_the_library(load: Callable) -> None:
    """Without the library the system's players are tried in a fixed order."""
    found = find_outlets(which=lambda name: f"/usr/bin/{name}", load=load)
    assert [outlet.name for outlet in found] == [
        "afplay",
        "pw-play",
        "paplay",
        "aplay",
        "play",
        "ffplay",
    ]


class FakeDevice:
    """The part of the sounddevice library that is used, driven by hand."""

    class PortAudioError(Exception):
        """What the library raises."""

    class CallbackStop(Exception):
        """What a callback raises to end its stream."""

    def __init__(self, broken: bool = False):
        self.broken, self.heard, self.stream = broken, [], None

    def OutputStream(self, *, samplerate: int, channels: int, dtype: str, callback: Callable):
        if self.broken:
            raise self.PortAudioError("no default output device")
        assert (channels, dtype, samplerate) == (1, "int16", 44_100)
        self.stream = SimpleNamespace(active=True, closed=False, callback=callback)
        self.stream.start = lambda: None
        self.stream.stop = lambda: setattr(self.stream, "active", False)
        self.stream.close = lambda: setattr(self.stream, "closed", True)
        return self.stream

    def pull(self, frames: int) -> None:
        """Ask for frames as the sound card would."""
        out = np.full((frames, 1), 7, dtype=np.int16)
        try:
            self.stream.callback(out, frames, None, None)
        except self.CallbackStop:
            self.stream.active = False
        self.heard.append(out[:, 0].copy())

    def sleep(self, milliseconds: int) -> None:
        """Let the card go on for a while."""
        for _ in range(0, milliseconds, 10):
            if self.stream.active:
                self.pull(441)


def flat_wav(folder: Path, frames: int) -> Path:
    """Write a WAV file of one constant value."""
    place = folder / "flat.wav"
    with wave.open(str(place), "wb") as file:
        file.setparams((1, 2, 44_100, 0, "NONE", ""))
        file.writeframes(np.full(frames, 8000, dtype="<i2").tobytes())
    return place


def test_the_device_gets_every_sample_and_then_silence(tmp_path: Path) -> None:
    """The library's callback hands over the file, fills its last buffer with silence and ends."""
    device = FakeDevice()
    playing = DeviceOutlet(device).start(flat_wav(tmp_path, 1000))
    device.pull(600)
    assert playing.poll() is None
    device.pull(600)
    assert playing.poll() == 0
    heard = np.concatenate(device.heard)
    assert (heard[:1000] == 8000).all()
    assert not heard[1000:].any()
    assert device.stream.closed


def test_the_device_fades_when_stopped(tmp_path: Path) -> None:
    """A sound stopped on the device falls to nothing over 30 ms, without a step."""
    device = FakeDevice()
    playing = DeviceOutlet(device).start(flat_wav(tmp_path, 44_100))
    device.pull(441)
    playing.stop()
    heard = np.concatenate(device.heard).astype(int)
    assert np.abs(np.diff(heard)).max() < 10
    assert heard[-1] < 10
    assert device.stream.closed


def test_a_machine_without_a_device_falls_back() -> None:
    """A library without an output device gives way to the next outlet, without a word."""
    good = FakeOutlet()
    with Playback(lambda: [DeviceOutlet(FakeDevice(broken=True)), good]) as player:
        player.play(SHORT)
        assert player.wait(PATIENCE_S)
        assert len(good.lengths) == 1
        assert player.take_notice() is None
