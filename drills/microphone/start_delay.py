"""How late a sound comes back in from the moment it is handed to the device, over several starts."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.room import RoundTrip, StartDelay, round_trip, start_delay
from drills.microphone.duplex import Duplex

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["measured_start_delay"]

_STARTS = 4
_CLICKS_S, _LISTEN_S = (0.2, 0.9), 1.7
_SETTLE_S = 0.3
"""A device that has just been opened is only waking up."""


def measured_start_delay(open_one: Callable[[], Duplex]) -> StartDelay | None:
    """Opens the device several times, plays two clicks each time, and hears when they come back.

    open_one: a device not yet opened. None where no click comes back, as over headphones. Raises MicrophoneError
    where there is no device or speaker and microphone do not open together.
    """
    return start_delay([_one_start(open_one()) for _ in range(_STARTS)])


def _one_start(device: Duplex) -> RoundTrip | None:
    click = _click(device.rate)
    sound = np.zeros(round(_LISTEN_S * device.rate))
    for start in _CLICKS_S:
        first = round(start * device.rate)
        sound[first : first + len(click)] += click
    came: list[Samples] = []
    with device:
        played = False
        for frame in device.frames():
            if not played and frame.at_s >= _SETTLE_S:
                device.play(sound)
                played = True
            if device.began is None or frame.at_s < device.began.at_s:
                continue
            came.append(frame.samples)
            if frame.at_s - device.began.at_s >= _LISTEN_S:
                break
        if device.overflows:
            return None  # sound was lost on the way, so nothing can be counted
    return round_trip(np.concatenate(came), click, _CLICKS_S, device.rate)


def _click(rate: int) -> Samples:
    """A click without pitch: 4 ms of noise, quiet, the same each time."""
    length = round(rate * 0.004)
    noise: Samples = np.random.default_rng(1).uniform(-0.2, 0.2, length) * np.hanning(length)
    return noise
