"""What is sounded for a shape, in which order and when."""

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace

import pytest

from drills.errors import SoundError
from drills.sound.patterns import drone, keys_of, line, melody, phrase, strum, up_down
from drills.sound.score import Score, ScoreMetre, later, together, tone

GRIP, ARPEGGIO = (48, 59, 64, 67), (48, 52, 55, 59, 60)
IONIAN = (48, 50, 52, 53, 55, 57, 59, 60)


def test_the_phrase_is_chord_arpeggio_mode_chord() -> None:
    """Chord, arpeggio up and down, mode up and down, chord again (drills/RULES.md, B5)."""
    score = phrase(GRIP, ARPEGGIO, IONIAN)
    there_and_back = [48, 52, 55, 59, 60, 59, 55, 52, 48]
    scale = [48, 50, 52, 53, 55, 57, 59, 60, 59, 57, 55, 53, 52, 50, 48]
    assert [each.midi for each in score.tones] == [*GRIP, *there_and_back, *scale, *GRIP]
    assert score.length_s == pytest.approx(12.0)


def test_the_phrase_starts_every_part_on_a_beat() -> None:
    """The foot keeps its beat through the four parts, with or without the octave."""
    for arpeggio in (ARPEGGIO, ARPEGGIO[:4]):
        score = phrase(GRIP, arpeggio, IONIAN, 60.0)
        firsts = [each.start_s for each in score.tones if each.midi == 48]
        assert all(place == pytest.approx(round(place)) for place in firsts[::2])
        assert firsts[1] == pytest.approx(2.0)


def test_a_shape_sounds_as_its_notes() -> None:
    """A shape is played by the keys of its notes, a plain sequence by its own."""
    shape = SimpleNamespace(notes=[SimpleNamespace(midi=key, string=6) for key in ARPEGGIO])
    assert keys_of(shape) == keys_of(iter(ARPEGGIO)) == ARPEGGIO


def test_up_and_down_turns_on_one_note() -> None:
    """The top is played once; one note alone is one note."""
    assert up_down((48, 52, 55)) == (48, 52, 55, 52, 48)
    assert up_down((48,)) == (48,)


def test_a_strum_goes_from_string_to_string_and_ends_together() -> None:
    """Strings follow each other evenly, in the order given, and stop at one moment."""
    tones = strum(GRIP, 1.0, 2.0, spread_s=0.05)
    assert [each.start_s for each in tones] == pytest.approx([1.0, 1.05, 1.1, 1.15])
    assert [each.end_s for each in tones] == pytest.approx([3.0] * 4)
    assert {each.start_s for each in strum(GRIP, 1.0, spread_s=0.0)} == {1.0}


def test_a_strum_that_does_not_fit_is_refused() -> None:
    """Four strings 50 ms apart do not fit into 150 ms."""
    with pytest.raises(SoundError, match="do not fit"):
        strum(GRIP, 0.0, 0.15, spread_s=0.05)


def test_a_line_overlaps_a_little_and_holds_its_last() -> None:
    """Each note reaches into the next; the last is held as long as asked."""
    tones = line((48, 50, 52), 0.0, 0.5, last_s=2.0)
    assert all(a.end_s > b.start_s for a, b in pairwise(tones))
    assert tones[-1].length_s > 2.0


def test_a_melody_swings_between_the_beats_only() -> None:
    """In triplet swing the off-beat lies on the third triplet and the beats stay."""
    notes = [(0.0, 0.5, 60), (0.5, 0.5, 62), (1.0, 1.0, 64)]
    swung = melody(notes, 60, swing=2 / 3, start_s=4.0)
    assert [each.start_s for each in swung] == pytest.approx([4.0, 4 + 2 / 3, 5.0])
    assert [each.midi for each in swung] == [60, 62, 64]


def test_a_drone_lasts_as_long_as_asked() -> None:
    """A drone holds every note for its whole length, and more notes are each softer."""
    one, two = drone([40], 7.5), drone([40, 47], 7.5)
    assert one.length_s == two.length_s == 7.5
    assert two.tones[0].loudness < one.tones[0].loudness


def test_nothing_to_play_is_refused() -> None:
    """An empty shape is refused, with what to give instead."""
    with pytest.raises(SoundError, match="give at least one"):
        strum(())


def test_scores_sound_together_in_order_of_start() -> None:
    """Two scores joined keep every tone, sorted by start, and the first's tempo."""
    first = Score((tone(60, 1.0, 1.0),), 100.0)
    both = together(first, Score(later([tone(40, 0.0, 1.0)], 0.25)))
    assert [each.midi for each in both.tones] == [40, 60]
    assert both.tempo_bpm == 100.0


def test_a_score_without_a_first_metre_is_refused() -> None:
    """Metres begin at quarter 0; a metre has beats over a note value; a tempo is above 0."""
    with pytest.raises(SoundError, match="metres"):
        Score((), metres=(ScoreMetre(4.0),))
    with pytest.raises(SoundError, match="5/3"):
        ScoreMetre(0.0, 5, 3)
    with pytest.raises(SoundError, match="tempo_bpm"):
        Score((), 0.0)
