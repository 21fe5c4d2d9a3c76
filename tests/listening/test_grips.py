"""Grips: each note looked for at its own pitch and beside it; a right one is never called wrong to be clever."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.listening.any_take import source_of, start_ears, take_over, take_verdict
from drills.listening.evaluate.grip_takes import GRIP_FAULTS, counted_grip, grip_take
from drills.listening.evaluate.instruments import instruments
from drills.listening.grip_ears import GripEars, grip_verdict
from drills.listening.heard import Frame, Judged, NoteVerdict, Target
from drills.listening.proposal import propose
from tests.listening.plucked import RATE, hz_of, save, take

ASKED = (48, 58, 63, 66)
"""C Bb Eb Gb: Cm7b5 on strings 5 3 2 1."""


def strum(pitches, start_s=0.5, **more):
    """Strings struck one after another within 45 ms, and left to ring."""
    return take([(start_s + 0.015 * number, midi) for number, midi in enumerate(pitches)], tail_s=0.2, **more)


def _verdict(samples, asked=ASKED):
    return grip_verdict(GripEars.start(RATE).take(Frame(0.0, samples)), asked)


def _judged(verdict):
    return [note.judged.value for note in verdict.notes]


def test_right_wrong_and_silent_strings():
    """All there; one a semitone off is named; one that does not sound is missing, and nothing else is touched."""
    assert _judged(_verdict(strum(ASKED))) == ["right"] * 4
    wrong = _verdict(strum((48, 58, 62, 66)))
    assert _judged(wrong) == ["right", "right", "wrong", "right"] and wrong.notes[2].heard == 62
    assert (propose(wrong).grade, propose(wrong).slip) == ("looked", "shape")
    silent = _verdict(strum((48, 58, 63)))
    assert _judged(silent) == ["right", "right", "right", "missing"]


def test_another_grip_and_silence_bring_no_claim():
    """Where less than half of it is there nothing is called wrong."""
    other = _verdict(strum((45, 56, 61, 65)))
    assert "wrong" not in _judged(other) and "missing" not in _judged(other) and propose(other).grade is None
    nothing = _verdict(np.random.default_rng(0).normal(0, 0.003, 3 * RATE))
    assert propose(nothing).grade is None and nothing.doubts == ("I heard no grip.",)
    zeros = _verdict(np.zeros(2 * RATE))
    assert "gives nothing" in zeros.doubts[0]


def test_what_still_rings_is_no_part_of_it():
    """A grip a tone higher struck half a second before."""
    before = strum([midi + 2 for midi in ASKED], start_s=0.0)
    sound = strum(ASKED)
    sound[: len(before)] += before[: len(sound)]
    assert "wrong" not in _judged(_verdict(sound)) and _judged(_verdict(sound)).count("right") >= 3


@pytest.mark.parametrize(("at_s", "loud"), [(0.15, 0.02), (0.45, 0.02), (0.75, 0.02)])
def test_a_noise_before_the_stroke_is_no_stroke(at_s, loud):
    """A knock half a second, or a quarter, or just before the strum: the grip is the one that was struck."""
    sound = strum(ASKED, start_s=0.9)
    first, length = round(at_s * RATE), round(0.03 * RATE)
    sound[first : first + length] += loud * np.random.default_rng(2).normal(0, 1, length)
    ears = GripEars.start(RATE).take(Frame(0.0, sound))
    assert ears.onset_s == pytest.approx(0.9, abs=0.03)
    assert _judged(grip_verdict(ears, ASKED)) == ["right"] * 4


def test_noise_alone_is_no_grip():
    """Knocks with nothing after them are waited through."""
    sound = np.random.default_rng(0).normal(0, 0.001, 4 * RATE)
    for at_s in (0.5, 1.5, 2.5):
        first = round(at_s * RATE)
        sound[first : first + 600] += np.random.default_rng(1).normal(0, 0.1, 600)
    ears = GripEars.start(RATE).take(Frame(0.0, sound))
    assert not ears.complete and "wrong" not in _judged(grip_verdict(ears, ASKED))


def test_what_may_stand_for_either_of_two_is_held_against_neither(monkeypatch):
    """One pitch, a tone beside two notes and taken for both: neither is called wrong by it."""
    made = {48: NoteVerdict(48, Judged.RIGHT), 55: NoteVerdict(55, Judged.WRONG, 57), 64: NoteVerdict(64, Judged.RIGHT)}
    made[59] = NoteVerdict(59, Judged.WRONG, 57)
    monkeypatch.setattr("drills.listening.grip_ears._judged", lambda midi, *_: made[midi])
    assert _judged(_verdict(strum((48, 57, 64)), (48, 55, 59, 64))) == ["right", "not sure", "not sure", "right"]
    made[59] = NoteVerdict(59, Judged.RIGHT)
    assert _judged(_verdict(strum((48, 57, 59, 64)), (48, 55, 59, 64)))[1] == "wrong"


def _string(midi, stiff, loud=1.0, seconds=1.2, start_s=0.5):
    """A string by the book: overtones of f n sqrt(1 + B n^2), the higher the fainter (Fletcher 1964)."""
    at = np.arange(round(seconds * RATE)) / RATE
    sound, number = np.zeros(round(start_s * RATE) + len(at)), np.arange(1, 16)
    for n, hz in zip(number, hz_of(midi) * number * np.sqrt((1 + stiff * number**2) / (1 + stiff)), strict=True):
        if hz < 0.45 * RATE:
            sound[-len(at) :] += loud / n * np.sin(2 * np.pi * hz * at + n) * np.exp(-at * (1 + 0.2 * n))
    return sound


def _stiff(pitches, stiff, off_cents=0.0):
    """Strings struck at once, the last one `off_cents` off the others."""
    sound = sum(_string(midi, stiff) for midi in pitches[:-1]) + _string(pitches[-1] + off_cents / 100, stiff)
    return 0.05 * sound + np.random.default_rng(3).normal(0, 1e-4, len(sound))


TWELFTH = (48, 59, 64, 67)
"""C B E G: the G lies a twelfth above the C, so that every harmonic of it is one of the C too."""


@pytest.mark.parametrize("stiff", [0.0, 1e-4, 3e-4])
def test_a_string_that_another_one_hides_is_right_only_where_it_is_heard(stiff):
    """Silent it is not sure, whatever the lower string's overtones; sounding, and stiff, it is right."""
    silent = _judged(_verdict(0.05 * sum(_string(midi, stiff) for midi in TWELFTH[:-1]), TWELFTH))
    assert silent == ["right", "right", "right", "not sure"]
    there = _judged(_verdict(_stiff(TWELFTH, stiff), TWELFTH))
    assert there == ["right"] * 4


def test_a_string_just_where_another_has_its_overtones_cannot_be_told():
    """In tune to the hundredth of a cent and without stiffness nobody can hear whether it sounds."""
    pure = _stiff(TWELFTH, 0.0, off_cents=1200 * np.log2(3) - 1900)
    assert _judged(_verdict(pure, TWELFTH)) == ["right", "right", "right", "not sure"]


def test_where_the_lower_string_does_not_sound_it_hides_nothing():
    """The low C silent: the G is heard as any other note."""
    upper = 0.05 * sum(_string(midi, 1e-4) for midi in TWELFTH[1:])
    assert _judged(_verdict(upper, TWELFTH)) == ["missing", "right", "right", "right"]


def test_what_rang_before_is_never_missing_nor_another_note():
    """A pitch that sounds on when it is struck again brings little that is new."""
    ringing = _string(63, 1e-4, loud=1.0, seconds=1.6, start_s=0.1)
    struck = np.pad(strum((48, 58, 66)), (0, 2 * RATE))
    struck[: len(ringing)] += 0.05 * ringing
    with_ring = _judged(_verdict(struck))
    assert with_ring[2] == "not sure"
    assert _judged(_verdict(strum((48, 58, 66))))[2] == "missing"


def test_an_overtone_of_a_wrong_note_is_held_against_no_other(monkeypatch):
    """F in place of F#: its octave, a tone beside the upper Eb, is not another wrong note."""
    made = {59: NoteVerdict(59, Judged.RIGHT), 66: NoteVerdict(66, Judged.WRONG, 65), 70: NoteVerdict(70, Judged.RIGHT)}
    made[75] = NoteVerdict(75, Judged.WRONG, 77)
    monkeypatch.setattr("drills.listening.grip_ears._judged", lambda midi, *_: made[midi])
    assert _judged(_verdict(strum((59, 65, 70)), (59, 66, 70, 75))) == ["right", "wrong", "right", "not sure"]
    made[75] = NoteVerdict(75, Judged.WRONG, 76)
    assert _judged(_verdict(strum((59, 65, 70)), (59, 66, 70, 75)))[3] == "wrong"


def test_a_stroke_is_timed_by_what_it_brought_and_not_by_what_rings():
    """A scrape of the hand 0.2 s before the stroke, over a grip that rings on: the stroke is the stroke."""
    sound = 3 * np.pad(strum([midi + 2 for midi in ASKED], start_s=0.0), (0, RATE))
    later = strum(ASKED, start_s=1.0)
    sound = sound[: len(later)] + later
    sound[round(0.8 * RATE) : round(0.83 * RATE)] += np.random.default_rng(2).normal(0, 0.05, round(0.03 * RATE))
    ears = GripEars.start(RATE).take(Frame(0.0, sound))
    assert ears.onset_s == pytest.approx(1.0, abs=0.03)


@settings(max_examples=5, deadline=None)
@given(st.lists(st.integers(20, 3000), min_size=1, max_size=20))
def test_whole_or_in_pieces_a_grip_is_heard_the_same(sizes):
    """To the last bit, as single notes are."""
    sound = strum(ASKED)
    whole = GripEars.start(RATE).take(Frame(0.0, sound))
    pieces, first, turn = GripEars.start(RATE), 0, 0
    while first < len(sound):
        size = sizes[turn % len(sizes)]
        pieces = pieces.take(Frame(first / RATE, sound[first : first + size]))
        first, turn = first + size, turn + 1
    assert np.array_equal(pieces.after, whole.after) and np.array_equal(pieces.before, whole.before)
    assert grip_verdict(pieces, ASKED) == grip_verdict(whole, ASKED)


@settings(max_examples=10, deadline=None)
@given(st.floats(-20, 20), st.floats(434, 446), st.integers(-4, 6))
def test_level_tuning_and_key_change_no_verdict(level_db, a4_hz, semitones):
    """The right grip is right, and no note of it is ever called wrong."""
    asked = tuple(midi + semitones for midi in ASKED)
    sound = strum(asked, a4_hz=a4_hz, noise=0)
    sound = sound / np.abs(sound).max() * 0.05 * 10 ** (level_db / 20)
    verdict = _verdict(sound, asked)
    assert set(_judged(verdict)) <= {"right", "not sure"} and _judged(verdict).count("right") >= 3
    assert verdict.tuning_cents == pytest.approx(1200 * np.log2(a4_hz / 440), abs=6)


def test_a_guitar_far_off_is_said():
    """A semitone's half off is nobody's guess."""
    assert "tune it first" in _verdict(strum(ASKED, a4_hz=440 * 2 ** (43 / 1200))).doubts[0]


def test_a_grip_hardly_heard_tells_no_tuning():
    """Where other notes were struck than those asked for, no figure in cents is made up."""
    verdict = _verdict(strum([midi + 1 for midi in ASKED]))
    assert _judged(verdict).count("right") < 2 and verdict.tuning_cents is None
    # These fit the grip best 45 cents off, on a guitar that lies 10 cents below.
    other = _verdict(strum([50, 59, 61, 68], a4_hz=440 * 2 ** (-10 / 1200)))
    assert not other.doubts and propose(other).why == "I did not hear much of it well. Your word?"
    assert _verdict(strum(ASKED)).tuning_cents is not None


def test_either_kind_of_take_is_asked_the_same_way():
    """A grip is over once it has rung; single notes as ever."""
    for grip, pitches in ((True, ASKED), (False, (48, 51, 54))):
        ears, target = start_ears(RATE, grip=grip), Target(pitches)
        sound = strum(pitches) if grip else take([(0.5 + 0.4 * n, midi) for n, midi in enumerate(pitches)])
        assert not take_over(ears.take(Frame(0.0, sound[: round(0.7 * RATE)])), target)
        ears = ears.take(Frame(0.0, sound))
        assert take_over(ears, target) and source_of(ears)[0] == ("grip" if grip else "comb")
        assert _judged(take_verdict(ears.finish(), target)) == ["right"] * len(pitches)


@pytest.mark.parametrize("fault", GRIP_FAULTS)
def test_simulated_grips_are_what_they_say(fault):
    """On an instrument plucked by rule: of 24 right notes or more none is called wrong, of wrong ones none right.

    Where one note is another, its neighbours are in doubt more often.
    """
    total = {}
    for seed in range(8):
        samples, sounds = grip_take(ASKED, instruments()[0], fault, seed)
        assert sum(a != b for a, b in zip(ASKED, sounds, strict=True)) == (fault in ("wrong", "missing"))
        for name, count in counted_grip(ASKED, samples, sounds).items():
            total[name] = total.get(name, 0) + count
    assert total["right notes"] >= 24 and total.get("right called wrong", 0) == 0, total
    assert total.get("wrong called right", 0) == 0 and (
        total["right called right"] >= (0.6 if fault == "wrong" else 0.8) * total["right notes"]
    ), total


def test_the_command_hears_a_grip(tmp_path, neckwork):
    """As a document, with the engine that heard it."""
    shown = json.loads(neckwork("shape", "Cm7b5", "--form", "grip", "--json").out)
    asked = [note["midi"] for note in shown[0]["notes"]]
    path = save(tmp_path / "grip.wav", strum(asked))
    found = json.loads(neckwork("listen", "Cm7b5", "--form", "grip", "--wav", str(path), "--json").out)
    assert [note["asked"] for note in found["notes"]] == asked and found["engine"]["name"] == "grip"
    assert {note["judged"] for note in found["notes"]} <= {"right", "not sure"}
