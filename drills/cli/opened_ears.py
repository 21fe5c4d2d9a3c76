"""The microphone of a sitting, or a recording in its place, opened before the first card and closed after the last."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drills.cli.chosen_engine import chosen_engine
from drills.errors import MicrophoneError
from drills.listening.engine_names import VOTE
from drills.microphone.device import Microphone, load_sounddevice
from drills.microphone.duplex import Duplex
from drills.microphone.kept_delays import usable_delay
from drills.microphone.paced_wav import paced
from drills.microphone.wav_input import read_wav
from drills.session.hands_free import HandsFree
from drills.session.session_ears import SessionEars, usual_first_s
from drills.session.session_sentences import NOT_TIMED
from drills.session.take_source import ClickSpan, ThreadedTakes
from drills.sound.mix import LEAD_IN_S
from scheduler.statistics.agreement import mostly_same

if TYPE_CHECKING:
    from drills.listening.room import StartDelay
    from drills.session.sounding import Speaker
    from scheduler.log.review_log import ReviewLog

__all__ = ["OpenedEars", "click_span", "open_ears"]


@dataclass(frozen=True, slots=True)
class OpenedEars:
    """What a session asks, and what has to be closed after it. said: what the player is told of it, or ``""``."""

    session: SessionEars
    takes: ThreadedTakes
    microphone: Microphone | None
    said: str = ""

    def close(self) -> None:
        """Ends the listening and gives the device back."""
        self.takes.close()
        if self.microphone is not None:
            self.microphone.close()


def open_ears(
    recording: str | None, busy: Callable[[], bool], log: ReviewLog, hands_free: bool, lowest: int,
    speaker: Speaker | None = None, kept: Path | None = None,
) -> OpenedEars:  # fmt: skip
    """Opens the microphone, or the recording, and begins to listen.

    busy: whether the tool itself sounds. hands_free: whether the session goes on by what is heard. lowest: MIDI
    number of the lowest open string. speaker: what plays; where the round trip of the device is in the file `kept`,
    it plays through the stream that hears, and what is played over the click is timed. Raises MicrophoneError with
    what to do where there is no library, no device or no permission, or a file cannot be read.
    """
    engine = chosen_engine(None, lowest)
    witnessed = log.witnessed()
    late_s = usual_first_s(witness.detail for witness, _ in witnessed)

    def session_ears(takes: ThreadedTakes, click: Callable[[], ClickSpan | None] = lambda: None) -> SessionEars:
        free = HandsFree() if hands_free else None
        votes = engine.name == VOTE
        return SessionEars(takes, late_s, hands_free=free, offer=mostly_same(witnessed), votes=votes, click=click)

    if recording is not None:
        sound = read_wav(recording)
        takes = ThreadedTakes(paced(sound), sound.rate, busy, engine)
        return OpenedEars(session_ears(takes.start()), takes, None)
    library = load_sounddevice()
    timed, said = _timed(library, kept) if speaker is not None and kept is not None else (None, "")
    microphone = timed[0] if timed is not None else Microphone(library).open()
    takes = ThreadedTakes(microphone.frames(), microphone.rate, busy, engine)
    if speaker is None or timed is None:
        if speaker is not None:
            speaker.beside_click = NOT_TIMED
        return OpenedEars(session_ears(takes.start()), takes, microphone, said)
    speaker.play_through(timed[0])
    return OpenedEars(session_ears(takes.start(), partial(click_span, speaker, *timed)), takes, microphone)


def _timed(library: Any, kept: Path) -> tuple[tuple[Duplex, StartDelay] | None, str]:
    """Speaker and microphone together, opened, with their round trip, or None where it is not known or they do not;
    and what is said of the file of round trips."""
    try:
        device = Duplex(library)
    except MicrophoneError:
        return None, ""  # the microphone alone says what is wrong with it
    delay, said = usable_delay(kept, device.devices)
    if delay is None or not delay.steady:
        return None, said
    try:
        return (device.open(), delay), said
    except MicrophoneError:
        return None, said


def click_span(speaker: Speaker, device: Duplex, delay: StartDelay) -> ClickSpan | None:
    """Where the beats of the click that was played last are heard among the frames; None where none has begun."""
    click, began = speaker.sounded_click, device.began
    if click is None or began is None or began.clock_s < click.asked_s:
        return None
    first_s = began.at_s + LEAD_IN_S + delay.seconds
    length_s = click.length_s
    if click.stopped_s is not None:  # what is played after that is played without a click
        length_s = min(length_s, click.stopped_s - began.clock_s - LEAD_IN_S)
    return ClickSpan(click.tempo_bpm, first_s, first_s + length_s)
