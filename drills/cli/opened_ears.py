"""The microphone of a sitting, or a recording in its place, opened before the first card and closed after the last."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drills.cli.chosen_engine import chosen_engine
from drills.listening.engine_names import VOTE
from drills.microphone.device import Microphone, load_sounddevice
from drills.microphone.paced_wav import paced
from drills.microphone.wav_input import read_wav
from drills.session.hands_free import HandsFree
from drills.session.session_ears import SessionEars, usual_first_s
from drills.session.take_source import ThreadedTakes
from scheduler.statistics.agreement import mostly_same

if TYPE_CHECKING:
    from scheduler.log.review_log import ReviewLog

__all__ = ["OpenedEars", "open_ears"]


@dataclass(frozen=True, slots=True)
class OpenedEars:
    """What a session asks, and what has to be closed after it."""

    session: SessionEars
    takes: ThreadedTakes
    microphone: Microphone | None

    def close(self) -> None:
        """Ends the listening and gives the device back."""
        self.takes.close()
        if self.microphone is not None:
            self.microphone.close()


def open_ears(
    recording: str | None, busy: Callable[[], bool], log: ReviewLog, hands_free: bool, lowest: int
) -> OpenedEars:
    """Opens the microphone, or the recording, and begins to listen.

    busy: whether the tool itself sounds. hands_free: whether the session goes on by what is heard. lowest: MIDI
    number of the lowest open string. Raises MicrophoneError with what to do where there is no library, no device or
    no permission, or the file cannot be read.
    """
    engine = chosen_engine(None, lowest)
    witnessed = log.witnessed()
    late_s = usual_first_s(witness.detail for witness, _ in witnessed)

    def session_ears(takes: ThreadedTakes) -> SessionEars:
        free = HandsFree() if hands_free else None
        return SessionEars(takes, late_s, hands_free=free, offer=mostly_same(witnessed), votes=engine.name == VOTE)

    if recording is not None:
        sound = read_wav(recording)
        takes = ThreadedTakes(paced(sound), sound.rate, busy, engine)
        return OpenedEars(session_ears(takes.start()), takes, None)
    microphone = Microphone(load_sounddevice()).open()
    takes = ThreadedTakes(microphone.frames(), microphone.rate, busy, engine)
    return OpenedEars(session_ears(takes.start()), takes, microphone)
