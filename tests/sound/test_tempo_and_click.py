"""The click and its tempo: bounds, the one rule for raising it, count-in and accents."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import SoundError
from drills.sound.click import click_track, clicks, count_in_quarters
from drills.sound.score import ScoreMetre
from drills.sound.tempo import FASTEST_BPM, SLOWEST_BPM, beat_s, next_tempo, swung

DAY = date(2026, 3, 1)


def days(*passes: tuple[int, bool]) -> list[tuple[date, bool]]:
    """Return passes on days counted from an arbitrary one."""
    return [(DAY + timedelta(number), clean) for number, clean in passes]


def test_three_clean_days_raise_the_tempo() -> None:
    """Three clean passes on different days raise it, by 4 to 8 (drills/RULES.md, E)."""
    assert 64 <= next_tempo(60, days((0, True), (1, True), (4, True))) <= 68


def test_three_clean_passes_on_one_day_do_not() -> None:
    """The days must differ: repetition in one sitting is not learning."""
    assert next_tempo(60, days((0, True), (0, True), (0, True), (1, True))) == 60


def test_two_clean_days_do_not() -> None:
    """Two days are not three."""
    assert next_tempo(60, days((0, True), (1, True))) == 60
    assert next_tempo(60, []) == 60


def test_a_pass_just_missed_holds_the_tempo() -> None:
    """After an unclean pass the tempo waits for the next clean one (common practice)."""
    passes = days((0, True), (1, True), (2, True), (3, False))
    assert next_tempo(60, passes) == 60
    assert next_tempo(60, [*passes, *days((4, True))]) > 60


@given(
    tempo=st.integers(int(SLOWEST_BPM), int(FASTEST_BPM)),
    passes=st.lists(st.tuples(st.integers(0, 5), st.booleans()), max_size=12),
    step=st.none() | st.integers(4, 8),
)
def test_the_tempo_never_falls_leaps_or_rises_unearned(
    tempo: int, passes: list[tuple[int, bool]], step: int | None
) -> None:
    """Whatever was played, the step is 0 or 4 to 8 within the bounds, and needs three days."""
    raised = next_tempo(tempo, passes, step)
    assert raised == tempo or 4 <= raised - tempo <= 8 or raised == FASTEST_BPM > tempo
    if raised > tempo:
        assert len({day for day, clean in passes if clean}) >= 3


@pytest.mark.parametrize("step", [3, 9, 0, -4])
def test_a_step_out_of_bounds_is_refused(step: int) -> None:
    """A step outside 4 to 8 is refused."""
    with pytest.raises(SoundError, match="step_bpm"):
        next_tempo(60, [], step)


@pytest.mark.parametrize("tempo", [29.9, 301, 0, -60, float("nan"), float("inf")])
def test_a_tempo_out_of_bounds_is_refused(tempo: float) -> None:
    """The click goes from 30 to 300; anything else is refused with those bounds."""
    with pytest.raises(SoundError, match="30 to 300"):
        beat_s(tempo)


def test_a_count_in_leads_to_beat_one() -> None:
    """After one bar counted in, beat one falls where the score says, and is accented."""
    score = click_track(120, 2)
    assert score.count_in_s == 2.0
    assert [each.start_s for each in score.tones] == pytest.approx([0.5 * n for n in range(12)])
    high = max(each.hz for each in score.tones)
    assert [n for n, each in enumerate(score.tones) if each.hz == high] == [0, 4, 8]


@pytest.mark.parametrize(
    ("beats", "unit", "apart", "in_bar"),
    [
        (3, 4, 1.0, 3),
        (6, 8, 1.5, 2),
        (12, 8, 1.5, 4),
        (5, 8, 0.5, 5),
        (2, 2, 2.0, 2),
        (3, 8, 0.5, 3),
    ],
)
def test_the_foot_taps_as_the_metre_asks(beats: int, unit: int, apart: float, in_bar: int) -> None:
    """Dotted quarters in 6/8 and 12/8, else the metre's own unit (common practice)."""
    metre = ScoreMetre(0.0, beats, unit)
    tones = clicks(60, 3 * metre.bar_quarters, (metre,))
    assert [each.start_s for each in tones] == pytest.approx([apart * n for n in range(3 * in_bar)])
    assert sum(each.midi == 76 for each in tones) == 3
    assert count_in_quarters(metre, 2) == 2 * metre.bar_quarters


def test_a_new_metre_opens_a_bar() -> None:
    """Where the metre changes, the click is accented, and each section has its own bars."""
    metres = (ScoreMetre(0.0, 4, 4), ScoreMetre(8.0, 3, 4))
    accents = [each.start_s for each in clicks(60, 14.0, metres) if each.midi == 76]
    assert accents == pytest.approx([0, 4, 8, 11])


def test_the_click_does_not_drift() -> None:
    """After a thousand bars a click lies where multiplication puts it."""
    score = click_track(97, 1000)
    assert score.tones[-1].start_s == pytest.approx((1001 * 4 - 1) * 60 / 97, abs=1e-6)


@pytest.mark.parametrize(("bars", "count_in"), [(0, 1), (-1, 1), (4, 9), (4, -1)])
def test_bars_out_of_range_are_refused(bars: int, count_in: int) -> None:
    """No bars, or a count-in of nine, is refused."""
    with pytest.raises(SoundError, match="expected"):
        click_track(100, bars, count_in_bars=count_in)


@given(st.floats(0, 1000), st.floats(0, 1000), st.floats(0.5, 0.8))
def test_swing_keeps_the_order_and_the_beats(a: float, b: float, swing: float) -> None:
    """Swing never changes which comes first, and moves no beat."""
    if a < b:
        assert swung(a, swing) <= swung(b, swing)
    assert swung(float(int(a)), swing) == int(a)
    assert swung(a, 0.5) == pytest.approx(a)


def test_swing_beyond_sense_is_refused() -> None:
    """An off-beat before the middle or hard against the next beat is refused."""
    with pytest.raises(SoundError, match="swing"):
        swung(0.5, 0.9)
