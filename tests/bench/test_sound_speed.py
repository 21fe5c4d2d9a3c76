"""How fast the sound is made, and that making it keeps nobody waiting."""

from __future__ import annotations

import threading
import time

import pytest

from drills.sound import pluck
from drills.sound.backing_track import SWING, TrackChord, track
from drills.sound.midi import midi_bytes
from drills.sound.patterns import drone, phrase
from drills.sound.wav import wav_bytes

GRIP, ARPEGGIO = (48, 59, 64, 67), (48, 52, 55, 59, 60)
IONIAN = (48, 50, 52, 53, 55, 57, 59, 60)
# Eighteen quarters in ten seconds.
TEN_SECONDS = phrase(GRIP, ARPEGGIO, IONIAN, 108.0)


def fresh_wav() -> bytes:
    """Render the ten-second phrase with no note kept from before."""
    pluck._pluck.cache_clear()
    return wav_bytes(TEN_SECONDS)


def test_a_phrase_is_rendered_ten_times_faster_than_it_sounds(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Chord, arpeggio and mode of ten seconds take less than a second, numpy once loaded."""
    fresh_wav()
    spent_s = []
    for _ in range(3):
        start = time.perf_counter()
        fresh_wav()
        spent_s.append(time.perf_counter() - start)
    middle_s = sorted(spent_s)[1]
    ratio = TEN_SECONDS.length_s / middle_s
    with capsys.disabled():
        print(f"\n10-second phrase: {middle_s * 1000:.0f} ms, {ratio:.0f} times faster")
    assert TEN_SECONDS.length_s == pytest.approx(10.0)
    assert ratio >= 10


def test_a_track_and_a_drone_are_faster_still(capsys: pytest.CaptureFixture[str]) -> None:
    """A track through three keys and a minute of drone render ten times faster than they sound."""
    chords = [TrackChord(4.0 * bar, 4.0, 36 + bar % 5, (52, 58, 62 + bar % 3)) for bar in range(12)]
    scores = {
        "track": track(chords, 120, rounds=(0, 5, 10), comping="charleston", swing=SWING),
        "drone": drone((36, 43), 60.0),
    }
    for name, score in scores.items():
        start = time.perf_counter()
        wav_bytes(score)
        spent_s = time.perf_counter() - start
        with capsys.disabled():
            print(f"\n{name} of {score.length_s:.0f} s: {spent_s * 1000:.0f} ms")
        assert score.length_s / spent_s >= 10
    start = time.perf_counter()
    midi_bytes(scores["track"])
    with capsys.disabled():
        print(f"MIDI of the track: {(time.perf_counter() - start) * 1000:.0f} ms")


def test_keys_are_answered_while_sound_is_made(capsys: pytest.CaptureFixture[str]) -> None:
    """A loop that wakes every 5 ms is late by less than one rendering while one is under way."""
    fresh_wav()
    start = time.perf_counter()
    fresh_wav()
    whole_s = time.perf_counter() - start
    done = threading.Event()

    def work() -> None:
        for _ in range(4):
            fresh_wav()
        done.set()

    worker = threading.Thread(target=work)
    worker.start()
    late_s = []
    while not done.is_set():
        before = time.perf_counter()
        time.sleep(0.005)
        late_s.append(time.perf_counter() - before - 0.005)
    worker.join()
    late_s.sort()
    at_95 = late_s[int(0.95 * len(late_s))]
    with capsys.disabled():
        print(f"\nkey loop late by {at_95 * 1000:.1f} ms (95th percentile)")
        print(f"one rendering: {whole_s * 1000:.0f} ms")
    assert at_95 < whole_s
