"""What a session is at one moment: one frozen value, replaced by `drills.session.machine.step`."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from drills.cards.card import Card
from scheduler.grade import Grade

__all__ = ["Given", "Phase", "State"]


class Phase(Enum):
    """Where a session stands."""

    CAUTION = "caution"
    START = "start"
    WARM_UP = "warm-up"
    LESSON = "lesson"
    PROMPT = "prompt"
    ANSWER = "answer"
    REPEAT = "repeat"
    MUSIC = "music"
    END = "end"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Given:
    """A grade that was given: of which card, its review's id, seconds to reveal, seconds in all, slip."""

    card: Card
    grade: Grade
    review: str
    seconds: float
    spent: float
    slip: str | None = None
    raised: bool = False


@dataclass(frozen=True, slots=True)
class State:
    """A session at one moment. Times are seconds of a clock that stands still while paused.

    phase: where it stands. limit_s: how long it is to last; the card in hand is always finished.
    card: the card in hand, or None. new_form: whether the card's form has never been met.
    asked_s, revealed_s: when the prompt was shown and when the answer was.
    given: every grade so far, oldest first. repeats: ids of repeat reviews by the review they follow.
    view: which fingering is shown (0 the usual). extra: whether grip and mode are shown too.
    paused, help: what lies over the screen. last_key, last_key_s, rest_s: for keys held down.
    note: one line for the player.
    """

    limit_s: float
    phase: Phase = Phase.START
    started_s: float = 0.0
    card: Card | None = None
    predicted: float | None = None
    new_form: bool = False
    asked_s: float = 0.0
    revealed_s: float = 0.0
    given: tuple[Given, ...] = ()
    repeats: tuple[tuple[str, str], ...] = ()
    lessons: int = 0
    view: int = 0
    extra: bool = False
    paused_s: float | None = None
    help: bool = False
    last_key: str = ""
    last_key_s: float = -1.0
    rest_s: float = 0.0
    note: str = ""

    @property
    def over(self) -> bool:
        """Whether nothing more will be asked."""
        return self.phase in (Phase.END, Phase.DONE)

    def elapsed_s(self, now_s: float) -> float:
        """Seconds played so far, pauses left out."""
        return (self.paused_s if self.paused_s is not None else now_s) - self.started_s
