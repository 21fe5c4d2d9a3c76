"""A track as a file: its loudness, its peaks, its formats, and what a small speaker hears of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pyloudnorm
import pytest
import soundfile
from scipy.signal import resample_poly

from drills.band.band import band
from drills.changes.changes_source import changes_from
from drills.errors import SoundError
from drills.neck.neck import Neck
from drills.shapes.finder import ShapeFinder
from drills.sound.loudness import integrated_lufs, set_loudness, true_peak_db
from drills.sound.mix import CEILING, RATE, blocks
from drills.sound.track_file import save_track, track_samples
from drills.theory.quality import shipped_qualities


@pytest.fixture(scope="module")
def scores():
    finder = ShapeFinder(Neck())
    names = ("blues-in-f", "waltz-in-g", "bossa-type-in-a-minor")
    return {name: band(changes_from(name, shipped_qualities(), ()), finder) for name in names}


@pytest.fixture(scope="module")
def exported(scores):
    """The samples of each file, rendered once."""
    return {name: track_samples(score) for name, score in scores.items()}


@pytest.fixture(scope="module")
def players(scores):
    """What each player of the blues sounds alone, rendered once."""
    score = scores["blues-in-f"]
    return {
        voice: np.concatenate(list(blocks(replace(score, tones=tuple(t for t in score.tones if t.voice == voice)))))
        for voice in ("bass", "comping", "drums")
    }


@pytest.mark.parametrize("name", ["blues-in-f", "waltz-in-g", "bossa-type-in-a-minor"])
def test_an_exported_track_is_as_loud_as_music_and_keeps_its_peaks(exported, name):
    """-16 to -14 LUFS integrated by pyloudnorm (ITU-R BS.1770-4), true peak under -1 dBTP by scipy's resampling."""
    samples = exported[name]
    measured = pyloudnorm.Meter(RATE).integrated_loudness(samples.astype(float))
    assert -16.0 <= measured <= -14.0
    assert integrated_lufs(samples, RATE) == pytest.approx(measured, abs=0.15)
    peak = 20 * np.log10(np.abs(resample_poly(samples.astype(float), 4, 1)).max())
    assert peak < -1.0
    assert true_peak_db(samples, RATE) == pytest.approx(peak, abs=0.1)


def test_what_is_played_live_keeps_the_quiet_ceiling(scores, exported):
    """Live sound does not pass half of full scale, however loud the file is (rule E)."""
    assert max(np.abs(block).max() for block in blocks(scores["blues-in-f"])) <= CEILING
    assert np.abs(exported["blues-in-f"]).max() > CEILING


@pytest.mark.parametrize("lufs", [-30.0, -23.0, -14.0])
def test_loudness_of_a_tone_is_that_of_the_standard(lufs):
    """A sine of 997 Hz reads as its level does: 0 dBFS is -3.01 LKFS in one channel (BS.1770-4, annex 1)."""
    at = np.arange(5 * RATE) / RATE
    sound = 10 ** ((lufs + 3.01) / 20) * np.sin(2 * np.pi * 997 * at)
    assert integrated_lufs(sound, RATE) == pytest.approx(lufs, abs=0.05)


def test_silence_stays_silent_and_a_gate_leaves_pauses_out():
    """Silence has no loudness; a pause does not make music softer."""
    assert integrated_lufs(np.zeros(RATE), RATE) == float("-inf")
    assert not set_loudness(np.zeros(RATE), RATE).any()
    noise = np.random.default_rng(1).normal(0, 0.1, 4 * RATE)
    paused = np.concatenate((noise, np.zeros(20 * RATE)))
    assert integrated_lufs(paused, RATE) == pytest.approx(integrated_lufs(noise, RATE), abs=0.4)


@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg"])
def test_every_format_holds_the_same_music(scores, exported, tmp_path, ending):
    """Written and read back, the samples are those of the track: to a bit, or nearly so in Ogg Vorbis."""
    path = save_track(scores["waltz-in-g"], tmp_path / f"track{ending}")
    found, rate = soundfile.read(path)
    expected = exported["waltz-in-g"]
    assert rate == RATE and abs(len(found) - len(expected)) <= 2048
    length = min(len(found), len(expected))
    assert np.corrcoef(found[:length], expected[:length])[0, 1] > (0.99 if ending == ".ogg" else 0.999999)


def test_another_ending_is_refused(scores, tmp_path):
    with pytest.raises(SoundError, match=r"\.wav, \.flac, \.ogg"):
        save_track(scores["waltz-in-g"], tmp_path / "track.mp3")
    assert not list(tmp_path.iterdir())


def test_the_bass_is_heard_on_a_small_speaker(players):
    """At least a tenth of the bass's energy lies above 150 Hz, where a laptop's speaker begins (common practice)."""
    sound = players["bass"]
    power = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / RATE)
    assert power[hz > 150].sum() / power.sum() > 0.1


def test_no_player_drowns_another(players):
    """By A-weighted level, bass, comping and drums lie within 12 dB of one another (common practice)."""
    levels = {}
    for voice, sound in players.items():
        hz = np.fft.rfftfreq(len(sound), 1 / RATE)
        squared = hz**2
        weight = (
            12194**2
            * squared**2
            / ((squared + 20.6**2) * np.sqrt((squared + 107.7**2) * (squared + 737.9**2)) * (squared + 12194**2))
        )  # IEC 61672-1, annex E
        levels[voice] = 20 * np.log10(np.sqrt(np.mean((np.abs(np.fft.rfft(sound)) * weight * 1.2589) ** 2)))
    assert max(levels.values()) - min(levels.values()) < 12, levels


def test_the_same_score_gives_the_same_samples(scores):
    """Noise is seeded: a track is the same file twice."""
    one, two = (np.concatenate(list(blocks(scores["bossa-type-in-a-minor"]))) for _ in range(2))
    assert np.array_equal(one, two)
