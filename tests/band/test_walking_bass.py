"""The bass and the tracks of the band, read off the MIDI file again by mido and music21."""

from __future__ import annotations

import io
from itertools import pairwise

import mido
import music21
import pytest

from drills.band.band import PLAYERS, band
from drills.band.feel import FEELS, feel_of, ride_ratio, solo_ratio, swing_place
from drills.band.walking_bass import APPROACHES, BASS_HIGH, BASS_LOW, WIDEST_LEAP, bass_line
from drills.changes.changes_source import changes_from
from drills.configuration.shipped import decks_folder
from drills.errors import TrackError
from drills.harmony.chord_timeline import bar_starts, spans_of
from drills.neck.neck import Neck
from drills.shapes.finder import ShapeFinder
from drills.sound.midi import midi_bytes
from drills.theory.quality import shipped_qualities

PAGES = sorted(path.stem for path in decks_folder().glob("*.changes"))


def page(name):
    return changes_from(name, shipped_qualities(), ())


def chord_at(changes, quarter):
    """What sounds at a place: its span, or None."""
    return next((span for span in spans_of(changes) if span.start <= quarter < span.end), None)


def notes_of(score, name):
    """Start in quarters, length, key and velocity of a part of the MIDI file, as mido reads it."""
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(score)))
    (part,) = [track for track in file.tracks if track.name == name]
    at, open_notes, found = 0, {}, []
    for message in part:
        at += message.time
        if message.type == "note_on" and message.velocity:
            assert message.note not in open_notes, "a key struck while it sounds"
            open_notes[message.note] = (at, message.velocity)
        elif message.type in ("note_off", "note_on"):
            start, velocity = open_notes.pop(message.note)
            found.append((start / file.ticks_per_beat, (at - start) / file.ticks_per_beat, message.note, velocity))
    assert not open_notes
    return sorted(found)


@pytest.mark.parametrize("name", PAGES)
def test_a_walking_bass_keeps_its_rules_on_every_page(name):
    """Root where a chord begins, a chord tone where a bar does, an approach where a chord is left, no wide leap, in
    the compass; music21 says which pitch classes a chord has (common practice; rule D5)."""
    changes = page(name)
    line = bass_line(changes, seed=len(name))
    spans = [span for span in spans_of(changes) if span.chord is not None]
    starts = set(bar_starts(changes))
    by_span = {}
    for note in line:
        span = chord_at(changes, note.start)
        assert span is not None and note.start + note.length <= span.end
        by_span.setdefault(span.start, []).append(note)
        assert BASS_LOW <= note.midi <= BASS_HIGH
        if note.start in starts:
            chord = span.chord
            tones = {(chord.root.pitch_class + step) % 12 for step in chord.quality.semitones}
            heard = music21.pitch.Pitch(midi=note.midi).pitchClass
            assert heard in tones | {(chord.bass or chord.root).pitch_class}
    before = None
    for span in spans:
        if before is None or not before.chord.same_sound(span.chord):
            first = by_span[span.start][0]
            assert first.midi % 12 == (span.chord.bass or span.chord.root).pitch_class
        before = span
    for one, other in pairwise(spans):
        if len(by_span[one.start]) > 1 and not one.chord.same_sound(other.chord) and one.end == other.start:
            leap = abs(by_span[other.start][0].midi - by_span[one.start][-1].midi)
            assert leap in APPROACHES
    for one, other in pairwise(line):
        leap = abs(other.midi - one.midi)
        assert 0 < leap <= WIDEST_LEAP or leap == 12
    assert len({note.midi for note in line}) >= 5


def test_steps_are_commoner_than_leaps():
    """A walking line goes mostly by step (common practice): over all pages two moves of three are at most a whole
    tone."""
    moves = [abs(b.midi - a.midi) for name in PAGES for a, b in pairwise(bass_line(page(name)))]
    assert sum(move <= 2 for move in moves) / len(moves) > 0.6


def test_two_choruses_are_not_walked_alike():
    """Another seed is another line, and the same seed the same."""
    changes = page("blues-in-f")
    lines = [tuple(note.midi for note in bass_line(changes, seed=seed)) for seed in (1, 1, 2, 3)]
    assert lines[0] == lines[1] and len(set(lines)) == 3


def test_in_two_the_bass_plays_half_notes_on_chord_tones():
    """In two there is a note on the first beat and in the middle of a bar of four, each a half note long."""
    line = bass_line(page("blues-in-bb"), two=True)
    assert {float(note.start % 4) for note in line} <= {0.0, 2.0}
    assert all(note.length in (1, 2) for note in line)


def test_a_slash_chord_has_its_bass():
    """The note under the slash is what the bass plays."""
    changes = changes_from("| C/E | F | Dm7/G | C |", shipped_qualities(), ())
    starts = [note.midi % 12 for note in bass_line(changes) if note.start % 4 == 0]
    assert starts == [4, 5, 7, 0]


def test_silence_is_kept():
    """Where no chord sounds neither bass nor grip does, and the drums go on."""
    changes = changes_from("| C | N.C. | F | C |", shipped_qualities(), ())
    score = band(changes, ShapeFinder(Neck()), count_in_bars=0, tempo_bpm=60)
    for voice in ("bass", "comping"):
        assert all(not 4.0 <= tone.start_s < 7.4 for tone in score.tones if tone.voice == voice)
    assert any(4.0 <= tone.start_s < 8.0 for tone in score.tones if tone.voice == "drums")


@pytest.mark.parametrize("name", ["blues-in-f", "waltz-in-g", "ballad-in-db", "bossa-type-in-a-minor"])
def test_each_player_has_a_part_of_its_own(name):
    """A part each, with its own channel and program, drums on channel 10 with notes of General MIDI percussion, and
    nothing cuts another's notes (RP-003, General MIDI level 1)."""
    score = band(page(name), ShapeFinder(Neck()))
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(score)))
    channels = {
        track.name: {message.channel for message in track if hasattr(message, "channel")} for track in file.tracks[1:]
    }
    assert set(channels) == {"Bass", "Comping", "Drums", "Click"}
    assert channels["Drums"] == channels["Click"] == {9}
    assert all(len(found) == 1 for found in channels.values()) and channels["Bass"] != channels["Comping"]
    programs = {
        track.name: [message.program for message in track if message.type == "program_change"] for track in file.tracks
    }
    assert programs["Bass"] == [32] and programs["Comping"] == [26] and programs["Drums"] == []
    assert all(35 <= key <= 81 for _, _, key, _ in notes_of(score, "Drums"))
    bass = notes_of(score, "Bass")
    assert all(one[0] + one[1] <= other[0] + 1e-9 for one, other in pairwise(bass))


@pytest.mark.parametrize("player", PLAYERS)
def test_anyone_may_rest(player):
    """Without a player the others play what they would have played."""
    changes, finder = page("blues-in-f"), ShapeFinder(Neck())
    whole, less = band(changes, finder), band(changes, finder, without=(player,))
    left = [tone for tone in whole.tones if tone.voice != player]
    assert list(less.tones) == left and len(left) < len(whole.tones)


def test_who_is_unknown_is_refused():
    with pytest.raises(TrackError, match="singer"):
        band(page("blues-in-f"), ShapeFinder(Neck()), without=("singer",))
    with pytest.raises(TrackError, match="expected one of swing"):
        band(page("blues-in-f"), ShapeFinder(Neck()), feel="polka")


@pytest.mark.parametrize("name", PAGES)
def test_every_chord_is_comped_and_early_strokes_are_of_the_chord_to_come(name):
    """Each stroke holds the tones of the chord that sounds, or off the beat at most a half beat before it of the next;
    every chord is struck at least once (rule D5)."""
    from drills.band.comping_rhythm import EARLY, comping_strokes

    changes = page(name)
    spans = [span for span in spans_of(changes) if span.chord is not None]
    for feel in FEELS:
        strokes = comping_strokes(changes, feel, seed=3)
        assert {stroke.chord for stroke in strokes} == set(range(len(spans)))
        for stroke in strokes:
            span = spans[stroke.chord]
            early = span.start - stroke.start
            assert stroke.start < span.end
            assert early <= 0 or (early <= EARLY and stroke.start.denominator != 1)
        for one, other in pairwise(strokes):
            assert one.start + one.length <= other.start


def test_the_pages_feel_decides_and_may_be_overruled():
    """Straight where the page says so, a waltz in three, a ballad when slow; a name goes before the page."""
    assert feel_of(page("blues-in-f"), 120).name == "swing"
    assert feel_of(page("blues-in-f"), 60).name == "ballad"
    assert feel_of(page("waltz-in-g"), 132).name == "waltz"
    assert feel_of(page("bossa-type-in-a-minor"), 124).name == "straight"
    assert feel_of(page("blues-in-f"), 120, "straight").swing == 0.5


def test_swing_follows_the_tempo_as_measured():
    """The ride: 3.5 to 1 at 120 and even at 300 (Friberg and Sundström 2002). Soloists: medians of the table of
    transcribed solos, 1.58 when slow to 1.12 when fast, always less than the ride but at the fastest."""
    assert ride_ratio(90) == ride_ratio(120) == 3.5 and ride_ratio(300) == ride_ratio(320) == 1.0
    assert ride_ratio(210) == pytest.approx(2.25)
    assert [solo_ratio(bpm) for bpm in (60, 135, 165, 195, 225, 260, 310)] == [1.58, 1.35, 1.31, 1.35, 1.26, 1.16, 1.12]
    assert all(solo_ratio(bpm) < ride_ratio(bpm) for bpm in range(60, 280, 10))
    assert swing_place(2.0) == pytest.approx(2 / 3) and swing_place(1.0) == 0.5
    with pytest.raises(TrackError):
        swing_place(5.0)


@pytest.mark.parametrize("bpm", [100, 160, 240])
def test_the_ride_falls_where_the_ratio_says(bpm):
    """The half after a beat lies at the ratio of its tempo, to two milliseconds."""
    score = band(page("blues-in-f"), ShapeFinder(Neck()), tempo_bpm=bpm, count_in_bars=0)
    ride = sorted(tone.start_s for tone in score.tones if tone.midi == 51)
    beat = 60 / bpm
    off = [start for start in ride if 0.1 < (start / beat) % 1 < 0.9]
    assert len(off) >= 20
    expected = swing_place(ride_ratio(bpm))
    assert all(abs((start / beat % 1) - expected) * beat < 0.002 for start in off)


def test_the_count_ins_one_is_as_loud_as_a_later_downbeat():
    """The first click of the count-in has the peak of a click on a later downbeat."""
    import numpy as np

    from drills.sound.mix import LEAD_IN_S, RATE, blocks

    score = band(page("blues-in-f"), ShapeFinder(Neck()), without=PLAYERS, tempo_bpm=120, count_in_bars=2)
    sound = np.abs(np.concatenate(list(blocks(score))))

    def peak(second):
        first = round((LEAD_IN_S + second) * RATE)
        return sound[first : first + round(0.05 * RATE)].max()

    assert peak(0.0) == pytest.approx(peak(4.0), rel=0.02)
    assert peak(0.0) > peak(0.5)
