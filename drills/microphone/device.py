"""The microphone itself, by sounddevice (an optional extra over PortAudio)."""

from __future__ import annotations

import importlib
import queue
from collections.abc import Callable, Iterator
from types import ModuleType, TracebackType
from typing import TYPE_CHECKING, Any

import numpy as np

from drills.errors import MicrophoneError
from drills.listening.heard import Frame
from drills.microphone.wav_input import HIGHEST_RATE, LOWEST_RATE

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["Microphone", "load_sounddevice"]

_OR_A_RECORDING = "neckwork listen and neckwork tuner also take a recording, --wav FILE"
_PATIENCE_S = 2.0
"""A device that gives nothing for this long is gone."""
_BLOCK_S = 0.01
_LOST_S = 0.05
"""By so much the time of capture goes on where sound was lost: more than twice what the ears take for a jump."""


def load_sounddevice(load: Callable[[str], ModuleType] = importlib.import_module) -> Any:
    """The library that reaches the device. Raises MicrophoneError with what to do where it is not there."""
    try:
        return load("sounddevice")
    except ImportError:
        raise MicrophoneError(
            f"listening needs sounddevice: pip install 'neckwork[sound]'; {_OR_A_RECORDING}"
        ) from None
    except OSError:
        raise MicrophoneError(
            "sounddevice finds no PortAudio: on Linux install libportaudio2 with your package manager; "
            f"{_OR_A_RECORDING}"
        ) from None


class Microphone:
    """The machine's usual microphone, open from `open` to `close` or as long as a `with` block lasts.

    library: sounddevice, see `load_sounddevice`. Raises MicrophoneError where there is no device that fits.
    """

    def __init__(self, library: Any):
        self._library = library
        self._queue: queue.SimpleQueue[tuple[int, Samples]] = queue.SimpleQueue()
        self._taken = 0
        self._stream: Any = None
        self.overflows = 0
        """How often the device said that sound was lost."""
        try:
            device = library.query_devices(kind="input")
            self.rate = round(float(device["default_samplerate"]))
        except (library.PortAudioError, ValueError, KeyError) as error:
            raise MicrophoneError(f"no microphone is there ({error}); plug one in; {_OR_A_RECORDING}") from None
        if not LOWEST_RATE <= self.rate <= HIGHEST_RATE:
            raise MicrophoneError(
                f"the microphone gives {self.rate} samples a second, expected {LOWEST_RATE} to {HIGHEST_RATE}; "
                "choose another device, or set this one to 44100 in the system's sound settings"
            )

    def __enter__(self) -> Microphone:
        return self.open()

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def open(self) -> Microphone:
        """Begins to capture. Raises MicrophoneError where another program or the system keeps the device."""
        try:
            self._stream = self._library.InputStream(
                samplerate=self.rate, channels=1, dtype="float32", blocksize=round(self.rate * _BLOCK_S),
                callback=self._take,
            )  # fmt: skip
            self._stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            self.close()  # it may have opened and not begun
            raise MicrophoneError(
                f"the microphone does not open ({error}); another program may hold it, "
                "or your terminal may not use it: allow it in the system's privacy settings"
            ) from None
        return self

    def close(self) -> None:
        """Gives the device back."""
        if self._stream is not None:
            self._stream.close()

    def _take(self, data: Any, _frames: int, _time: Any, status: Any) -> None:
        # On the device's own thread: copy and be gone.
        self._keep(data, self._place(status))

    def _place(self, status: Any) -> int:
        """The frame at which the block that came in begins, counted from the opening; status: what the device says."""
        if status:
            # The device does not say how much is missing. Any jump that the ears notice tells them so.
            self.overflows += 1
            self._taken += round(_LOST_S * self.rate)
        return self._taken

    def _keep(self, data: Any, first: int) -> None:
        self._queue.put((first, np.array(data[:, 0], dtype=np.float64)))
        self._taken = first + len(data)

    def frames(self) -> Iterator[Frame]:
        """Frames as they come in, without end. Raises MicrophoneError when the device falls silent altogether."""
        while True:
            try:
                first, samples = self._queue.get(timeout=_PATIENCE_S)
            except queue.Empty:
                raise MicrophoneError("the microphone was lost in mid-take: plug it in again") from None
            yield Frame(first / self.rate, samples)
