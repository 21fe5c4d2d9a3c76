"""A prompt played over the click: in time is proposed where the device was measured, and only there."""

from __future__ import annotations

import time
from contextlib import closing

import pytest

from drills.cli.opened_ears import click_span, open_ears
from drills.listening.any_take import start_ears
from drills.listening.heard import Frame
from drills.listening.room import StartDelay
from drills.microphone.duplex import Began
from drills.microphone.kept_delays import keep_delay
from drills.neck.neck import Neck
from drills.session.session_ears import heard_take
from drills.session.session_sentences import NOT_TIMED
from drills.session.sounding import SoundedClick, Speaker
from drills.session.take_source import ClickSpan
from drills.shapes.answers import shapes_named
from drills.shapes.finder import ShapeFinder
from drills.theory.quality import shipped_qualities
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from tests.listening.plucked import RATE, take
from tests.listening.simulated_room import SimulatedRoom

TEMPO, TRIP_S, COUNT_IN = 150.0, 0.16, 4
MEASURED = StartDelay(TRIP_S, 0.002, 4, -20.0)
DEVICES = "simulated input > simulated output"


@pytest.fixture
def log(tmp_path):
    """An empty log."""
    with ReviewLog(tmp_path / "log.sqlite3") as one:
        yield one


@pytest.fixture
def over_a_click(sitting, tmp_path, monkeypatch):
    """Opens a session's ears in a simulated room, plays the prompt over the click, and gives what was heard of it."""
    file = tmp_path / "sound-delays.json"

    def play():
        one = sitting()
        one.start()
        one.through_lessons()
        notes = one.state.question.shapes[0].notes
        plan = [(beat * 60 / TEMPO, note.midi) for beat, note in enumerate(notes, start=COUNT_IN)]
        monkeypatch.setattr("drills.cli.opened_ears.load_sounddevice", lambda: SimulatedRoom(
            trips_s=(TRIP_S,), plan=plan, bleed=0.1, speed=30
        ))  # fmt: skip
        keep_delay(file, DEVICES, MEASURED)
        speaker = Speaker(pitched_click=False)
        ears = open_ears(None, lambda: speaker.sounding and not speaker.only_clicks, one.log, False, 40, speaker, file)
        said = speaker.click(TEMPO)
        one.drill.ears = ears.session
        end = time.monotonic() + 600
        while len([note for note in ears.takes.heard()[0].heard if note.midi]) < len(plan):
            assert time.monotonic() < end
            time.sleep(0.01)
        one.press("enter", seconds=8)
        ears.close()
        speaker.close()
        return one.state.heard, said

    return play


def test_a_note_a_click_is_in_time(over_a_click):
    """160 ms late by the device and on the click by the player."""
    heard, said = over_a_click()
    assert (heard.grade, heard.line) == (Grade.IN_TIME, "In time, I think, if you could have said the notes.")
    assert NOT_TIMED not in said


@pytest.mark.parametrize("delay", [None, StartDelay(TRIP_S, 0.05, 4, -20.0), StartDelay(TRIP_S, 0.0, 2, -20.0)])
def test_without_a_measured_device_the_click_says_what_to_do(log, tmp_path, monkeypatch, delay):
    """Nothing kept, or starts that differ or are few: the microphone is opened alone, and the click says so."""
    room = SimulatedRoom(refuses=True)
    monkeypatch.setattr("drills.cli.opened_ears.load_sounddevice", lambda: room)
    file = tmp_path / "sound-delays.json"
    if delay is not None:
        keep_delay(file, DEVICES, delay)
    speaker = Speaker(pitched_click=False, find=lambda: [])
    ears = open_ears(None, lambda: False, log, False, 40, speaker, file)
    assert speaker.click(TEMPO) == f"Click at 150: one bar in, then start. {NOT_TIMED}"
    ears.close()
    speaker.close()
    assert room.closed == 1 and room.opened == 0


def test_a_broken_file_of_round_trips_does_not_stop_the_listening(log, tmp_path, monkeypatch):
    """The microphone listens as with a device that was never measured, and the player is told why in one sentence."""
    monkeypatch.setattr("drills.cli.opened_ears.load_sounddevice", lambda: SimulatedRoom(refuses=True))
    (file := tmp_path / "sound-delays.json").write_text("no JSON")
    speaker = Speaker(pitched_click=False, find=lambda: [])
    ears = open_ears(None, lambda: False, log, False, 40, speaker, file)
    assert ears.session.listening and speaker.beside_click == NOT_TIMED
    assert "set aside as sound-delays.json.broken" in ears.said
    ears.close()
    ears = open_ears(None, lambda: False, log, False, 40, speaker, file)
    assert ears.said == ""
    ears.close()
    speaker.close()


def test_where_both_do_not_open_together_the_microphone_listens_alone(log, tmp_path, monkeypatch):
    """A device that was measured once and refuses today: notes are heard, time is not."""
    room = SimulatedRoom(refuses=True)
    monkeypatch.setattr("drills.cli.opened_ears.load_sounddevice", lambda: room)
    keep_delay(file := tmp_path / "sound-delays.json", DEVICES, MEASURED)
    speaker = Speaker(pitched_click=False, find=lambda: [])
    ears = open_ears(None, lambda: False, log, False, 40, speaker, file)
    assert ears.session.listening and speaker.beside_click == NOT_TIMED
    ears.close()
    assert room.closed == 1


def test_only_what_was_played_over_the_click_is_timed():
    """The same pass, a note each half second from 0.6 s on, over clicks of different tempi and lengths."""
    (shape, *_), _ = shapes_named(ShapeFinder(Neck()), "Cmaj7", "arpeggio", None, shipped_qualities())
    sound = take([(0.6 + 0.5 * number, note.midi) for number, note in enumerate(shape.notes)])
    ears = start_ears(RATE, grip=False).take(Frame(0.0, sound)).finish()
    late = [(0.6 + 0.5 * number + 0.11 * (number == 2), note.midi) for number, note in enumerate(shape.notes)]
    one_late = start_ears(RATE, grip=False).take(Frame(0.0, take(late))).finish()
    assert heard_take(one_late, (shape,), click=ClickSpan(120.0, 0.6, 10.0)).grade is Grade.CLEAN
    for span, grade in (
        (ClickSpan(120.0, 0.6, 10.0), Grade.IN_TIME),
        (ClickSpan(120.0, 0.6, 1.7), Grade.CLEAN),  # it ended on the way
        (ClickSpan(120.0, 1.6, 10.0), Grade.CLEAN),  # it began on the way
        (ClickSpan(120.0, 0.7, 10.0), Grade.CLEAN),  # 100 ms early
        (ClickSpan(60.0, 0.6, 10.0), Grade.CLEAN),  # two notes a click
        (None, Grade.CLEAN),
    ):
        assert heard_take(ears, (shape,), click=span).grade is grade, span


def test_a_click_that_has_not_begun_has_no_place():
    """What the stream began before the click was asked for is another sound; after another sound there is no click."""

    class Played:
        began = None
        sounded_click = SoundedClick(120.0, asked_s=50.0, length_s=10.0)

    played = Played()
    assert click_span(played, played, MEASURED) is None
    played.began = Began(3.0, clock_s=49.9)
    assert click_span(played, played, MEASURED) is None
    played.began = Began(3.0, clock_s=50.1)
    assert click_span(played, played, MEASURED) == ClickSpan(120.0, 3.22, 13.22)  # with 60 ms of silence before it
    for stopped_s, until_s in ((52.1, 5.16), (70.0, 13.22)):  # two seconds after its first sample, and after its end
        played.sounded_click = SoundedClick(120.0, asked_s=50.0, length_s=10.0, stopped_s=stopped_s)
        assert click_span(played, played, MEASURED).until_s == pytest.approx(until_s)
    played.sounded_click = None
    assert click_span(played, played, MEASURED) is None


def test_a_click_that_was_stopped_is_not_played_over_any_more():
    """Silence ends the click at that moment, and a second silence changes nothing; another click has no end yet."""
    with closing(Speaker(pitched_click=False, find=lambda: [])) as speaker:
        speaker.click(TEMPO)
        assert speaker.sounded_click.stopped_s is None
        speaker.stop()
        stopped = speaker.sounded_click
        assert stopped.asked_s <= stopped.stopped_s <= time.monotonic()
        speaker.stop()
        assert speaker.sounded_click == stopped
