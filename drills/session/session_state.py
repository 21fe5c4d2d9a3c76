"""What a session is at one moment: one frozen value, replaced by `drills.session.machine.step`."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from drills.cards.card import Card
from drills.cards.prompts.prompt import Question
from drills.errors import CardPartError
from drills.session.heard_take import HeardTake
from scheduler.grade import Grade

__all__ = ["DAILY", "PLACEMENT", "ROUND", "SAMPLE", "Given", "Phase", "SessionState", "TypedVerdict"]

DAILY, PLACEMENT, ROUND, SAMPLE = "daily", "placement", "round", "sample"
"""The kinds of session: today's cards, a placement, one form through all keys, and a blind sample."""

SHORTEST_FORM_S = 180.0
"""From three minutes on a session has a warm-up and a musical minute; below, only cards."""

WARM_UP_SHARE, MUSIC_SHARE = 0.05, 0.1
"""Shares of a session: half a minute and a minute of ten (drills/RULES.md, B6, common practice)."""


class Phase(Enum):
    """Where a session stands."""

    START = "start"
    WARM_UP = "warm-up"
    LESSON = "lesson"
    PROMPT = "prompt"
    ANSWER = "answer"
    REPEAT = "repeat"
    MUSIC = "music"
    END = "end"
    DONE = "done"

    @property
    def over(self) -> bool:
        """Whether nothing more will be asked."""
        return self in (Phase.END, Phase.DONE)


@dataclass(frozen=True, slots=True)
class Given:
    """A grade that was given: of which card, its review's id, seconds to reveal, seconds in all, slip, question.

    told: what was new and told with the prompt, ``root``.
    """

    card: Card
    grade: Grade
    review: str
    seconds: float
    spent: float
    slip: str | None = None
    raised: bool = False
    question: Question | None = None
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TypedVerdict:
    """What a machine makes of a typed answer: the grade it would give, and a line for the player."""

    grade: Grade
    line: str


@dataclass(frozen=True, slots=True)
class SessionState:
    """A session at one moment. Times are seconds of a clock that stands still while paused.

    phase: where it stands. limit_s: how long it is to last; the card in hand is always finished.
    kind: `DAILY`, `PLACEMENT`, `ROUND` or `SAMPLE`. sets: ids of the string sets that may be asked alone.
    only: what the player narrowed today to. offer: whether another ten may be offered at the end.
    away: whether it is played without the guitar. caution: whether the cautions are still to be shown.
    card: the card in hand, or None; question: as it is asked this time.
    new: what of it has never been met and is shown in a lesson, ``form`` and ``root``.
    told: what is told with the prompt instead.
    typing: whether the prompt takes a typed answer; typed: what stands there; verdict: on it.
    heard: what was heard of the card in hand, with its answer; None without listening.
    asked_s, revealed_s: when the prompt was shown and when the answer was.
    given: every grade so far, oldest first. repeats: ids of repeat reviews by the review they follow.
    lessons: what was new in each lesson so far.
    extra: page of grip and mode on show, 0 for the answer itself.
    paused_s, help, words: what lies over the screen: the pause; the list of keys by its page, 0 for none;
    what the words on the card mean. gone: whether the clock stopped by itself, because nobody pressed a key.
    active_s: the last sign of the player: a key, a sound that was heard, a lesson that was shown.
    last_key, last_key_s, rest_s: for keys held down.
    turning: whether another fingering was offered, which the same key keeps.
    hurts: whether the session was stopped by a hand that hurts.
    note: one line for the player.
    """

    limit_s: float
    phase: Phase = Phase.START
    started_s: float = 0.0
    kind: str = DAILY
    sets: tuple[str, ...] = ()
    only: str = ""
    offer: bool = False
    away: bool = False
    caution: bool = False
    card: Card | None = None
    question: Question | None = None
    predicted: float | None = None
    new: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    typing: bool = False
    typed: str = ""
    verdict: TypedVerdict | None = None
    heard: HeardTake | None = None
    asked_s: float = 0.0
    revealed_s: float = 0.0
    given: tuple[Given, ...] = ()
    repeats: tuple[tuple[str, str], ...] = ()
    lessons: tuple[tuple[str, ...], ...] = ()
    extra: int = 0
    paused_s: float | None = None
    gone: bool = False
    active_s: float = 0.0
    help: int = 0
    words: bool = False
    last_key: str = ""
    last_key_s: float = -1.0
    rest_s: float = 0.0
    turning: bool = False
    hurts: bool = False
    note: str = ""

    @property
    def over(self) -> bool:
        """Whether nothing more will be asked."""
        return self.phase.over

    @property
    def card_in_hand(self) -> Card:
        """The card of a moment that has one; raises CardPartError between cards."""
        if self.card is None:
            raise CardPartError(f"session, {self.phase.value}: no card is in hand")
        return self.card

    @property
    def question_asked(self) -> Question:
        """The question of a moment that has one; raises CardPartError between cards."""
        if self.question is None:
            raise CardPartError(f"session, {self.phase.value}: no question is asked")
        return self.question

    def met(self, kind: str) -> int:
        """How many new forms, or new roots, the lessons so far have shown, and the prompts of a daily session told."""
        told = sum(kind in given.told for given in self.given) if self.kind == DAILY else 0
        return told + sum(kind in new for new in self.lessons)

    @property
    def shaped(self) -> bool:
        """Whether it has a warm-up and a musical minute."""
        return self.kind == DAILY and self.limit_s >= SHORTEST_FORM_S and not self.away

    @property
    def warm_up_s(self) -> float:
        """Seconds of the warm-up."""
        return self.limit_s * WARM_UP_SHARE if self.shaped else 0.0

    @property
    def music_s(self) -> float:
        """Seconds kept for the musical minute at the end."""
        return self.limit_s * MUSIC_SHARE if self.shaped else 0.0

    @property
    def cards_s(self) -> float:
        """Seconds for lessons and cards."""
        return self.limit_s - self.warm_up_s - self.music_s

    def elapsed_s(self, now_s: float) -> float:
        """Seconds played so far, pauses left out."""
        return (self.paused_s if self.paused_s is not None else now_s) - self.started_s
