"""A recording that comes in at the pace of its own time, as a microphone's sound does."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

from drills.listening.heard import Frame
from drills.microphone.wav_input import WavInput

__all__ = ["paced"]


def paced(
    sound: WavInput, now_s: Callable[[], float] = time.monotonic, wait: Callable[[float], None] = time.sleep
) -> Iterator[Frame]:
    """The frames of a recording, each when its last sample would have been captured.

    now_s: a clock that is never set, in seconds. wait: passes so many seconds.
    """
    started: float | None = None
    for frame in sound.frames():
        if started is None:
            started = now_s()
        due = started + frame.at_s + len(frame.samples) / sound.rate
        left = due - now_s()
        if left > 0:
            wait(left)
        yield frame
