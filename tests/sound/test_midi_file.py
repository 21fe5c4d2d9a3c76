"""Standard MIDI Files: two readers find the same notes at the same times."""

from __future__ import annotations

import io
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import SoundError
from drills.sound.backing_track import SWING, TrackChord, track
from drills.sound.click import click_track
from drills.sound.midi import TICKS_PER_QUARTER, midi_bytes, save_midi
from drills.sound.patterns import drone, melody, phrase
from drills.sound.score import Score, ScoreMetre, Tone, tone

PHRASE = phrase(
    (48, 59, 64, 67),
    (48, 52, 55, 59, 60),
    (48, 50, 52, 53, 55, 57, 59, 60),
    title="C△7, B♭ über",
)
CHORDS = (
    TrackChord(0.0, 4.0, 36, (58, 63, 67)),
    TrackChord(4.0, 4.0, 41, (57, 63, 67)),
    TrackChord(8.0, 6.0, 34, (57, 62, 65)),
)
TRACK = track(
    CHORDS,
    137,
    metres=(ScoreMetre(), ScoreMetre(8.0, 3, 4)),
    rounds=(0, 5),
    comping="charleston",
    swing=SWING,
)


def read(score: Score) -> mido.MidiFile:
    """Return the file of a score as mido reads it, refusing bytes out of range."""
    return mido.MidiFile(file=io.BytesIO(midi_bytes(score)), clip=False)


def notes(file: mido.MidiFile) -> list[tuple[int, int, int, int]]:
    """Return (channel, key, first tick, last tick); checks that nothing hangs or is re-struck."""
    found = []
    for part in file.tracks:
        at, open_at = 0, {}
        for message in part:
            at += message.time
            if message.type == "note_on":
                assert message.velocity > 0
                assert (message.channel, message.note) not in open_at
                open_at[message.channel, message.note] = at
            elif message.type == "note_off":
                first = open_at.pop((message.channel, message.note))
                assert at > first
                found.append((message.channel, message.note, first, at))
        assert not open_at
    return sorted(found)


@pytest.mark.parametrize("score", [PHRASE, TRACK, click_track(97, 4), drone([40, 47], 9.0)])
def test_every_tone_is_a_note_at_its_tick(score: Score) -> None:
    """mido reads as many notes as the score has tones, each at its place to half a tick."""
    per_s = score.tempo_bpm / 60 * TICKS_PER_QUARTER
    found = sorted((key, first) for _, key, first, _ in notes(read(score)))
    written = sorted((each.midi, round(each.start_s * per_s)) for each in score.tones)
    assert found == written


MELODY = Score(melody([(0.0, 0.5, 60), (0.5, 0.5, 62), (1.0, 1.5, 64), (2.5, 0.5, 60)], 137, swing=SWING), 137)


@pytest.mark.parametrize(
    ("score", "part_name", "voice", "quarters"),
    [
        (MELODY, "Guitar", "pluck", 1 / 480),
        (TRACK, "Bass", "bass", 1 / 480),
        # music21 gathers the strings of a strum, 12 ms apart, into one chord at its start.
        (TRACK, "Guitar", "pluck", 2 * 0.012 * 137 / 60 + 1 / 480),
    ],
    ids=["line", "bass", "grips"],
)
def test_a_second_reader_finds_the_same_notes(score: Score, part_name: str, voice: str, quarters: float) -> None:
    """music21 reads the same keys, at the same quarters to a tick, as were written."""
    from music21 import converter, note

    stream = converter.parseData(midi_bytes(score), format="midi", quantizePost=False)
    (part,) = [each for each in stream.parts if each.partName == part_name]
    found = sorted(
        (pitch.midi, float(each.getOffsetInHierarchy(part)))
        for each in part.recurse()
        # A note across a bar line is read as two, tied.
        if isinstance(each, note.NotRest) and (each.tie is None or each.tie.type == "start")
        for pitch in each.pitches
    )
    per_s = score.tempo_bpm / 60
    written = sorted((t.midi, t.start_s * per_s) for t in score.tones if t.voice == voice)
    assert [key for key, _ in found] == [key for key, _ in written]
    assert max(abs(a - b) for (_, a), (_, b) in zip(found, written, strict=True)) <= quarters


def test_tempo_metres_and_count_in_are_in_the_first_track() -> None:
    """Tempo, and each metre where it starts, after a count-in in the first one."""
    head = read(TRACK).tracks[0]
    assert [round(mido.tempo2bpm(m.tempo)) for m in head if m.type == "set_tempo"] == [137]
    at, metres = 0, []
    for message in head:
        at += message.time
        if message.type == "time_signature":
            metres.append((at / 480, message.numerator, message.denominator))
    assert metres == [(0, 4, 4), (12, 3, 4), (18, 4, 4), (26, 3, 4)]
    clicked = [first / 480 for channel, _, first, _ in notes(read(TRACK)) if channel == 9]
    assert sorted(clicked)[:4] == [0, 1, 2, 3]


def test_names_are_ascii() -> None:
    """Signs of music become letters in names, because readers disagree on anything else."""
    data = midi_bytes(PHRASE)
    names = [m.name for part in read(PHRASE).tracks for m in part if m.type == "track_name"]
    assert names == ["Cmaj7, Bb uber", "Guitar"]
    assert all(name.isascii() for name in names)
    assert data.startswith(b"MThd")
    assert data.count(b"MTrk") == data.count(b"\xff\x2f\x00") == 2


def test_the_click_is_percussion() -> None:
    """Clicks go to channel 10, where General MIDI keeps its wood blocks."""
    assert {(channel, key) for channel, key, _, _ in notes(read(click_track(90, 2)))} == {
        (9, 76),
        (9, 77),
    }


def test_a_tone_without_a_key_is_left_out() -> None:
    """A pitch between the keys cannot be written and is not guessed at."""
    score = Score((Tone(450.0, 0.0, 1.0), tone(60, 0.0, 1.0)))
    assert [key for _, key, _, _ in notes(read(score))] == [60]


@given(
    tones=st.lists(
        st.builds(
            tone,
            midi=st.integers(40, 43),
            start_s=st.floats(0, 3),
            length_s=st.floats(0.001, 2),
            loudness=st.floats(0, 1),
            voice=st.sampled_from(["pluck", "bass", "drone"]),
        ),
        max_size=12,
    ),
    tempo=st.floats(30, 300),
)
@settings(max_examples=60)
def test_whatever_overlaps_no_note_hangs_or_is_struck_twice(tones: list[Tone], tempo: float) -> None:
    """A key struck while it sounds is let go first; at one moment, a key sounds once."""
    score = Score(tuple(tones), tempo)
    found = notes(read(score))
    per_s = tempo / 60 * TICKS_PER_QUARTER
    places = {(each.voice, each.midi, round(each.start_s * per_s)) for each in tones}
    assert len(found) == len(places)


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    """The refusal names the path; a good path holds the bytes."""
    assert save_midi(PHRASE, tmp_path / "a.mid").read_bytes() == midi_bytes(PHRASE)
    with pytest.raises(SoundError, match=r"cannot write .*a\.mid"):
        save_midi(PHRASE, tmp_path / "none" / "a.mid")
