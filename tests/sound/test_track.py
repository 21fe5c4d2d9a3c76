"""The track: where its bass, grips and clicks fall, round after round."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import SoundError
from drills.sound.backing_track import COMPING, SWING, TrackChord, nearest_shift, track
from drills.sound.score import Score, ScoreMetre

TWO_FIVE_ONE = (
    TrackChord(0.0, 4.0, 36, (58, 63, 67)),
    TrackChord(4.0, 4.0, 41, (57, 63, 67)),
    TrackChord(8.0, 8.0, 34, (57, 62, 65)),
)


def starts(score: Score, voice: str) -> list[float]:
    """Return the starts in seconds of one voice, a chord's strings once."""
    found: list[float] = []
    for each in score.tones:
        if each.voice == voice and (not found or each.start_s - found[-1] > 0.05):
            found.append(each.start_s)
    return found


def test_roots_follow_the_count_in() -> None:
    """The bass enters on beat one and again every two quarters (common practice)."""
    score = track(TWO_FIVE_ONE, 60)
    assert score.count_in_s == 4.0
    assert starts(score, "bass") == pytest.approx([4.0 + 2 * n for n in range(8)])
    bass = [each.midi for each in score.tones if each.voice == "bass"]
    assert bass == [36, 36, 41, 41, 34, 34, 34, 34]


@pytest.mark.parametrize(
    ("comping", "expected"),
    [
        ("held", [0, 4, 8]),
        ("afterbeats", [1, 3, 5, 7, 9, 11, 13, 15]),
        ("charleston", [0, 1 + 2 / 3, 4, 5 + 2 / 3, 8, 9 + 2 / 3, 12, 13 + 2 / 3]),
    ],
)
def test_grips_are_struck_where_the_figure_says(comping: str, expected: list[float]) -> None:
    """Held grips sound once a chord; the figures repeat in each bar, and swing moves off-beats."""
    score = track(TWO_FIVE_ONE, 60, comping=comping, swing=SWING, count_in_bars=0)
    assert starts(score, "pluck") == pytest.approx(expected)


def test_a_chord_that_misses_the_figure_is_still_heard() -> None:
    """A chord too short for its comping figure is struck where it starts."""
    chords = (TrackChord(0.0, 1.0, 36, (58, 63)), TrackChord(1.0, 3.0, 41, (57, 63)))
    score = track(chords, 60, comping="afterbeats", count_in_bars=0)
    assert starts(score, "pluck") == pytest.approx([0.0, 1.0, 3.0])


def test_no_chord_leaves_the_click_alone() -> None:
    """N.C. has neither bass nor grip, and the click goes on."""
    score = track((TrackChord(0.0, 4.0, None),), 60)
    assert {each.voice for each in score.tones} == {"click"}
    assert len(score.tones) == 8


def test_rounds_move_through_the_keys() -> None:
    """Each round is the first moved, folded by octaves so that it stays in reach."""
    score = track(TWO_FIVE_ONE, 120, rounds=(0, 5, 10), click=False, count_in_bars=0)
    bass = [each for each in score.tones if each.voice == "bass"]
    assert [bass[n].midi for n in (0, 8, 16)] == [36, 41, 34]
    assert [bass[n].start_s for n in (0, 8, 16)] == pytest.approx([0.0, 8.0, 16.0])


@given(st.integers(-60, 60))
def test_a_round_is_never_moved_by_more_than_half_an_octave(semitones: int) -> None:
    """The folded move is the same pitch class, from 6 down to 5 up."""
    assert -6 <= nearest_shift(semitones) <= 5
    assert (nearest_shift(semitones) - semitones) % 12 == 0


def test_a_last_bar_is_filled_before_the_next_round() -> None:
    """A round ends with a whole bar, so that the next begins on beat one."""
    score = track((TrackChord(0.0, 5.0, 36, (58,)),), 60, rounds=(0, 0), count_in_bars=0)
    assert 8.0 in [each.start_s for each in score.tones if each.voice == "bass"]


def test_metres_change_with_the_section() -> None:
    """A waltz after a bar in four counts in in four and bars in three."""
    chords = (TrackChord(0.0, 4.0, 36, (58,)), TrackChord(4.0, 6.0, 41, (57,)))
    score = track(chords, 60, metres=(ScoreMetre(), ScoreMetre(4.0, 3, 4)), comping="held")
    assert [(m.start_quarter, m.beats) for m in score.metres] == [(0.0, 4), (8.0, 3)]
    accents = [each.start_s for each in score.tones if each.midi == 76 and each.voice == "click"]
    assert accents == pytest.approx([0, 4, 8, 11])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"comping": "polka"}, "comping must be one of"),
        ({"rounds": ()}, "at least one"),
        ({"tempo_bpm": 500}, "30 to 300"),
        ({"swing": 0.9}, "swing"),
        ({"chords": ()}, "at least one chord"),
    ],
)
def test_what_cannot_be_a_track_is_refused(change: dict, said: str) -> None:
    """The refusal names the field and what it may be."""
    with pytest.raises(SoundError, match=said):
        track(**({"chords": TWO_FIVE_ONE, "tempo_bpm": 100} | change))


def test_a_chord_without_length_is_refused() -> None:
    """A chord starts at 0 or later and lasts."""
    for start, beats in ((-1.0, 4.0), (0.0, 0.0)):
        with pytest.raises(SoundError, match="a chord must start"):
            TrackChord(start, beats, 36)


@given(
    lengths=st.lists(st.sampled_from([0.5, 1.0, 1.5, 2.0, 4.0]), min_size=1, max_size=12),
    comping=st.sampled_from(sorted(COMPING)),
    swing=st.sampled_from([0.5, SWING]),
    metre=st.sampled_from([ScoreMetre(), ScoreMetre(0.0, 3, 4), ScoreMetre(0.0, 6, 8), ScoreMetre(0.0, 5, 4)]),
)
def test_every_chord_is_heard_inside_its_own_time(
    lengths: list[float], comping: str, swing: float, metre: ScoreMetre
) -> None:
    """Every chord sounds bass and grip, and no grip reaches past the chord it belongs to."""
    chords, at = [], 0.0
    for number, length in enumerate(lengths):
        chords.append(TrackChord(at, length, 30 + number, (60 + number,)))
        at += length
    score = track(chords, 120, metres=(metre,), comping=comping, swing=swing, count_in_bars=0)
    for number, chord in enumerate(chords):
        for voice, key in (("bass", 30 + number), ("pluck", 60 + number)):
            mine = [t for t in score.tones if t.voice == voice and t.midi == key]
            assert mine
            # A quarter lasts half a second; swing moves an end by at most a third of it.
            assert min(t.start_s for t in mine) >= chord.start_beat / 2 - 1e-6
            assert max(t.end_s for t in mine) <= (chord.start_beat + chord.beats) / 2 + 1 / 6
