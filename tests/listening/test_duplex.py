"""Speaker and microphone as one stream: the round trip is measured, kept, and refused where it wavers."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import MicrophoneError
from drills.listening.room import STEADY_S, RoundTrip, StartDelay, start_delay
from drills.microphone.duplex import Duplex
from drills.microphone.kept_delays import keep_delay, kept_delay, usable_delay
from drills.microphone.start_delay import measured_start_delay
from tests.listening.plucked import save
from tests.listening.simulated_room import SimulatedRoom

SECONDS = st.floats(0.0, 1.0)


@pytest.mark.parametrize("late_s", [0.013, 0.31])
def test_the_round_trip_of_each_start_is_found(late_s):
    """Four openings of a device whose truth is known, 20 dB down: the middle to a millisecond, and their spread."""
    room = SimulatedRoom(trips_s=(late_s, late_s + 0.004, late_s - 0.002, late_s), bleed=0.1, speed=0)
    found = measured_start_delay(lambda: Duplex(room))
    assert found.seconds == pytest.approx(late_s, abs=0.001)
    assert found.spread_s == pytest.approx(0.006, abs=0.0005)
    assert found.starts == room.opened == room.closed == 4 and found.steady


def test_a_start_with_sound_lost_counts_for_nothing():
    """Where the device says in one of four starts that sound was lost, three are left; over headphones none is."""
    room = SimulatedRoom(bleed=0.3, speed=0, lossy_at_s=0.3)
    assert measured_start_delay(lambda: Duplex(room)).starts == 3
    assert measured_start_delay(lambda: Duplex(SimulatedRoom(bleed=0.0, speed=0))) is None


@given(st.lists(st.one_of(st.none(), SECONDS), max_size=8))
def test_only_starts_that_agree_may_time_notes(seconds):
    """Steady are three starts or more within 10 ms; what was not heard does not count (definition)."""
    found = start_delay([None if one is None else RoundTrip(one, -20.0) for one in seconds])
    heard = [one for one in seconds if one is not None]
    if not heard:
        assert found is None
        return
    assert found.starts == len(heard) and min(heard) <= found.seconds <= max(heard)
    assert found.steady == (len(heard) >= 3 and max(heard) - min(heard) <= STEADY_S)


def test_the_first_sample_of_a_sound_has_its_place_among_those_that_come_in(tmp_path):
    """What was played comes back, to the sample, at its beginning plus the round trip; a file is played as it is."""
    rate, trip = 22_050, 0.1
    room = SimulatedRoom(rate, (trip,), bleed=1.0, speed=0)
    sound = np.random.default_rng(4).uniform(-0.5, 0.5, 2000)
    came = []
    with Duplex(room) as device:
        playing = None
        for frame in device.frames():
            if frame.at_s > 0.2 and playing is None:
                playing = device.start(save(tmp_path / "sound.wav", sound, rate))
            came.append(frame.samples)
            if playing is not None and playing.poll() == 0 and frame.at_s > device.began.at_s + 0.5:
                break
    first = round((device.began.at_s + trip) * rate)
    heard = np.concatenate(came)[first : first + len(sound)]
    assert np.corrcoef(heard, sound)[0, 1] > 0.999


def test_after_a_sound_that_was_stopped_another_takes_its_place():
    """A new sound begins at once, and has a beginning of its own."""
    with Duplex(SimulatedRoom(bleed=1.0, speed=0)) as device:
        long = device.play(np.full(50_000, 0.5))
        first = None
        for frame in device.frames():
            if first is None and device.began is not None:
                first = device.began
                long.stop()
                assert long.poll() == 0
                device.play(np.full(500, 0.25))
            if first is not None and device.began != first:
                assert device.began.at_s > first.at_s
                break
            assert frame.at_s < 60


def test_a_stopped_sound_falls_silent_without_a_step():
    """A sound of one height that is stopped comes down to nothing in 30 ms, by no step that would be a click."""
    rate, came, loud = 22_050, [], None
    with Duplex(SimulatedRoom(rate, bleed=1.0, speed=0)) as device:
        playing = device.play(np.full(20 * rate, 0.5))
        for frame in device.frames():
            came.append(frame.samples)
            if loud is None and frame.samples.min() > 0.4:
                loud = len(came)
                playing.stop()
            if loud is not None and abs(frame.samples).max() < 0.01:
                break
    fallen = np.concatenate(came[loud - 1 :])
    on_its_way = (fallen > 0.02) & (fallen < 0.48)
    assert np.abs(np.diff(fallen)).max() < 0.01
    assert 0.9 * 0.03 * rate * 0.92 < on_its_way.sum() < 1.1 * 0.03 * rate
    assert len(fallen) < 19 * rate  # by the stop and not by its own end


def test_sound_lost_as_another_begins_does_not_part_them():
    """The device says with one block that sound was lost, and begins to play with it: both have one place."""

    class Held(SimulatedRoom):
        def Stream(self, *, callback, blocksize, **_given):
            self.block = lambda status: callback(
                np.zeros((blocksize, 1), np.float32), np.zeros((blocksize, 1), np.float32), blocksize, None, status
            )
            return SimpleNamespace(start=lambda: None, close=lambda: None)

    room = Held()
    with Duplex(room) as device:
        room.block(0)
        device.play(np.full(2000, 0.5))
        room.block(1)
        frames = device.frames()
        before, beside = next(frames), next(frames)
        assert device.began.at_s == beside.at_s > before.at_s + len(before.samples) / device.rate
        assert device.overflows == 1


@pytest.mark.parametrize(
    ("room", "said"),
    [(SimulatedRoom(refuses=True), "do not open together"), (SimulatedRoom(rate=8000), "8000 samples a second")],
)
def test_a_machine_that_cannot_do_both_says_so(room, said):
    """A sentence where speaker and microphone do not open together or the rate is out of range."""
    with pytest.raises(MicrophoneError, match=said):
        Duplex(room).open()


def test_a_machine_without_a_speaker_says_so():
    """Where there is a microphone and no speaker."""

    class Deaf(SimulatedRoom):
        def query_devices(self, kind):
            if kind == "output":
                raise self.PortAudioError("no default output device")
            return super().query_devices(kind)

    with pytest.raises(MicrophoneError, match="no speaker"):
        Duplex(Deaf())


@given(
    st.dictionaries(
        st.text(max_size=20), st.tuples(SECONDS, SECONDS, st.integers(1, 9), st.floats(-120, 0)), max_size=4
    )
)
@settings(max_examples=20, deadline=None)
def test_what_was_measured_is_kept_for_each_pair_of_devices(tmp_path_factory, known):
    """Every pair is read back as it was written, whatever its name; one that was not measured is unknown."""
    file = tmp_path_factory.mktemp("kept") / "sound-delays.json"
    assert kept_delay(file, "any") is None
    for devices, values in known.items():
        keep_delay(file, devices, StartDelay(*values))
    assert {devices: kept_delay(file, devices) for devices in known} == {
        devices: StartDelay(*values) for devices, values in known.items()
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[", "expected JSON"),
        ("[]", "expected an object of devices"),
        ('{"a > b": 4}', "seconds: expected 0.0 to 2.0, got None"),
        ('{"a > b": {"seconds": "now"}}', "seconds: expected 0.0 to 2.0, got 'now'"),
        ('{"a > b": {"seconds": 0.1, "spread_s": true}}', "spread_s: expected 0.0 to 2.0, got True"),
        ('{"a > b": {"seconds": NaN}}', "seconds: expected 0.0 to 2.0, got nan"),
    ],
)
def test_a_file_that_holds_something_else_is_refused_and_can_be_measured_anew(tmp_path, text, said):
    """The message names the file, the field and what to do; measuring again mends it."""
    file = tmp_path / "sound-delays.json"
    file.write_text(text)
    with pytest.raises(MicrophoneError, match=said) as refused:
        kept_delay(file, "a > b")
    assert "sound-delays.json" in str(refused.value) and "tuner --clicks" in str(refused.value)
    keep_delay(file, "a > b", StartDelay(0.1, 0.002, 4, -20.0))
    assert kept_delay(file, "a > b").steady


@pytest.mark.parametrize("text", ["[", "[]", '{"a > b": 4}', '{"a > b": {"seconds": 9}}'])
def test_a_broken_file_is_set_aside_and_said_once(tmp_path, text):
    """Whoever listens goes on as with devices that were never measured; what was in the file is kept beside it."""
    file = tmp_path / "sound-delays.json"
    file.write_text(text)
    delay, said = usable_delay(file, "a > b")
    assert delay is None
    assert said.startswith(f"{file}") and "expected" in said
    assert said.endswith(
        "It was set aside as sound-delays.json.broken; nothing is timed until neckwork tuner --clicks writes it anew."
    )
    assert not file.exists() and file.with_name("sound-delays.json.broken").read_text() == text
    assert usable_delay(file, "a > b") == (None, "")
    keep_delay(file, "a > b", StartDelay(0.1, 0.002, 4, -20.0))
    assert usable_delay(file, "a > b") == (StartDelay(0.1, 0.002, 4, -20.0), "")


def test_a_file_that_cannot_be_set_aside_stays_and_is_said(tmp_path):
    """A folder with its other name keeps it where it is."""
    file = tmp_path / "sound-delays.json"
    file.write_text("[")
    file.with_name("sound-delays.json.broken").mkdir()
    delay, said = usable_delay(file, "a > b")
    assert delay is None and said.endswith("Nothing is timed until neckwork tuner --clicks writes it anew.")
    assert file.read_text() == "["


def test_a_file_that_cannot_be_read_is_not_moved(tmp_path):
    """What stands there may be whole, and of use once it can be read again; a folder stands for it here."""
    file = tmp_path / "sound-delays.json"
    file.mkdir()
    delay, said = usable_delay(file, "a > b")
    assert delay is None and file.is_dir()
    assert said.endswith("Nothing is timed until it can be read, or neckwork tuner --clicks writes it anew.")


def test_the_command_measures_says_and_keeps(neckwork, monkeypatch, tmp_path):
    """Steady starts are kept for the pair of devices; starts 60 ms apart end what was kept; silence changes nothing."""
    file = tmp_path / "home" / "sound-delays.json"
    for trips, bleed, said, kept in (
        ((0.1, 0.16, 0.1, 0.13), 0.3, "differ too much", False),
        ((0.1,), 0.0, "did not come back", False),
        ((0.1,), 0.3, "Kept for simulated input > simulated output", True),
        ((0.1,), 0.0, "did not come back", True),  # what was heard before holds
    ):
        monkeypatch.setitem(sys.modules, "sounddevice", SimulatedRoom(trips_s=trips, bleed=bleed, speed=0))
        ran = neckwork("tuner", "--clicks")
        assert ran.code == 0 and said in ran.out and file.exists() == kept
        assert ("Round trip: 100 ms, within 0 ms over 4 starts." in ran.out) == said.startswith("Kept")
    assert kept_delay(file, "simulated input > simulated output").seconds == pytest.approx(0.1, abs=0.001)
    keep_delay(file, "others", StartDelay(0.2, 0.001, 4, -20.0))
    monkeypatch.setitem(sys.modules, "sounddevice", SimulatedRoom(trips_s=(0.1, 0.16), bleed=0.3, speed=0))
    assert "differ too much" in neckwork("tuner", "--clicks").out
    assert kept_delay(file, "simulated input > simulated output") is None  # it wavers now, so the old figure is no more
    assert kept_delay(file, "others").seconds == 0.2
