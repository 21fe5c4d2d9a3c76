"""Says each new moment of a session by a voice, so that it can be played without looking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.diagrams.speech import say_chord, say_shape
from drills.session.lessons import lesson_words, root_words
from drills.session.plain import spoken
from drills.session.session_sentences import again_words, heard_words, said_of
from drills.session.session_state import Phase

if TYPE_CHECKING:
    from drills.session.drill import Drill
    from drills.sound.voice import Voice

__all__ = ["VOICE_FAILED", "Announcer", "announced"]

VOICE_FAILED = "The voice does not speak here; the session stays on the screen."


def announced(drill: Drill) -> list[str]:
    """What is said of the present moment: short where the hands are on the guitar, whole where nothing is played."""
    state = drill.state
    if state.help or state.words or state.paused_s is not None:
        return spoken(drill)
    note = [state.note] if state.note else []
    if state.phase is Phase.PROMPT:
        card = state.card_in_hand
        place = [f"Root: {say_chord(root_words(drill))}."] if drill.shows_root else []
        return [*note, f"{say_chord(card.prompt).rstrip('.')}.", *place]
    shapes = [say_shape(shape) for shape in drill.shapes()] if state.question is not None else []
    if state.phase is Phase.ANSWER:
        heard = [say_chord(words) for words in heard_words(state)]
        if state.heard is not None and not any(state.heard.glyphs) and state.heard.grade is not None:
            return [*heard, *note]  # all was right: nobody needs to be told how it goes
        return [*heard, *map(say_chord, said_of(state)), *shapes, *note]
    if state.phase is Phase.LESSON:
        return [*(say_chord(text) for text in lesson_words(drill) if text), *shapes, *note]
    if state.phase is Phase.REPEAT:
        return [again_words(state.given[-1].card), *note]
    return spoken(drill)


class Announcer:
    """Follows a sitting and says each new moment of it.

    voice: says lines. A moment is new when its phase, its question or its notice is.
    """

    def __init__(self, voice: Voice):
        self._voice = voice
        self._said: tuple[object, ...] = ()
        self._told = False

    @property
    def speaking(self) -> bool:
        """Whether something is being said."""
        return self._voice.speaking

    def follow(self, drill: Drill) -> str:
        """Says the present moment if it is new; answers a notice once when the voice turns out not to speak."""
        state = drill.state
        covered = (state.help, state.words, state.paused_s is not None)
        now = (state.phase, state.question, covered, state.note)
        if self._said[:3] != now[:3]:
            self._voice.say(" ".join(announced(drill)))
        elif self._said != now and state.note:
            self._voice.say(state.note)
        self._said = now
        if self._told or self._voice.speaking or not self._voice.failed:
            return ""
        self._told = True
        return VOICE_FAILED

    def close(self) -> None:
        """Silence."""
        self._voice.stop()
