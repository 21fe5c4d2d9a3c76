"""What the machine can play a WAV file through: a playback library, or a system player.

The library is sounddevice, an optional extra over PortAudio; failing that, the first system
player found. An outlet that turns out not to work raises OSError or ends with a code other
than 0, and the next one is tried.
"""

from __future__ import annotations

import contextlib
import importlib
import importlib.util
import shutil
import subprocess
import wave
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any, Protocol

__all__ = ["SYSTEM_PLAYERS", "DeviceOutlet", "Outlet", "Playing", "SystemOutlet", "can_play", "find_outlets"]

SYSTEM_PLAYERS: tuple[tuple[str, ...], ...] = (
    ("afplay",),
    ("pw-play",),
    ("paplay",),
    ("aplay", "-q"),
    ("play", "-q"),
    ("ffplay", "-nodisp", "-autoexit", "-loglevel", "quiet"),
)
"""Commands that play the file named after them and stay silent otherwise, in order of trial."""

_STOP_FADE_S = 0.03
_STOP_PATIENCE_S = 0.5


class Playing(Protocol):
    """A sound under way."""

    def poll(self) -> int | None:
        """Return None while it sounds, then 0, or another number when it failed."""

    def stop(self) -> None:
        """End it now, softly where the outlet can; returns when it is silent."""


class Outlet(Protocol):
    """One way to play a file."""

    name: str

    def start(self, path: Path) -> Playing:
        """Begin to play a WAV file and return at once; raises OSError when it cannot."""


class SystemOutlet:
    """A command of the system, run without touching the terminal."""

    def __init__(self, command: tuple[str, ...], popen: Callable[..., subprocess.Popen[bytes]] = subprocess.Popen):
        self.name = Path(command[0]).name
        self._command, self._popen = command, popen

    def start(self, path: Path) -> Playing:
        """Start the command on `path`; raises OSError when it cannot be started."""
        process = self._popen(
            [*self._command, str(path)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            # Out of the terminal's group, so that a key meant for us does not reach it.
            start_new_session=True,
        )
        return _Process(process)


class _Process:
    def __init__(self, process: subprocess.Popen[bytes]):
        self._process = process

    def poll(self) -> int | None:
        return self._process.poll()

    def stop(self) -> None:
        if self._process.poll() is not None:
            return
        self._process.terminate()
        try:
            self._process.wait(_STOP_PATIENCE_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class DeviceOutlet:
    """The sound device, through the sounddevice library, which lets a sound be faded out."""

    name = "sounddevice"

    def __init__(self, library: ModuleType):
        self._library = library

    def start(self, path: Path) -> Playing:
        """Open the default device for `path`; raises OSError when there is none."""
        try:
            return _Stream(self._library, path)
        except self._library.PortAudioError as error:
            raise OSError(f"sound device: {error}") from error


class _Stream:
    def __init__(self, library: Any, path: Path):
        import numpy as np

        with wave.open(str(path), "rb") as file:
            rate = file.getframerate()
            self._samples = np.frombuffer(file.readframes(file.getnframes()), "<i2")
        self._library, self._at, self._stopping = library, 0, False
        self._fade = max(1, round(_STOP_FADE_S * rate))
        self._fade_at = 0
        self._stream = library.OutputStream(samplerate=rate, channels=1, dtype="int16", callback=self._fill)
        self._stream.start()

    def _fill(self, out: Any, frames: int, _time: Any, _status: Any) -> None:
        """Hand the device its next samples; called by the library on its own thread."""
        import numpy as np

        chunk = self._samples[self._at : self._at + frames]
        self._at += len(chunk)
        if self._stopping:
            place = self._fade_at + np.arange(len(chunk))
            chunk = chunk * np.clip(1 - place / self._fade, 0, 1)
            self._fade_at += len(chunk)
        out[: len(chunk), 0] = chunk
        out[len(chunk) :] = 0
        if len(chunk) < frames or self._fade_at >= self._fade:
            raise self._library.CallbackStop

    def poll(self) -> int | None:
        if self._stream.active:
            return None
        self._stream.close()
        return 0

    def stop(self) -> None:
        self._stopping = True
        # What the callback has faded is still in the device's buffer: `stop` waits for it.
        if self._stream.active:
            self._library.sleep(round(_STOP_FADE_S * 2000))
            self._stream.stop()
        self._stream.close()


def can_play(
    which: Callable[[str], str | None] = shutil.which, find_spec: Callable[[str], Any] = importlib.util.find_spec
) -> bool:
    """Return whether anything is there to play with; quick, and no promise that it works."""
    return find_spec("sounddevice") is not None or any(which(command[0]) for command in SYSTEM_PLAYERS)


def find_outlets(
    which: Callable[[str], str | None] = shutil.which,
    load: Callable[[str], ModuleType] = importlib.import_module,
    popen: Callable[..., subprocess.Popen[bytes]] = subprocess.Popen,
) -> list[Outlet]:
    """Return what can be tried, best first: the library if it loads, then system players.

    Slow (it may load a library that opens the sound system): not for the key loop.
    """
    found: list[Outlet] = []
    # Not installed, or installed without PortAudio: an optional extra, so no complaint.
    with contextlib.suppress(ImportError, OSError):
        found.append(DeviceOutlet(load("sounddevice")))
    for command in SYSTEM_PLAYERS:
        place = which(command[0])
        if place:
            found.append(SystemOutlet((place, *command[1:]), popen))
    return found
