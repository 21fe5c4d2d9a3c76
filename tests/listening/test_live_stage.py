"""A stage heard while its track sounds: notes and time where the device was measured, notes alone where it was not."""

from __future__ import annotations

import threading
import time
from dataclasses import replace

import numpy as np
import pytest

from drills.band.band import band
from drills.changes.changes_reading import parse_changes
from drills.cli.live_stage import LiveStage, open_live_stage
from drills.listening.heard import Frame
from drills.listening.room import StartDelay
from drills.microphone.duplex import Began
from drills.microphone.kept_delays import keep_delay
from drills.neck.neck import Neck
from drills.session import stage_practice
from drills.session.session_sentences import NOT_TIMED
from drills.session.stage_practice import StageHeard, StageHearing, practise
from drills.shapes.finder import ShapeFinder
from drills.sound.mix import LEAD_IN_S
from drills.sound.playback import Playback
from drills.sound.score import Score
from drills.tunes.stages.stage_due import due_of
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import STAGES, stage_lines
from drills.tunes.stages.ticket import StageTicket
from tests.listening.simulated_room import SimulatedRoom

TRIP_S = 0.14
MOST_LOOKS = 60_000
DEVICES = "simulated input > simulated output"


@pytest.fixture(scope="module")
def stage():
    """Two bars at 160: stage 3, its line, its track, and what is due when after the track's beginning."""
    finder = ShapeFinder(Neck())
    page = replace(parse_changes("key: F\n| F7 | Bb7 |"), tempo=160.0)
    lines = stage_lines(3, stage_material(page, finder)).lines[:1]
    track = band(lines[0].changes, finder)
    return finder, lines, track, due_of(lines[0], track.count_in_s)


@pytest.fixture
def played(stage, tmp_path, monkeypatch):
    """Plays the stage in a simulated room, and gives what was said and the tickets that were kept."""
    # The room is so fast that a track may be over before a machine that cannot sound would have said so.
    monkeypatch.setattr(stage_practice, "_LOOK_S", 0.0)
    finder, lines, track, due = stage
    kept = tmp_path / "sound-delays.json"

    def play(change=lambda plan: plan, keys=("b", "", "t", "q"), delay=StartDelay(TRIP_S, 0.001, 4, -20.0), **room):
        """change: what the player makes of the plan; keys: those pressed in turn, "" waits for the verdict."""
        if delay is not None:
            keep_delay(kept, DEVICES, delay)
        plan = change([(one.from_s, one.pitches[0]) for one in due])
        device = SimulatedRoom(trips_s=(TRIP_S,), plan=plan, **room)
        ears = open_live_stage(device, finder, kept)
        ears.turn_to(lines)
        said, tickets, typed, looks = [], [], list(keys), iter(range(MOST_LOOKS))

        def key():
            pressed = typed.pop(0)
            return pressed or key()

        def within(seconds):
            next(looks)
            if typed[0]:
                return typed.pop(0)
            time.sleep(seconds / 10)
            return ""

        heard = [StageHeard(line.title, (), lambda: track, lambda: track) for line in lines]
        with Playback(lambda: [ears.outlet]) as sound:
            practise(
                STAGES[2], heard, StageTicket(3), ask=key, say=said.append, sound=sound, keep=tickets.append,
                hearing=StageHearing(ears, within),
            )  # fmt: skip
        ears.close()
        assert device.closed == device.opened == 1
        return said, tickets

    return play


def test_a_stage_played_in_time_is_proposed_and_a_key_keeps_it(played):
    """Every note on what is heard of the track, 140 ms late by the device: in time; without the key no ticket."""
    said, tickets = played(keys=("b", "", "s", "t", "q"))
    assert said[2:5] == ["In time, I think.", "t keeps it.", said[4]] and said[4].startswith("In time. ")
    assert tickets == [StageTicket(3, 1)]  # by the key and not before it


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda plan: [*plan[:3], (plan[3][0] + 0.11, plan[3][1]), *plan[4:]], "and bar 1 not in time."),
        (lambda plan: [*plan[:5], (plan[5][0], plan[5][1] + 2), *plan[6:]], "Not through, I think: bar 2"),
        (lambda plan: plan[:4], "Not through, I think: bar 2"),
    ],
)
def test_what_was_not_right_or_late_is_said_and_nothing_is_kept(played, change, said):
    """One note 110 ms late, another note, a bar left out: by bar, and no ticket is offered."""
    told, tickets = played(change, keys=("b", "", "q"))
    assert any(said in line for line in told) and "t keeps it." not in told and tickets == []


def test_without_a_measured_device_notes_are_judged_and_time_never_is(played):
    """Right notes are said, with what to do; a late note is no less right, and another note is still found."""
    for delay, late_s in ((None, 0.0), (StartDelay(TRIP_S, 0.03, 4, -20.0), 0.11)):
        told, _ = played(
            lambda plan, late_s=late_s: [*plan[:3], (plan[3][0] + late_s, plan[3][1]), *plan[4:]],
            keys=("b", "", "q"), delay=delay,
        )  # fmt: skip
        assert f"The notes were right, I think. {NOT_TIMED} Your word?" in told and "t keeps it." not in told
        assert not any("ms late" in line for line in told)
    told, _ = played(lambda plan: [*plan[:5], (plan[5][0], plan[5][1] + 2), *plan[6:]], keys=("b", "", "q"), delay=None)
    assert any("Not through, I think: bar 2" in line for line in told)


@pytest.mark.parametrize(
    ("room", "said"),
    [({"lost_after_s": 2.0}, "Not listening: the microphone was lost"), ({"lossy_at_s": 2.0}, "was lost on the way")],
)
def test_a_device_that_fails_brings_no_verdict(played, monkeypatch, room, said):
    """Pulled out in mid-take, or with sound lost on the way: a sentence, nothing proposed, and the keys go on."""
    monkeypatch.setattr("drills.microphone.device._PATIENCE_S", 1.0)
    told, tickets = played(keys=("b", "", "t", "q"), **room)
    assert any(said in line for line in told) and not any("I think" in line for line in told)
    assert tickets == [StageTicket(3, 1)]  # the player's own word, as ever


def test_a_key_that_ends_the_track_ends_the_take(played):
    """Silence, the line, leaving: what was played until then is not judged."""
    for keys in (("b", "s", "q"), ("b", "enter", "q"), ("b", "q")):
        told, _ = played(keys=keys)
        assert not any("think" in line or "hear" in line for line in told[2:])


@pytest.mark.parametrize("key", ["n", "o", "h", "u"])
def test_a_key_that_leaves_the_track_sounding_leaves_the_take(played, key):
    """With one line there is no next one, and the open stage is where one stands: the track is heard to its end."""
    told, _ = played(keys=("b", key, "", "q"))
    assert "In time, I think." in told


class LateDevice:
    """Frames at three moments: the beginning, and, each when asked for, a second before and after all has come in."""

    def __init__(self, end_s):
        self.rate, self.told_delay_s, self.began = 22_050, 1.5, None
        self.moments = [(at_s, threading.Event(), threading.Event()) for at_s in (0.0, end_s + 0.5, end_s + 2.5)]

    def frames(self):
        for at_s, asked, passed in self.moments:
            asked.wait(60)
            yield Frame(at_s, np.zeros(220))
            passed.set()

    def close(self):
        pass

    def pass_on(self, number):
        _, asked, passed = self.moments[number]
        asked.set()
        assert passed.wait(60)


def test_a_stage_hears_on_where_the_file_of_round_trips_is_broken(stage, tmp_path):
    """As with a device that was never measured: notes and no time, and what became of the file is said."""
    (kept := tmp_path / "sound-delays.json").write_text("{")
    ears = open_live_stage(SimulatedRoom(), stage[0], kept)
    assert not ears.timed and "set aside as sound-delays.json.broken" in ears.said
    ears.close()


@pytest.mark.parametrize("delay", [None, StartDelay(1.5, 0.001, 4, -20.0)])
def test_a_late_device_is_waited_for(stage, delay):
    """Where sound comes in a second and a half late, so does the last note: nothing is told before it can be heard."""
    finder, lines, track, _ = stage
    device = LateDevice(LEAD_IN_S + track.length_s + 0.6)
    ears = LiveStage(device, finder, delay)
    ears.turn_to(lines)
    ears.begin(0, track)
    device.began = Began(0.0, time.monotonic())
    ears.start()
    for number, told in ((0, False), (1, False), (2, True)):
        device.pass_on(number)
        assert (ears.told() is not None) == told
    ears.close()


def test_what_the_line_itself_sounds_is_never_heard_as_playing(played):
    """Enter plays the line with the track: the speaker would be taken for the player, so nothing is judged."""
    told, tickets = played(lambda plan: [], keys=("enter", "q"), bleed=0.5)
    assert not any("think" in line for line in told) and tickets == []


def test_a_track_begun_at_another_time_asks_to_measure_again(played):
    """A device that now sounds 0.34 s later than it was measured: neither in time nor late, but what to do."""
    wrongly = StartDelay(0.0, 0.001, 4, -20.0)
    told, _ = played(lambda plan: [(at + 0.2, midi) for at, midi in plan], keys=("b", "", "q"), delay=wrongly)
    assert any("run neckwork tuner --clicks again" in line for line in told)
    assert not any("In time" in line for line in told)


def test_the_score_is_silent_before_its_first_tone_by_as_much_as_the_room_counts(stage):
    """The simulated player counts from the first sound of the track, which is its first sample or nearly."""
    _, _, track, _ = stage
    assert isinstance(track, Score) and min(tone.start_s for tone in track.tones) == 0.0
