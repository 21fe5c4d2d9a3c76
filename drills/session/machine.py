"""The drill as a pure function: a state and a key give the next state and what is to be done.

Nothing here reads a clock, a file or the terminal. Whoever runs the machine does
what the effects say, in order, and hands in the next card when asked for it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.prompts.prompt import Question
from drills.session import opening, playing
from drills.session.effects import Effect, HandHurts, HandIsWell
from drills.session.key_bindings import CONTROLS, GRADE_KEYS, GRADE_REST_S, HURTS, ON
from drills.session.session_state import DAILY, PLACEMENT, Phase, SessionState, TypedVerdict

__all__ = ["AWAY_S", "begin", "judged", "left_alone", "present", "step", "tick", "unread"]

AWAY_S = 120.0
"""Without a key for this long, in seconds, the player is taken to be away from the card in hand."""


def begin(
    minutes: float,
    now_s: float,
    *,
    caution: bool = False,
    kind: str = DAILY,
    sets: tuple[str, ...] = (),
    offer: bool = False,
    away: bool = False,
) -> SessionState:
    """The state before the first card; the arguments are those of `SessionState`."""
    return SessionState(
        minutes * 60.0, started_s=now_s, kind=kind, sets=sets if len(sets) > 1 else (), offer=offer, away=away,
        caution=caution,
    )  # fmt: skip


def present(
    state: SessionState,
    card: Card | None,
    now_s: float,
    *,
    predicted: float | None = None,
    new: tuple[str, ...] = (),
    told: tuple[str, ...] = (),
    question: Question | None = None,
) -> SessionState:
    """The state with the next card on show, as a lesson when its form or its root is new; None ends the session.

    new: what of the card has never been met. told: what of it is told with the prompt instead.
    question: how the card is asked this time; it takes a typed answer when it can check one.
    Placement shows no lessons: it asks a player who says that much is known.
    """
    if card is None:
        note = "Nothing more to ask with this focus today." if not state.given else state.note
        # After a session without cards another ten minutes would have none either.
        return replace(
            state, phase=Phase.END, card=None, question=None, note=note, offer=state.offer and bool(state.given)
        )  # fmt: skip
    lesson = bool(new) and state.kind != PLACEMENT
    return replace(
        state, phase=Phase.LESSON if lesson else Phase.PROMPT, card=card, predicted=predicted, new=new, told=told,
        asked_s=now_s, active_s=now_s, revealed_s=now_s if lesson else 0.0, extra=0,
        question=question, typing=question is not None and question.check is not None and not lesson,
        typed="", verdict=None, heard=None,
    )  # fmt: skip


def judged(state: SessionState, verdict: TypedVerdict, now_s: float) -> SessionState:
    """The answer on show, with a verdict on what was typed."""
    return replace(state, phase=Phase.ANSWER, revealed_s=now_s, verdict=verdict)


def unread(state: SessionState, why: str) -> SessionState:
    """The same prompt once more, what was typed gone, and why it could not be read; nothing is graded."""
    return replace(state, typed="", note=why)


def tick(state: SessionState, now_s: float, *, usual_s: float = 0.0) -> SessionState:
    """What passing time does without a key: the musical minute ends by itself, and so does time on a card left alone.

    usual_s: seconds this player usually takes over the card in hand. After two minutes without a key on a prompt,
    an answer or a repeat the clock stops where the player will have left: at the last key, and the card's usual
    time. A lesson is played for as long as it takes.
    """
    if left_alone(state, now_s):
        return replace(state, paused_s=state.active_s + min(usual_s, AWAY_S), gone=True)
    if state.phase is Phase.MUSIC and state.paused_s is None and state.elapsed_s(now_s) >= state.limit_s:
        return replace(state, phase=Phase.END, card=None, note="")  # what was said of its sound is over with it
    return state


def left_alone(state: SessionState, now_s: float) -> bool:
    """Whether two minutes have passed on the card in hand without a key, or a sound, which is as good as one."""
    return state.paused_s is None and state.phase in _LEFT_ALONE and now_s - state.active_s >= AWAY_S


def step(
    state: SessionState, key: str, now_s: float, new_id: str, *, rest_s: float = GRADE_REST_S, pages: int = 1
) -> tuple[SessionState, list[Effect]]:
    """What a key does.

    key: ``left``, ``enter``, ``pagedown``, ``c`` and so on. now_s: the clock, in seconds.
    new_id: an unused id for a review, should one be written. rest_s: how long grading keys
    rest after a reveal and a repeated key is taken as held down; 0 for typed lines.
    pages: how many the list of keys, or grip and mode, take in the window.
    """
    covered = state.paused_s is not None or state.help or state.words
    writing = state.typing and state.phase is Phase.PROMPT and not covered
    held = key == state.last_key and 0 <= now_s - state.last_key_s < rest_s
    state = replace(state, last_key=key, last_key_s=now_s, active_s=now_s, rest_s=rest_s)
    if held and (key in ON or key in GRADE_KEYS or key == "a") and not (writing and len(key) == 1):
        return state, []
    if key == HURTS and not state.over:
        return _stopped(state)
    if state.paused_s is not None:
        return _resume(state, state.paused_s, now_s), []
    if state.help:
        return replace(state, help=_turned(state.help, pages)), []
    if state.words:
        return replace(state, words=False), []
    if writing and key not in CONTROLS:
        return playing.write(state, key, now_s, new_id)
    if key in ("q", "escape"):
        done = state.phase is Phase.END or (not state.given and not state.lessons)
        note = state.note if state.over else ""  # what was said of the card in hand is over with it
        return replace(state, phase=Phase.DONE if done else Phase.END, card=None, offer=False, note=note), []
    if key == "h":
        return replace(state, help=1), []
    if key == "p" and not state.over:
        return replace(state, paused_s=now_s), []
    if key == "u" and state.hurts:
        return replace(state, hurts=False, note="Taken back: nothing is left out for it."), [HandIsWell()]
    if key == "u":
        return playing.take_back(state, now_s)
    if key == "w" and state.phase in (Phase.LESSON, Phase.PROMPT, Phase.ANSWER, Phase.REPEAT):
        return replace(state, words=True, note=""), []
    if key == "g" and state.phase in (Phase.LESSON, Phase.ANSWER, Phase.REPEAT):
        return replace(state, extra=_turned(state.extra, pages), note=""), []
    after, effects = _PHASES[state.phase](replace(state, note=""), key, now_s, new_id)
    return replace(after, turning=False), effects


def _stopped(state: SessionState) -> tuple[SessionState, list[Effect]]:
    """The end at once, whatever lies over the screen; what was played last is what stretched the hand.

    Another ten is not offered to a hand that hurts.
    """
    played = [given.card for given in reversed(state.given)]
    in_hand = [state.card] if state.card is not None else []
    by_hand = (card for card in (*in_hand, *played) if not kind_of(card.kind).away)
    card = opening.weakest(state) if state.phase is Phase.MUSIC else next(by_hand, None)
    ended = replace(
        state, phase=Phase.END, card=None, typing=False, paused_s=None, help=0, words=False, offer=False, note="",
        hurts=True,
    )  # fmt: skip
    return ended, [HandHurts(card)]


def _turned(page: int, pages: int) -> int:
    """The page after this one; 0 after the last."""
    return page + 1 if page < pages else 0


def _resume(state: SessionState, paused_s: float, now_s: float) -> SessionState:
    """The clock goes on where it stood: every time on it moves by the pause."""
    gone = now_s - paused_s
    return replace(
        state, paused_s=None, gone=False, started_s=state.started_s + gone, asked_s=state.asked_s + gone,
        revealed_s=state.revealed_s + gone,
    )  # fmt: skip


_LEFT_ALONE = (Phase.PROMPT, Phase.ANSWER, Phase.REPEAT)
"""Where time is counted to a card: here it may be left alone."""

_PHASES: dict[Phase, Callable[[SessionState, str, float, str], tuple[SessionState, list[Effect]]]] = {
    Phase.START: opening.start, Phase.WARM_UP: opening.warm_up,
    Phase.LESSON: playing.lesson, Phase.PROMPT: playing.prompt, Phase.ANSWER: playing.answer,
    Phase.REPEAT: playing.repeat, Phase.MUSIC: opening.music, Phase.END: opening.end, Phase.DONE: opening.done,
}  # fmt: skip
