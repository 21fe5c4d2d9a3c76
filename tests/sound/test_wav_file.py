"""WAV files: in time, below the ceiling, quiet at first, and without a click at any join."""

from __future__ import annotations

import io
import wave
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import SoundError
from drills.sound.backing_track import COMPING, SWING, TrackChord, track
from drills.sound.click import click_track
from drills.sound.mix import CEILING, LEAD_IN_S, blocks, total_samples
from drills.sound.patterns import drone, line, phrase, strum
from drills.sound.score import Score, Tone, later
from drills.sound.wav import save_wav, wav_bytes
from tests.sound.measure import onsets_s, read_wav, render, steepest_step

GRIP = (48, 59, 64, 67)
ARPEGGIO = (48, 52, 55, 59, 60)
IONIAN = (48, 50, 52, 53, 55, 57, 59, 60)
BLUES = tuple(
    TrackChord(4.0 * bar, 4.0, 36 + root, (52 + root, 58 + root, 62 + root)) for bar, root in enumerate((5, 10, 5, 5))
)


def moved(keys: tuple[int, ...], semitones: int) -> tuple[int, ...]:
    """Return the keys transposed."""
    return tuple(key + semitones for key in keys)


def the_phrase(semitones: int = 0, tempo_bpm: float = 90.0) -> Score:
    """Return chord, arpeggio, mode and chord of Cmaj7, moved."""
    return phrase(moved(GRIP, semitones), moved(ARPEGGIO, semitones), moved(IONIAN, semitones), tempo_bpm)


def struck_s(score: Score, together_s: float = 0.095) -> np.ndarray:
    """Return when the score says something is struck, a strum counting once."""
    found: list[float] = []
    for each in score.tones:
        if not found or each.start_s - found[-1] > together_s:
            found.append(each.start_s)
    return np.array(found)


def heard_s(score: Score) -> np.ndarray:
    """Return the onsets measured in the score's WAV, in score time."""
    samples, rate = read_wav(wav_bytes(score))
    return onsets_s(samples, rate, apart_s=0.1) - LEAD_IN_S


def assert_in_time(score: Score) -> None:
    """Check that what is heard is what is written, within 5 ms, nothing less and nothing more."""
    heard, written = heard_s(score), struck_s(score)
    assert len(heard) == len(written)
    assert np.abs(heard - written).max() < 0.005


@pytest.mark.parametrize("tempo_bpm", [60, 90, 132])
@pytest.mark.parametrize("semitones", [0, 7])
def test_the_phrase_is_in_time(semitones: int, tempo_bpm: float) -> None:
    """Every chord and every eighth note of the phrase starts within 5 ms of the tempo."""
    assert_in_time(the_phrase(semitones, tempo_bpm))


@pytest.mark.parametrize("tempo_bpm", [30, 97, 300])
def test_the_click_is_in_time(tempo_bpm: float) -> None:
    """Clicks are one beat apart to within 5 ms, at the slowest and the fastest tempo too."""
    heard = heard_s(click_track(tempo_bpm, 3))
    assert np.abs(heard - np.arange(16) * 60 / tempo_bpm).max() < 0.005


@pytest.mark.parametrize("comping", COMPING)
@pytest.mark.parametrize("voice", ["click", "bass", "pluck"])
def test_each_part_of_a_track_is_in_time(voice: str, comping: str) -> None:
    """Click, bass and swung grips, each heard alone, start within 5 ms of where they belong."""
    whole = track(BLUES, 116, comping=comping, swing=SWING, fade_out_s=0)
    assert_in_time(replace(whole, tones=tuple(t for t in whole.tones if t.voice == voice)))


def test_each_string_of_a_slow_strum_is_heard() -> None:
    """Four strings 150 ms apart are four onsets."""
    heard = heard_s(Score(strum(GRIP, 0.0, 2.0, spread_s=0.15)))
    assert np.abs(heard - np.arange(4) * 0.15).max() < 0.005


LOUD = Score(tuple(Tone(110.0 * n, 0.0, 2.0, 1.0) for n in range(1, 13)))


@pytest.mark.parametrize(
    "score",
    [
        the_phrase(),
        click_track(120, 2),
        drone([36, 43], 3.0),
        track(BLUES, 140, rounds=(0, 5)),
        LOUD,
    ],
    ids=["phrase", "click", "drone", "track", "twelve notes at full loudness"],
)
def test_every_sound_keeps_below_the_ceiling_and_starts_quietly(score: Score) -> None:
    """No peak passes the ceiling; the first 50 ms are silent, the first 100 soft but for a count-in, whose first click
    is as loud as a later downbeat's."""
    samples, rate = read_wav(wav_bytes(score))
    peak = np.abs(samples).max()
    assert 0.02 < peak <= CEILING
    assert np.abs(samples[: round(0.05 * rate)]).max() == 0
    opening = np.abs(samples[: round(0.1 * rate)]).max()
    if not score.count_in_s:
        assert opening <= 0.25 * CEILING
    else:
        downbeat = round((0.06 + score.count_in_s) * rate)
        assert 0.1 < opening <= np.abs(samples[downbeat : downbeat + round(0.04 * rate)]).max() * 1.01


@given(
    tones=st.lists(
        st.builds(
            Tone,
            hz=st.floats(30, 2000),
            start_s=st.floats(0, 0.5),
            length_s=st.floats(0.002, 0.4),
            loudness=st.floats(0, 1),
            voice=st.sampled_from(["pluck", "bass", "drone", "click"]),
        ),
        max_size=8,
    ),
    ceiling=st.floats(0.01, CEILING),
    volume=st.floats(0, 1),
)
@settings(max_examples=60)
def test_no_score_passes_the_ceiling_asked_for(tones: list[Tone], ceiling: float, volume: float) -> None:
    """Whatever is mixed, no sample passes the ceiling, and the last one is silence."""
    samples = render(Score(tuple(tones)), ceiling=ceiling, volume=volume, rate=22_050)
    assert np.abs(samples).max(initial=0) <= ceiling
    assert samples[-1] == 0


def test_a_louder_mix_is_scaled_and_not_bent() -> None:
    """A mix held to the ceiling is the same wave made smaller, so nothing is distorted."""
    late = replace(LOUD, tones=later(LOUD.tones, 1.0))
    free, held = render(late), render(late, ceiling=0.1)
    assert np.abs(held).max() == pytest.approx(0.1, rel=1e-5)
    assert np.allclose(held * 5, free, atol=1e-5)


def test_volume_makes_it_softer() -> None:
    """Half the volume is half of every sample."""
    assert np.allclose(render(the_phrase(), volume=0.5) * 2, render(the_phrase()), atol=1e-6)


@pytest.mark.parametrize(("field", "value"), [("ceiling", 0.9), ("volume", 1.5), ("volume", -1)])
def test_more_than_the_ceiling_cannot_be_asked_for(field: str, value: float) -> None:
    """A ceiling above the tool's own, or a volume outside 0 to 1, is refused by name."""
    with pytest.raises(SoundError, match=field):
        render(the_phrase(), **{field: value})


def clicks_at_joins(samples: np.ndarray, rate: int, score: Score) -> list[float]:
    """Return the ends of notes at which the wave steps more than its own vibration does."""
    faults = []
    for end_s in sorted({each.end_s for each in score.tones}):
        at_s = LEAD_IN_S + end_s
        around = steepest_step(samples, rate, at_s, 0.0004)
        usual = steepest_step(samples, rate, at_s - 0.06, 0.02)
        later = steepest_step(samples, rate, at_s + 0.03, 0.025)
        if around > 1.2 * max(usual, later) + 2 / 32768:
            faults.append(end_s)
    return faults


def test_notes_join_without_a_click() -> None:
    """Where a note is damped, the wave steps no more than it does beside that place."""
    for score in (Score(line(range(88, 32, -1), 0.0, 0.3)), the_phrase(3), click_track(200, 4)):
        samples, rate = read_wav(wav_bytes(score))
        assert clicks_at_joins(samples, rate, score) == []


def test_a_note_cut_off_is_noticed() -> None:
    """The check of the joins hears a note that stops without being damped."""
    long = Score(strum([45], 0.0, 2.0, spread_s=0.0))
    samples, rate = read_wav(wav_bytes(long))
    cut = samples.copy()
    place = round((LEAD_IN_S + 0.9) * rate)
    place += int(np.argmax(np.abs(cut[place : place + 400])))
    cut[place:] = 0
    ends = replace(long, tones=(replace(long.tones[0], length_s=place / rate - LEAD_IN_S),))
    assert len(clicks_at_joins(cut, rate, ends)) == 1


def test_notes_begin_without_a_step() -> None:
    """The first sample of a note is nearly nothing, and its first steps smaller than its body's."""
    for midi in range(33, 89, 5):
        samples = render(Score(strum([midi], 1.0, 1.0, spread_s=0.0)))
        onset = round((LEAD_IN_S + 1.0) * 44_100)
        body = samples[onset : onset + 4410]
        assert abs(body[0]) < 0.01 * np.abs(body).max()
        steps = np.abs(np.diff(samples))
        assert steps[onset - 5 : onset + 15].max() <= 0.5 * steps[onset : onset + 2500].max()


def test_the_end_fades_when_asked() -> None:
    """A track fades over its last seconds: each half second is softer than the one before."""
    faded = render(track(BLUES, 120, fade_out_s=2.0))
    plain = render(track(BLUES, 120, fade_out_s=0.0))
    half = 22_050
    end = len(faded) - round(0.05 * 44_100)
    share = [
        np.abs(faded[end - n * half : end - (n - 1) * half]).max()
        / np.abs(plain[end - n * half : end - (n - 1) * half]).max()
        for n in (4, 3, 2, 1)
    ]
    assert share == sorted(share, reverse=True)
    assert share[-1] < 0.2


def test_blocks_are_the_whole_in_pieces() -> None:
    """A long score comes in blocks of at most ten seconds that add up to its length."""
    score = track(BLUES, 100, rounds=(0, 5, 10))
    pieces = [len(block) for block in blocks(score)]
    assert len(pieces) > 2
    assert max(pieces) <= 441_000
    assert sum(pieces) == total_samples(score)


def test_the_file_is_plain_wave() -> None:
    """The stdlib reads back one channel of 16 bits at 44.1 kHz, as long as the score."""
    score = the_phrase()
    with wave.open(io.BytesIO(wav_bytes(score))) as file:
        assert file.getparams()[:3] == (1, 2, 44_100)
        assert file.getnframes() == total_samples(score)
    assert score.length_s == pytest.approx(12, abs=0.5)


def test_an_empty_score_is_a_moment_of_silence() -> None:
    """A score without tones is written as silence."""
    samples, _ = read_wav(wav_bytes(Score(())))
    assert len(samples) > 0
    assert not samples.any()


def test_saving_replaces_a_file_whole(tmp_path: Path) -> None:
    """A saved file holds the bytes of the score, and nothing else is left beside it."""
    place = tmp_path / "c.wav"
    place.write_bytes(b"old")
    score = click_track(120, 1)
    assert save_wav(score, place) == place
    assert place.read_bytes() == wav_bytes(score)
    assert list(tmp_path.iterdir()) == [place]


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    """The refusal names the path and the reason, for a folder that is missing or is a file."""
    (tmp_path / "file").write_text("")
    for place in (tmp_path / "none" / "c.wav", tmp_path / "file" / "c.wav"):
        with pytest.raises(SoundError, match=r"cannot write .*c\.wav"):
            save_wav(click_track(120, 1), place)


def test_a_score_longer_than_the_format_is_refused() -> None:
    """Fourteen hours do not fit a WAV file, and that is said before anything is mixed."""
    with pytest.raises(SoundError, match="hours"):
        wav_bytes(drone([40], 14 * 3600))
