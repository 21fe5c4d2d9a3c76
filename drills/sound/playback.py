"""Plays a score without making the caller wait. A thread of its own renders and plays it.

The latest request counts: a new score, or `stop`, ends the one before. A missing sound card raises
nothing here; it is said once, in `take_notice`.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

from drills.sound.left_folders import clear_left_folders, sound_folder
from drills.sound.outlets import Outlet, find_outlets
from drills.sound.score import Score
from drills.sound.wav import save_wav

__all__ = ["NO_SOUND", "Playback"]

NO_SOUND = "No sound: nothing on this machine plays it. All else goes on."
"""The notice where no outlet is left."""

# A process tells nobody when it ends; looked at this often, its end is noticed in time.
_LOOK_S = 0.04
# A player that has not ended this long after the sound should have is stuck.
_GRACE_S = 8.0


class Playback:
    """Plays one score at a time on a worker thread; every method returns at once but `wait`.

    find: returns the outlets to try, best first; called once, on the worker. volume: 0 to 1,
    below the ceiling of the mix. notify: called from the worker when something has changed
    (playing ended, a notice came), so that a screen can look again. Use it as a context
    manager, or call `close`: a sound under way does not outlive it.
    """

    def __init__(
        self,
        find: Callable[[], list[Outlet]] = find_outlets,
        *,
        volume: float = 1.0,
        notify: Callable[[], None] | None = None,
    ):
        self._find, self._volume, self._notify = find, volume, notify
        self._changed = threading.Condition()
        self._wanted: Score | Callable[[], Score] | None = None
        self._turn = 0
        self._busy = self._closed = self._said = False
        self._notice: str | None = None
        self._outlets: list[Outlet] | None = None
        self._thread: threading.Thread | None = None

    def __enter__(self) -> Playback:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def play(self, score: Score | Callable[[], Score]) -> None:
        """Ask for `score` to be sounded now, ending what sounds; does nothing once closed.

        A function is called on the worker: for a score that takes time to make.
        """
        with self._changed:
            if self._closed:
                return
            self._wanted, self._busy = score, True
            self._turn += 1
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="sound", daemon=True)
                self._thread.start()
            self._changed.notify_all()

    def stop(self) -> None:
        """End what sounds and forget what was asked for."""
        with self._changed:
            self._wanted = None
            self._turn += 1
            self._changed.notify_all()

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait until nothing sounds or is being rendered; return whether that came in time."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._busy, timeout_s)

    def close(self, timeout_s: float = 1.0) -> None:
        """Stop for good and wait up to `timeout_s` for silence; may be called again."""
        with self._changed:
            self._closed = True
            self._wanted = None
            self._turn += 1
            self._changed.notify_all()
        if self._thread is not None:
            self._thread.join(timeout_s)

    @property
    def silent(self) -> bool:
        """Whether playing was tried and this machine has no way to play."""
        return self._outlets == []

    def take_notice(self) -> str | None:
        """Return what the player should be told, once, or None."""
        with self._changed:
            notice, self._notice = self._notice, None
            return notice

    def _work(self) -> None:
        # Whatever goes wrong with sound, on whatever machine, practice goes on: so everything
        # is caught here, said once, and never thrown over the player's screen.
        try:
            clear_left_folders()
            with sound_folder() as folder:
                while (wish := self._next_wish()) is not None:
                    try:
                        self._sound(*wish, Path(folder))
                    except Exception as error:
                        self._say(f"No sound: {error}.")
                    self._rest()
        except OSError as error:
            self._say(f"No sound: {error}.")
            with self._changed:
                self._closed, self._wanted = True, None
            self._rest()

    def _next_wish(self) -> tuple[Score | Callable[[], Score], int] | None:
        """Wait for a score to sound; return it with its turn, or None when closed."""
        with self._changed:
            self._changed.wait_for(lambda: self._wanted is not None or self._closed)
            if self._closed or self._wanted is None:
                self._busy = False
                self._changed.notify_all()
                return None
            score, self._wanted = self._wanted, None
            return score, self._turn

    def _rest(self) -> None:
        """Tell those who wait that nothing sounds, unless something new is wanted already."""
        with self._changed:
            if self._wanted is not None:
                return
            self._busy = False
            self._changed.notify_all()
        if self._notify is not None:
            self._notify()

    def _sound(self, score: Score | Callable[[], Score], turn: int, folder: Path) -> None:
        if self._outlets is None:
            self._outlets = self._find()
        if callable(score):
            score = score()
        path: Path | None = None
        while self._outlets and turn == self._turn:
            if path is None:
                path = save_wav(score, folder / f"{turn}.wav", volume=self._volume)
            # An outlet that failed once will fail again: it is not asked a second time.
            if turn != self._turn or self._sounded(self._outlets[0], path, score.length_s, turn):
                break
            del self._outlets[0]
        if path is not None:
            path.unlink(missing_ok=True)
        if not self._outlets:
            self._say(NO_SOUND)

    def _sounded(self, outlet: Outlet, path: Path, length_s: float, turn: int) -> bool:
        """Play the file to its end, or until another wish comes; return whether it worked."""
        try:
            playing = outlet.start(path)
        except OSError:
            return False
        give_up = time.monotonic() + length_s + _GRACE_S
        while (code := playing.poll()) is None:
            with self._changed:
                self._changed.wait_for(lambda: turn != self._turn, _LOOK_S)
            if turn != self._turn:
                playing.stop()
                return True
            if time.monotonic() > give_up:
                playing.stop()
                return False
        # Below 0: ended by a signal, which is someone's wish and not a fault.
        return code <= 0

    def _say(self, text: str) -> None:
        with self._changed:
            if not self._said:
                self._said, self._notice = True, text
