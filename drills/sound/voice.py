"""A voice of the system that says lines: found where there is one, never required."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable, Sequence

__all__ = ["NO_VOICE", "SYSTEM_VOICES", "Voice", "find_voice"]

SYSTEM_VOICES: tuple[tuple[str, ...], ...] = (
    ("say", "-f", "-"),
    ("spd-say", "--wait", "--pipe-mode"),
    ("espeak-ng", "-s", "150", "--stdin"),
    ("espeak", "-s", "150", "--stdin"),
)
"""Commands that say what comes in by their standard input and end when it is said, in order of trial."""

NO_VOICE = "No voice on this machine: install espeak-ng or speech-dispatcher. The session stays on the screen."
"""Said once where speech was asked for."""

_PATIENCE_S = 1.0


def find_voice(which: Callable[[str], str | None] = shutil.which) -> tuple[str, ...] | None:
    """The first command that is there, or None."""
    return next((command for command in SYSTEM_VOICES if which(command[0])), None)


class Voice:
    """Says lines one after another; a new text ends the one before. No method waits for the end of it.

    command: one of `SYSTEM_VOICES`. failed: whether the last text could not be said.
    """

    def __init__(self, command: Sequence[str], popen: Callable[..., subprocess.Popen[str]] = subprocess.Popen):
        self._command, self._popen = tuple(command), popen
        self._now: subprocess.Popen[str] | None = None
        self.failed = False

    @property
    def speaking(self) -> bool:
        """Whether something is being said."""
        now = self._now  # another thread may begin a new text meanwhile
        code = now.poll() if now is not None else 0
        if code is None:
            return True
        # A voice that was ended by a new text has a negative code, which is no failure.
        self.failed = self.failed or code > 0
        return False

    def say(self, text: str) -> None:
        """Begins to say a text, given on the voice's input, so that no text is taken for an option."""
        self.stop()
        if not text.strip():
            return
        try:
            self._now = self._popen(
                self._command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, text=True,
                encoding="utf-8", errors="replace",
            )  # fmt: skip
            if self._now.stdin is not None:
                self._now.stdin.write(text + "\n")
                self._now.stdin.close()
        except OSError:
            self._now, self.failed = None, True

    def stop(self) -> None:
        """Silence."""
        if self._now is not None and self._now.poll() is None:
            self._now.terminate()
            try:
                self._now.wait(_PATIENCE_S)
            except subprocess.TimeoutExpired:
                self._now.kill()
                self._now.wait(_PATIENCE_S)
        self._now = None
