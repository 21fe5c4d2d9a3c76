"""Tracks: bass roots, the grips that move least, rounds, and sound and MIDI files measured from outside."""

from __future__ import annotations

import io
from fractions import Fraction
from itertools import pairwise, product

import mido
import numpy as np
import pytest
from hypothesis import given, settings
from music21 import converter

from drills.changes.changes_reading import parse_changes
from drills.errors import TrackError
from drills.lines.backing import (
    backing,
    chord_drone,
    drones,
    line_score,
    over_track,
    rounds,
    track_chords,
    vamp_changes,
)
from drills.lines.comping import grips_of, led_grips
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.neck.neck import Neck
from drills.neck.tuning import STANDARD, parse_tuning
from drills.shapes.finder import ShapeFinder
from drills.shapes.grip_fingering import grip_fingerings
from drills.sound.midi import midi_bytes
from drills.sound.mix import CEILING, LEAD_IN_S
from drills.sound.wav import wav_bytes
from drills.theory.symbol import parse_chord
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines
from tests.sound.measure import cents, fundamental_hz, onsets_s, read_wav
from tests.strategies import progressions

FINDER = ShapeFinder(Neck())
BLUES = parse_changes("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7")


def test_bass_sounds_the_root_and_grips_the_chord():
    """Each chord has its root, low, and a grip of all its tones; a slash chord has its own bass."""
    changes = parse_changes("| Cm7 F7 | Bbmaj7 | Ebmaj7/G |")
    found = track_chords(changes, FINDER)
    for chord, (_, slot) in zip(found, changes.slots, strict=True):
        assert 28 <= chord.bass_midi <= 43
        assert chord.bass_midi % 12 == (slot.chord.bass or slot.chord.root).pitch_class
        assert {key % 12 for key in chord.grip_midis} == slot.chord.pitch_classes
        assert min(chord.grip_midis) > chord.bass_midi
    assert [chord.start_beat for chord in found] == [0, 2, 4, 8]


def test_tensions_are_kept_for_the_sound():
    """C13 sounds its 9th and 13th in place of root and fifth; G7alt its altered tones; a hand can hold each grip."""
    neck = FINDER.neck
    for text, wanted in (("C13", {2, 9}), ("C9", {2}), ("C7b9", {1}), ("G7alt", {8})):
        chord = parse_chord(text, reduce=True)
        options = grips_of(FINDER, chord)
        assert all(wanted <= {key % 12 for key in grip.keys} for grip in options)
        for grip in options:
            assert grip_fingerings(grip.places, 1, lambda a, b: neck.reach_mm(a, b) <= neck.reach_limit_mm)
            assert sorted(STANDARD.midi(*place) for place in grip.places) == list(grip.keys)


@settings(max_examples=15)
@given(progressions(3))
def test_no_other_grips_move_less(text):
    """From the first grip on, no choice of grips moves the voices fewer semitones in all (every choice tried)."""
    chords = tuple(slot.chord for _, slot in parse_changes(text).slots)
    found = led_grips(FINDER, chords)

    def moved(way):
        return sum(abs(b - a) for one, other in pairwise(way) for a, b in zip(one.keys, other.keys, strict=True))

    layers = [[found[0]], *(grips_of(FINDER, chord) for chord in chords[1:])]
    assert moved(found) == min(moved(way) for way in product(*layers))


def test_grips_of_a_two_five_one_hardly_move():
    """Through ii-V-I no voice moves more than a tone (nearest grips)."""
    chords = tuple(parse_chord(text) for text in ("Cm7", "F7", "Bbmaj7"))
    for one, other in pairwise(led_grips(FINDER, chords)):
        assert all(abs(b - a) <= 2 for a, b in zip(one.keys, other.keys, strict=True))


def test_rounds_go_through_the_keys():
    """Fourths, chromatic and random rounds visit each key once, the written one first; a seed fixes the random one."""
    assert rounds("fourths")[:4] == (0, 5, 10, 3)
    assert rounds("chromatic", 3) == (0, 1, 2)
    assert rounds("random", seed=3) == rounds("random", seed=3) != rounds("random", seed=4)
    for order in ("fourths", "chromatic", "random"):
        assert sorted(rounds(order)) == list(range(12))
    with pytest.raises(TrackError, match="expected fourths"):
        rounds("spiral")


def test_the_track_counts_in_and_goes_round():
    """One bar of count-in, then every round in its own key, as long as the changes."""
    score = backing(BLUES, FINDER, tempo_bpm=120, through=rounds("fourths", 2), feel="straight")
    assert score.count_in_s == pytest.approx(2.0)
    bass = [tone for tone in score.tones if tone.voice == "bass"]
    firsts = [tone for tone in bass if (tone.start_s - 2.0) % 24 < 1e-6]
    assert [tone.midi % 12 for tone in firsts] == [5, 10]
    assert score.length_s == pytest.approx(2 + 2 * 24, abs=0.6)
    clicks = [tone for tone in score.tones if tone.voice == "click"]
    assert len(clicks) == 4 + 2 * 48


def test_swing_moves_the_second_eighth_and_eighth_metres_stay_even():
    """Swung, the second eighth falls two thirds into its beat; in 6/8 nothing is swung."""
    line = etude_line(parse_changes("feel: swing\n| Cm7 | F7 |"), Neck(), EtudeOptions(frets=(5, 11))).line
    straight, swung = line_score(line, tempo_bpm=60, feel="straight"), line_score(line, tempo_bpm=60)
    assert straight.tones[1].start_s == pytest.approx(0.5)
    assert swung.tones[1].start_s == pytest.approx(2 / 3)
    compound = etude_line(parse_changes("feel: swing\nmetre: 6/8\n| Cm7 | F7 |"), Neck()).line
    assert line_score(compound, tempo_bpm=60).tones[1].start_s == pytest.approx(0.5)
    with pytest.raises(TrackError, match="expected swing or straight"):
        backing(BLUES, FINDER, feel="lilt")


def test_silence_at_no_chord():
    """At N.C. neither bass nor grip sounds, and a silent last bar still belongs to the round."""
    score = backing(parse_changes("| Cm7 | N.C. |"), FINDER, tempo_bpm=60, through=(0, 0), count_in_bars=0)
    pitched = [tone for tone in score.tones if tone.voice != "click"]
    assert {int(tone.start_s // 4) for tone in pitched} == {0, 2}
    with pytest.raises(TrackError, match="hold no chord"):
        track_chords(parse_changes("| N.C. |"), FINDER)


def test_drone_and_vamp_of_any_length():
    """Each different chord is held for the seconds asked, or played for the bars asked, in the order they are met."""
    assert chord_drone(parse_chord("Bbmaj7"), FINDER, 45.0).length_s == pytest.approx(45.0)
    held = drones(BLUES, FINDER, 7.5)
    assert held.length_s == pytest.approx(6 * 7.5)
    lowest = [min(tone.midi for tone in held.tones if tone.start_s == turn * 7.5) % 12 for turn in range(6)]
    assert lowest == [5, 10, 11, 2, 7, 0]  # F7 Bb7 Bdim7 D7 Gm7 C7
    for bars in (1, 7, 200):
        score = backing(vamp_changes(parse_changes("Cm7"), bars), FINDER, tempo_bpm=120)
        assert score.count_in_s == 2.0
        assert sum(each.voice == "bass" for each in score.tones) == 2 * bars
        assert sum(each.voice == "click" for each in score.tones) == 4 * (bars + 1)
    page = vamp_changes(parse_changes("metre: 3/4\ntempo: 120\n| Cm7 F7*1 | Cm7 | N.C. |"), 6)
    assert [bar.chords[0].text for bar in page.bars] == ["Cm7"] * 6 + ["F7"] * 6
    assert backing(page, FINDER, comping="charleston").length_s == pytest.approx(1.5 + 12 * 1.5, abs=0.6)
    for nothing in (
        lambda: drones(parse_changes("| N.C. |"), FINDER, 3.0),
        lambda: vamp_changes(parse_changes("| N.C. |"), 2),
    ):
        with pytest.raises(TrackError, match="hold no chord"):
            nothing()


@pytest.mark.parametrize("tuning", ["E1 A1 D2 G2", "G3 C4 E4 A4", "E2 A2 D3 G3 C4 F4"])
def test_tracks_on_other_instruments(tuning):
    """Grips are found on a bass, a low-G ukulele and in fourths."""
    finder = ShapeFinder(Neck(parse_tuning(tuning), scale_mm=500))
    assert all(chord.grip_midis for chord in track_chords(BLUES, finder))


# ---- files, read and measured from outside


def notes_of_midi(data: bytes) -> list[tuple[Fraction, int]]:
    """(quarters, key) of every note struck, read by mido."""
    file = mido.MidiFile(file=io.BytesIO(data), clip=False)
    found = []
    for track in file.tracks:
        at = 0
        for message in track:
            at += message.time
            if message.type == "note_on" and message.velocity:
                found.append((Fraction(at, file.ticks_per_beat), message.note))
    return sorted(found)


@pytest.mark.parametrize("number", range(1, 10))
def test_midi_of_every_stage_is_read_alike_by_two_readers(tmp_path, number):
    """mido and music21 read each stage's notes at our keys and times; music21 ties a note over a bar line."""
    given = stage_material(parse_changes("tempo: 100\n| Cm7 F7 | Bbmaj7 | Ebmaj7 |"), FINDER)
    for line in stage_lines(number, given).lines:
        data = midi_bytes(line_score(line))
        ours = sorted((note.start, note.midi) for note in line.notes)
        assert notes_of_midi(data) == ours
        path = tmp_path / "line.mid"
        path.write_bytes(data)
        theirs = [
            (Fraction(note.offset).limit_denominator(96), pitch.midi)
            for note in converter.parse(path).stripTies().flatten().notes
            for pitch in note.pitches
        ]
        assert sorted(theirs) == ours


def test_the_track_as_midi():
    """A line over its track has a part each for guitar, bass and click; the line's notes follow the count-in."""
    line = etude_line(parse_changes("tempo: 90\n| Cm7 | F7 | Bbmaj7 |"), Neck(), EtudeOptions(seed=2)).line
    data = midi_bytes(over_track(line, FINDER))
    file = mido.MidiFile(file=io.BytesIO(data), clip=False)
    assert {track.name for track in file.tracks[1:]} == {"Guitar", "Bass", "Click"}
    found = set(notes_of_midi(data))
    assert {(4 + note.start, note.midi) for note in line.notes} <= found


def test_the_wav_of_a_line_has_its_onsets_and_pitches():
    """Measured from the samples alone, a spelled chord starts where it should and is in tune, below the ceiling."""
    line = stage_lines(3, stage_material(parse_changes("Cm7 F7"), FINDER)).lines[0]
    tempo = 40
    samples, rate = read_wav(wav_bytes(line_score(line, tempo_bpm=tempo)))
    assert np.abs(samples).max() <= CEILING + 1e-3
    wanted = [LEAD_IN_S + float(note.start) * 60 / tempo for note in line.notes]
    found = onsets_s(samples, rate)
    assert len(found) == len(wanted)
    assert np.abs(found - wanted).max() < 0.01
    for start, note in zip(wanted, line.notes, strict=True):
        first = round((start + 0.08) * rate)
        heard = fundamental_hz(samples[first : first + round(1.2 * rate)], rate)
        assert abs(cents(heard, note.pitch.hz)) < 5


def test_the_wav_of_a_swung_line_has_its_second_eighths_late():
    """Measured from the samples: at 60 a minute swung eighths start on the beat and two thirds of a second later."""
    line = etude_line(parse_changes("feel: swing\n| Cm7 |"), Neck(), EtudeOptions(frets=(5, 11))).line
    samples, rate = read_wav(wav_bytes(line_score(line, tempo_bpm=60)))
    wanted = [LEAD_IN_S + float(note.start // 1) + (2 / 3 if note.start % 1 else 0.0) for note in line.notes]
    found = onsets_s(samples, rate)
    assert len(found) == len(wanted)
    assert np.abs(found - wanted).max() < 0.01


def test_the_wav_of_a_track_counts_in_and_sounds_its_bass():
    """Measured from the samples: four clicks a beat apart, then the bass at the pitch of the root (C2, 65.4 Hz; ISO 16
    from A4 = 440), all below the ceiling."""
    changes = parse_changes("| Cm7 |")
    score = backing(changes, FINDER, tempo_bpm=60, grips=False, click=False, feel="straight")
    samples, rate = read_wav(wav_bytes(score))
    assert np.abs(samples).max() <= CEILING + 1e-3
    found = onsets_s(samples, rate)
    assert np.abs(found[:4] - (LEAD_IN_S + np.arange(4))).max() < 0.01
    first = round((LEAD_IN_S + 4 + 0.1) * rate)
    heard = fundamental_hz(samples[first : first + round(1.5 * rate)], rate)
    assert abs(cents(heard, 440.0 * 2 ** ((36 - 69) / 12))) < 5
