"""A sound library whose speaker is heard by its own microphone, late and softly, and over which somebody may play."""

from __future__ import annotations

import threading
import time
from functools import lru_cache

import numpy as np

from drills.sound.pluck import GUITAR, pluck
from tests.listening.plucked import hz_of

__all__ = ["SimulatedRoom"]

_BURST = 8
"""Blocks that come one after another without a rest, where sound does not pass at its own pace."""


class _PortAudioError(Exception):
    """What the library raises."""


class SimulatedRoom:
    """A library in place of sounddevice, with a truth: how late and how softly the speaker is heard.

    trips_s: the round trip of each opening, in turn, a block (10 ms) or more. bleed: what of the speaker comes in, 1
    all of it. plan: seconds after the first sound of the speaker and MIDI number of each pluck of a player, who plays
    to what is heard. speed: how many times faster than its pace sound passes; 0 as fast as it goes. lost_after_s: the
    device is pulled out so long after the first sound. lossy_at_s: so long after it the device says that sound was
    lost. refuses: whether speaker and microphone do not open together. told_s: the round trip as the device tells it.
    """

    PortAudioError = _PortAudioError

    def __init__(
        self, rate=22_050, trips_s=(0.12,), bleed=0.0, plan=(), speed=40.0, lost_after_s=None,
        lossy_at_s=None, refuses=False, told_s=0.1,
    ):  # fmt: skip
        self.rate, self.trips_s, self.bleed, self.plan = rate, trips_s, bleed, plan
        self.speed, self.lost_after_s, self.lossy_at_s, self.refuses = speed, lost_after_s, lossy_at_s, refuses
        self.told_s, self.opened, self.closed = told_s, 0, 0

    def query_devices(self, kind):
        """The usual devices."""
        return {"default_samplerate": float(self.rate), "name": f"simulated {kind}"}

    def Stream(self, *, callback, blocksize, **_given):
        """Speaker and microphone together."""
        if self.refuses:
            raise _PortAudioError("Invalid sample rate")
        self.opened += 1
        return _Stream(self, callback, blocksize, self.trips_s[(self.opened - 1) % len(self.trips_s)])

    def InputStream(self, *, callback, blocksize, **_given):
        """The microphone alone."""
        return _Stream(self, lambda came, goes, *rest: callback(came, *rest), blocksize, self.trips_s[0])


class _Stream:
    def __init__(self, room, callback, size, trip_s):
        self._room, self._callback, self._size = room, callback, size
        self._trip = round(trip_s * room.rate)
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self.latency = (room.told_s / 2, room.told_s / 2)

    def start(self):
        """Sound comes and goes from now on."""
        self._thread.start()

    def close(self):
        """Both devices are given back."""
        self._ending.set()
        if self._thread.ident is not None:
            self._thread.join()
        self._room.closed += 1

    def _run(self):
        room, size = self._room, self._size
        burst = _BURST if room.speed != 1 else 1
        length = max((at for at, _ in room.plan), default=0.0) + 2.0
        guitar, began, number = np.zeros(round(length * room.rate)), None, 0
        for at, midi in room.plan:
            tone = _tone(midi, room.rate)
            first = round(at * room.rate)
            guitar[first : first + len(tone)] += tone[: len(guitar) - first]
        sounded = np.zeros(self._trip)  # the last of what the speaker sounded, not yet heard
        rng = np.random.default_rng(0)
        while not self._ending.is_set():
            first = number * size
            came = room.bleed * sounded[:size] + rng.normal(0, 0.0003, size)
            since = None if began is None else first - began
            if since is not None:
                start = since - self._trip
                part = guitar[max(0, start) : max(0, start + size)]
                came[size - len(part) if start < 0 else 0 :][: len(part)] += part
            if room.lost_after_s is not None and since is not None and since > room.lost_after_s * room.rate:
                self._ending.wait(0.01)
                continue
            lossy = room.lossy_at_s is not None and since is not None and since / room.rate >= room.lossy_at_s
            if lossy:
                room.lossy_at_s = None
            goes = np.zeros((size, 1), np.float32)
            self._callback(came[:, None].astype(np.float32), goes, size, None, int(lossy))
            loud = np.flatnonzero(goes[:, 0])
            if began is None and len(loud):
                began = first + int(loud[0])
            sounded = np.concatenate((sounded[size:], goes[:, 0].astype(np.float64)))
            number += 1
            if number % burst == 0:  # without a rest nobody else would be heard: this thread is not the only one
                time.sleep(burst * size / room.rate / room.speed if room.speed else 0)


@lru_cache(maxsize=64)
def _tone(midi, rate):
    return 0.5 * pluck(hz_of(midi), 1.2, rate, 0.8, GUITAR)
