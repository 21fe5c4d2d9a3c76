"""Where takes come from: frames of a microphone, heard on a thread of their own, one take after another."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from drills.errors import MicrophoneError
from drills.listening.any_take import AnyEars, start_ears
from drills.listening.heard import Frame

if TYPE_CHECKING:
    from drills.listening.engine import Engine

__all__ = ["ClickSpan", "TakeSource", "ThreadedTakes"]

_ECHO_S = 0.3
"""After a sound of the tool's own so long passes before a take goes on: what the room and the device still hold."""


@dataclass(frozen=True, slots=True)
class ClickSpan:
    """A click as it is heard: beats a minute, and seconds to its first beat and to its end.

    Counted as the frames are that come in, or from the beginning of a take.
    """

    tempo_bpm: float
    from_s: float
    until_s: float

    def since(self, at_s: float) -> ClickSpan:
        """The same, counted from a moment."""
        return ClickSpan(self.tempo_bpm, self.from_s - at_s, self.until_s - at_s)


class TakeSource(Protocol):
    """Whatever listens; no method waits for sound."""

    @property
    def trouble(self) -> str:
        """Why nothing is heard any more, or ``""``."""

    @property
    def busy(self) -> bool:
        """Whether the tool itself sounds, so that nothing is heard."""

    def begin(self, *, grip: bool = False) -> None:
        """A new take, from now on. grip: whether notes struck together are waited for."""

    def heard(self) -> tuple[AnyEars, float]:
        """The take so far, and seconds from its beginning to the first sound that counts."""

    @property
    def first_s(self) -> float | None:
        """When the first sound that counts came in, in seconds as the frames are counted; None before it."""


class ThreadedTakes:
    """Takes from frames as they come in, on a thread of its own.

    frames: in the order of their capture; MicrophoneError raised by it ends the listening, and the session goes on.
    rate: samples a second. busy: whether the tool itself sounds; what is captured meanwhile is not heard.
    """

    def __init__(
        self,
        frames: Iterator[Frame],
        rate: int,
        busy: Callable[[], bool] = lambda: False,
        engine: Engine | None = None,
    ):
        self._frames, self._rate, self._busy, self._engine = frames, rate, busy, engine
        self._lock = threading.Lock()
        self._grip = False
        self._ears = self._fresh()
        self._turn = 0
        self._began_s: float | None = None
        self._first_s: float | None = None
        self._deaf_until_s = 0.0
        self._closed = False
        self.trouble = ""
        self._thread = threading.Thread(target=self._listen, name="listening", daemon=True)

    @property
    def busy(self) -> bool:
        """Whether the tool itself sounds, so that nothing is heard."""
        return self._busy()

    def start(self) -> ThreadedTakes:
        """Begins to listen."""
        self._thread.start()
        return self

    def begin(self, *, grip: bool = False) -> None:
        """A new take, from now on. grip: whether notes struck together are waited for."""
        with self._lock:
            self._grip = grip
            self._turn += 1
            self._ears = self._fresh()
            self._began_s = self._first_s = None

    def heard(self) -> tuple[AnyEars, float]:
        """The take so far, and seconds from its beginning to the first sound that counts."""
        with self._lock:
            began, first = self._began_s, self._first_s
            return self._ears, 0.0 if began is None or first is None else first - began

    @property
    def first_s(self) -> float | None:
        """When the first sound that counts came in, in seconds as the frames are counted; None before it."""
        with self._lock:
            return self._first_s

    def close(self, timeout_s: float = 1.0) -> None:
        """Ends the listening; may be called again."""
        self._closed = True
        if self._thread.is_alive():
            self._thread.join(timeout_s)

    def _fresh(self) -> AnyEars:
        return start_ears(self._rate, grip=self._grip, engine=self._engine)

    def _listen(self) -> None:
        try:
            for frame in self._frames:
                if self._closed:
                    return
                self._take(frame)
            self.trouble = "the recording is over"
        except MicrophoneError as error:
            self.trouble = str(error)
        except Exception as error:  # a fault in here must not reach the screen, nor stop the player
            self.trouble = f"a fault in the listening ({type(error).__name__})"

    def _take(self, frame: Frame) -> None:
        busy = self._busy()
        with self._lock:
            if self._began_s is None:
                self._began_s = frame.at_s
            if busy:
                self._deaf_until_s = frame.at_s + _ECHO_S
            if frame.at_s < self._deaf_until_s:
                # What was played over the tool's own sound is not judged, and what came before it is no whole take.
                if self._first_s is not None:
                    self._ears, self._first_s = self._fresh(), None
                return
            if self._first_s is None:
                self._first_s = frame.at_s
            ears, turn, at_s = self._ears, self._turn, frame.at_s - self._first_s
        # Without the lock: a pitch takes an engine tens of milliseconds, and no key may wait for it.
        taken = ears.take(Frame(at_s, frame.samples))
        with self._lock:
            if turn == self._turn:
                self._ears = taken
