"""A stage played over its track while it sounds: one stream plays and hears, so that each note has its place."""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from drills.cli.stage_heard import best_line, stage_engine
from drills.errors import MicrophoneError
from drills.listening.ears import Ears
from drills.listening.heard import Frame
from drills.microphone.duplex import Duplex
from drills.microphone.kept_delays import usable_delay
from drills.microphone.wav_input import WavInput
from drills.session.session_sentences import NOT_TIMED
from drills.sound.mix import LEAD_IN_S

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drills.lines.line import Line
    from drills.listening.room import StartDelay
    from drills.shapes.finder import ShapeFinder
    from drills.sound.outlets import Outlet
    from drills.sound.score import Score

__all__ = ["LiveStage", "open_live_stage"]

_AGAIN = "run neckwork tuner --clicks again"
_AFTER_S = 0.6
"""After the last sound of the track comes in so long is listened: the pitch of a last note takes a third of it."""


@dataclass(slots=True)
class _Take:
    """One pass: what it is held against, when it was asked for, and what came in."""

    line: Line
    track: Score
    asked_at_s: float
    ears: Ears
    keeps_sound: bool
    first_s: float | None = None
    came: list[NDArray[np.float32]] = field(default_factory=list)

    def add(self, frame: Frame) -> None:
        if self.first_s is None:
            self.first_s = frame.at_s
        self.ears = self.ears.take(Frame(frame.at_s - self.first_s, frame.samples))
        if self.keeps_sound:
            self.came.append(frame.samples.astype(np.float32))


class LiveStage:
    """Hears what is played over a track that the same device plays; see `StageEars`.

    device: open, on the machine's own clock, and what the tracks are played through. finder: of the neck. delay: the
    device's round trip, None where it was not measured. said: what the player is told of that, or ``""``.
    """

    def __init__(self, device: Duplex, finder: ShapeFinder, delay: StartDelay | None, said: str = ""):
        self._device, self._finder, self.said = device, finder, said
        self._delay = delay if delay is not None and delay.steady else None
        self._lock = threading.Lock()
        self._lines: tuple[Line, ...] = ()
        self._take: _Take | None = None
        self._now_s = 0.0
        self._closed = False
        self.trouble = ""
        """Why nothing is heard any more, or ``""``."""
        self._thread = threading.Thread(target=self._listen, name="listening", daemon=True)

    @property
    def timed(self) -> bool:
        """Whether it is known how late the sound comes in."""
        return self._delay is not None

    @property
    def outlet(self) -> Outlet:
        """What the tracks have to be played through."""
        return self._device

    def start(self) -> LiveStage:
        """Begins to listen."""
        self._thread.start()
        return self

    def turn_to(self, lines: Sequence[Line]) -> None:
        """The lines that are practised from now on, which `begin` names by their index."""
        self._lines = tuple(lines)

    def begin(self, at: int, track: Score) -> None:
        """The track is about to be played, alone; what is played from now on is held against the line."""
        line = self._lines[at]
        several = any(len(group) > 1 for group in line.struck())
        ears = Ears.start(self._device.rate, stage_engine(self._finder))
        with self._lock:
            self._take = _Take(line, track, time.monotonic(), ears, several)

    def drop(self) -> None:
        """What was played so far is forgotten."""
        with self._lock:
            self._take = None

    def told(self) -> Sequence[str] | None:
        """What to say once the track is over, None before; the take is then forgotten."""
        delay_s = self._delay.seconds if self._delay is not None else self._device.told_delay_s
        with self._lock:
            take = self._take
            if take is None:
                return None
            if self.trouble:
                self._take = None
                return (f"Not listening: {self.trouble}. Your word?",)
            began = self._device.began
            if began is None or began.clock_s < take.asked_at_s or take.first_s is None:
                return None
            if self._now_s < began.at_s + LEAD_IN_S + take.track.length_s + delay_s + _AFTER_S:
                return None
            self._take = None
        samples = np.concatenate(take.came).astype(np.float64) if take.came else np.zeros(0)
        heard = best_line(
            (take.line,), take.track, take.ears.finish(), WavInput(samples, self._device.rate),
            began.at_s + LEAD_IN_S - take.first_s + delay_s, untimed="" if self.timed else NOT_TIMED, mend=_AGAIN,
        )  # fmt: skip
        in_time, _ = heard.proposed
        return (*heard.lines()[1:], *(["t keeps it."] if in_time else []))

    def close(self, timeout_s: float = 1.0) -> None:
        """Ends the listening and gives the device back; may be called again."""
        self._closed = True
        if self._thread.is_alive():
            self._thread.join(timeout_s)
        self._device.close()

    def _listen(self) -> None:
        try:
            for frame in self._device.frames():
                if self._closed:
                    return
                with self._lock:
                    if self._take is not None:
                        self._take.add(frame)
                    self._now_s = frame.at_s + len(frame.samples) / self._device.rate
        except MicrophoneError as error:
            self.trouble = str(error)
        except Exception as error:  # a fault in here must not stop the player
            self.trouble = f"a fault in the listening ({type(error).__name__})"


def open_live_stage(library: Any, finder: ShapeFinder, kept: Path) -> LiveStage:
    """Opens speaker and microphone together and begins to listen.

    library: sounddevice. kept: the file of measured round trips; where it is broken the stage says so, and nothing is
    timed. Raises MicrophoneError with what to do where there is no device, or both do not open together.
    """
    device = Duplex(library)
    delay, said = usable_delay(kept, device.devices)
    return LiveStage(device.open(), finder, delay, said).start()
