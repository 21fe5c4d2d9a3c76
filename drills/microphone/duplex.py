"""The microphone and the speaker as one stream: what is played and what comes in are counted by one clock."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from drills.errors import MicrophoneError
from drills.listening.resample import resampled
from drills.microphone.device import Microphone
from drills.microphone.wav_input import read_wav

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["Began", "Duplex"]

_BLOCK_S = 0.01
_FADE_S = 0.03
_STOP_S = 0.2


@dataclass(frozen=True, slots=True)
class Began:
    """A sound that began: at_s, on the clock of the frames that come in; clock_s, on a clock that is never set."""

    at_s: float
    clock_s: float


class Duplex(Microphone):
    """A microphone that plays too, and knows for each sound during which frame its first sample was handed over.

    From there to the moment at which the sound is heard passes the round trip of the device, which does not change
    while the stream is open. It is an outlet of `drills.sound.playback` as well. now_s: a clock that is never set, in
    seconds. Raises MicrophoneError where there is no microphone or no speaker.
    """

    name = "sounddevice"

    def __init__(self, library: Any, now_s: Callable[[], float] = time.monotonic):
        super().__init__(library)
        self._now_s = now_s
        self._sound: _Sound | None = None
        self.began: Began | None = None
        """When the sound that was played last began; None before the first."""
        try:
            pair = [str(library.query_devices(kind=kind)["name"]) for kind in ("input", "output")]
        except (library.PortAudioError, ValueError, KeyError) as error:
            raise MicrophoneError(f"no speaker is there beside the microphone ({error})") from None
        self.devices = " > ".join(pair)
        """Both devices by the system's names; what was measured holds for this pair."""

    def open(self) -> Duplex:
        """Begins to capture, and to play silence. Raises MicrophoneError where both do not open together."""
        try:
            self._stream = self._library.Stream(
                samplerate=self.rate, channels=1, dtype="float32", blocksize=round(self.rate * _BLOCK_S),
                callback=self._exchange,
            )  # fmt: skip
            self._stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            self.close()
            raise MicrophoneError(f"the speaker and the microphone do not open together ({error})") from None
        return self

    @property
    def told_delay_s(self) -> float:
        """The round trip as the device itself tells it, in seconds: good to place notes by, too rough to time them."""
        latency = getattr(self._stream, "latency", None)
        return float(sum(latency)) if isinstance(latency, tuple) else 0.0

    def start(self, path: Path) -> _Sound:
        """Begins to play a WAV file, see `Outlet`. Raises OSError where it cannot be read."""
        try:
            sound = read_wav(path)
        except MicrophoneError as error:
            raise OSError(str(error)) from error
        return self.play(resampled(sound.samples, sound.rate, self.rate))

    def play(self, samples: Samples) -> _Sound:
        """Begins to play samples of full scale 1 at `rate`; what sounded before ends."""
        self._sound = sound = _Sound(np.clip(samples, -1, 1).astype(np.float32), max(1, round(_FADE_S * self.rate)))
        return sound

    def _exchange(self, came: Any, goes: Any, _frames: int, _moment: Any, status: Any) -> None:
        # On the device's own thread.
        goes.fill(0)
        sound = self._sound
        first = self._place(status)  # what goes out is counted as what comes in beside it, lost sound included
        if sound is not None and sound.fill(goes[:, 0]):
            self.began = Began(first / self.rate, self._now_s())
        self._keep(came, first)


class _Sound:
    """A sound under way; see `Playing`."""

    def __init__(self, samples: Any, fade: int):
        self._samples, self._fade = samples, fade
        self._at = 0
        self._left: int | None = None
        self._over = threading.Event()

    def fill(self, goes: Any) -> bool:
        """Puts the next samples where they go; whether they are the first ones."""
        begins = self._at == 0 and not self._over.is_set()
        count = 0 if self._over.is_set() else min(len(goes), len(self._samples) - self._at)
        goes[:count] = self._samples[self._at : self._at + count]
        if self._left is not None:
            goes[:count] *= np.clip((self._left - np.arange(count)) / self._fade, 0, 1)
            self._left -= count
        self._at += count
        if self._at >= len(self._samples) or (self._left is not None and self._left <= 0):
            self._over.set()
        return begins

    def poll(self) -> int | None:
        """None while it sounds, then 0."""
        return 0 if self._over.is_set() else None

    def stop(self) -> None:
        """Fades it out; returns when it is silent, or where a device that was lost cannot tell."""
        if self._left is None:
            self._left = self._fade
        self._over.wait(_STOP_S)
        self._over.set()
