"""The drill as a pure function: a state and a key give the next state and what is to be done.

Nothing here reads a clock, a file or the terminal. Whoever runs the machine does
what the effects say, in order, and hands in the next card when asked for it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from drills.cards.card import Card
from drills.session.keys import GRADE_KEYS, GRADE_REST_S, ON, RAISE, SLIP_KEYS
from drills.session.state import Given, Phase, State
from scheduler.grade import Grade

__all__ = [
    "AskTeacher", "Effect", "LockFingering", "NextCard", "RecordGrade", "RecordLesson", "RecordRepeat",
    "RestCard", "SeenCaution", "Sound", "TagSlip", "TakeBack", "begin", "present", "step", "weakest",
]  # fmt: skip

LOOK_LIMIT_S = 60.0
"""Longest time to reveal that is believed (handbook F4)."""


@dataclass(frozen=True, slots=True)
class NextCard:
    """Choose the next card and hand it in with `present`; `skipped` must not be it."""

    skipped: str | None = None


@dataclass(frozen=True, slots=True)
class RecordGrade:
    """Write a first attempt to the log, before anything is drawn."""

    given: Given


@dataclass(frozen=True, slots=True)
class RecordRepeat:
    """Write that a missed card was played right after its diagram."""

    card: Card
    after: str
    review: str


@dataclass(frozen=True, slots=True)
class RecordLesson:
    """Write that a card's form was shown and played for the first time."""

    card: Card
    review: str
    spent: float


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Undo these reviews, the latest first."""

    reviews: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TagSlip:
    """Name the cause of a miss."""

    review: str
    slip: str


@dataclass(frozen=True, slots=True)
class LockFingering:
    """Keep the fingering that is shown (its index among usual and alternates) for this form in all keys."""

    card: Card
    view: int


@dataclass(frozen=True, slots=True)
class RestCard:
    """Set a card aside."""

    card: Card


@dataclass(frozen=True, slots=True)
class AskTeacher:
    """Flag a card for the teacher."""

    card: Card


@dataclass(frozen=True, slots=True)
class Sound:
    """Let the card in hand be heard."""

    card: Card


@dataclass(frozen=True, slots=True)
class SeenCaution:
    """Remember that the safety caution was shown."""


Effect = (
    NextCard | RecordGrade | RecordRepeat | RecordLesson | TakeBack | TagSlip | LockFingering | RestCard
    | AskTeacher | Sound | SeenCaution
)  # fmt: skip


def begin(minutes: float, now_s: float, *, caution: bool = False) -> State:
    """The state before the first card. caution: whether the safety page comes first."""
    return State(minutes * 60.0, Phase.CAUTION if caution else Phase.START, started_s=now_s)


def present(state: State, card: Card | None, now_s: float, *, predicted: float | None = None, new_form: bool = False) -> State:
    """The state with the next card on show, as a lesson when its form is new; None ends the session."""
    if card is None:
        note = "Nothing more to ask with this focus today." if not state.given else state.note
        return replace(state, phase=Phase.END, card=None, note=note)
    return replace(
        state, phase=Phase.LESSON if new_form else Phase.PROMPT, card=card, predicted=predicted, new_form=new_form,
        asked_s=now_s, revealed_s=now_s if new_form else 0.0, view=0, extra=False,
    )  # fmt: skip


def step(
    state: State, key: str, now_s: float, new_id: str, *, rest_s: float = GRADE_REST_S
) -> tuple[State, list[Effect]]:
    """What a key does.

    key: ``left``, ``enter``, ``pagedown``, ``c`` and so on. now_s: the clock, in seconds.
    new_id: an unused id for a review, should one be written. rest_s: how long grading keys
    rest after a reveal and a repeated key is taken as held down; 0 for typed lines.
    """
    held = key == state.last_key and now_s - state.last_key_s < rest_s
    state = replace(state, last_key=key, last_key_s=now_s, rest_s=rest_s)
    if held and (key in ON or key in GRADE_KEYS):
        return state, []
    if state.paused_s is not None:
        return _resume(state, now_s), []
    if state.help:
        return replace(state, help=False), []
    if key == "q":
        done = state.phase is Phase.END or (not state.given and not state.lessons)
        return replace(state, phase=Phase.DONE if done else Phase.END, card=None), []
    if key == "h":
        return replace(state, help=True), []
    if key == "p" and not state.over:
        return replace(state, paused_s=now_s), []
    if key == "u":
        return _take_back(state, now_s)
    return _PHASES[state.phase](replace(state, note=""), key, now_s, new_id)


def _resume(state: State, now_s: float) -> State:
    """The clock goes on where it stood: every time on it moves by the pause."""
    gone = now_s - state.paused_s
    return replace(
        state, paused_s=None, started_s=state.started_s + gone, asked_s=state.asked_s + gone,
        revealed_s=state.revealed_s + gone,
    )  # fmt: skip


def _caution(state: State, key: str, now_s: float, _new_id: str) -> tuple[State, list[Effect]]:
    if key not in ON:
        return state, []
    return replace(state, phase=Phase.START, started_s=now_s), [SeenCaution()]


def _start(state: State, key: str, now_s: float, _new_id: str) -> tuple[State, list[Effect]]:
    if key not in ON:
        return state, []
    if state.limit_s >= 300:
        return replace(state, phase=Phase.WARM_UP, started_s=now_s), []
    return replace(state, started_s=now_s), [NextCard()]


def _warm_up(state: State, key: str, _now_s: float, _new_id: str) -> tuple[State, list[Effect]]:
    return (state, [NextCard()]) if key in ON else (state, [])


def _common(state: State, key: str) -> tuple[State, list[Effect]] | None:
    """Keys that mean the same on a lesson, an answer and a repeat."""
    card = state.card
    if key == "s":
        return state, [Sound(card)]
    if key == "?":
        return replace(state, note="Marked for your teacher."), [AskTeacher(card)]
    if key == "g":
        return replace(state, extra=not state.extra), []
    if key == "a":
        return replace(state, view=state.view + 1), [LockFingering(card, state.view + 1)]
    return None


def _lesson(state: State, key: str, now_s: float, new_id: str) -> tuple[State, list[Effect]]:
    if key in ON and now_s - state.revealed_s >= state.rest_s:
        lesson = RecordLesson(state.card, new_id, now_s - state.asked_s)
        return _onward(replace(state, lessons=state.lessons + 1), [lesson], now_s)
    if key == "n":
        return state, [NextCard(state.card.id)]
    if key == "r":
        return state, [RestCard(state.card), NextCard(state.card.id)]
    return _common(state, key) or (state, [])


def _prompt(state: State, key: str, now_s: float, new_id: str) -> tuple[State, list[Effect]]:
    last = state.given[-1] if state.given else None
    if key in ON:
        return replace(state, phase=Phase.ANSWER, revealed_s=now_s), []
    if key in RAISE and last and not last.raised and last.grade in (Grade.LOOKED, Grade.CLEAN):
        raised = replace(last, grade=Grade(last.grade + 1), review=new_id, raised=True)
        again = dict(state.repeats)
        back = tuple(review for review in (again.get(last.review), last.review) if review)
        state = replace(state, given=(*state.given[:-1], raised), note=f"Raised to {raised.grade.label}.")
        return state, [TakeBack(back), RecordGrade(raised)]
    if key in SLIP_KEYS and last and last.grade is Grade.FOUND:
        return _tag(state, key)
    if key == "n":
        return state, [NextCard(state.card.id)]
    if key == "r":
        return state, [RestCard(state.card), NextCard(state.card.id)]
    if key == "?":
        return replace(state, note="Marked for your teacher."), [AskTeacher(state.card)]
    return state, []


def _answer(state: State, key: str, now_s: float, new_id: str) -> tuple[State, list[Effect]]:
    grade = GRADE_KEYS.get(key)
    if grade is None:
        if key == "n":
            return state, [NextCard(state.card.id)]
        if key == "r":
            return state, [RestCard(state.card), NextCard(state.card.id)]
        return _common(state, key) or (state, [])
    if now_s - state.revealed_s < state.rest_s:
        return state, []
    seconds = min(max(state.revealed_s - state.asked_s, 0.0), LOOK_LIMIT_S)
    spent = max(now_s - state.asked_s, seconds)
    given = Given(state.card, grade, new_id, seconds, spent)
    state = replace(state, given=(*state.given, given))
    if grade is Grade.LOOKED:
        return replace(state, phase=Phase.REPEAT, revealed_s=now_s), [RecordGrade(given)]
    return _onward(state, [RecordGrade(given)], now_s)


def _repeat(state: State, key: str, now_s: float, new_id: str) -> tuple[State, list[Effect]]:
    if key in SLIP_KEYS:
        return _tag(state, key)
    if key in ON and now_s - state.revealed_s >= state.rest_s:
        missed = state.given[-1].review
        state = replace(state, repeats=(*state.repeats, (missed, new_id)))
        return _onward(state, [RecordRepeat(state.card, missed, new_id)], now_s)
    if key in RAISE:  # the pedal's second thought, while the diagram is still there
        return _prompt(state, key, now_s, new_id)
    return _common(state, key) or (state, [])


def _tag(state: State, key: str) -> tuple[State, list[Effect]]:
    slip = SLIP_KEYS[key]
    tagged = replace(state.given[-1], slip=slip)
    return (
        replace(state, given=(*state.given[:-1], tagged), note=f"Noted: {slip}."),
        [TagSlip(tagged.review, slip)],
    )


def _onward(state: State, effects: list[Effect], now_s: float) -> tuple[State, list[Effect]]:
    """To the next card, or to the end when the time is up."""
    if state.elapsed_s(now_s) >= state.limit_s:
        weakest = any(given.grade < Grade.CLEAN for given in state.given)
        return replace(state, phase=Phase.MUSIC if weakest and state.limit_s >= 300 else Phase.END), effects
    return state, [*effects, NextCard()]


def _music(state: State, key: str, _now_s: float, _new_id: str) -> tuple[State, list[Effect]]:
    if key == "s":
        return state, [Sound(weakest(state))]
    return (replace(state, phase=Phase.END, card=None), []) if key in ON else (state, [])


def weakest(state: State) -> Card:
    """Today's weakest card: the lowest grade, the latest of them."""
    return min(reversed(state.given), key=lambda given: given.grade).card


def _end(state: State, key: str, _now_s: float, _new_id: str) -> tuple[State, list[Effect]]:
    return (replace(state, phase=Phase.DONE), []) if key in ON else (state, [])


def _done(state: State, *_: object) -> tuple[State, list[Effect]]:
    return state, []


def _take_back(state: State, now_s: float) -> tuple[State, list[Effect]]:
    """The last grade, and the repeat that followed it, as if never given; its answer is shown again."""
    if not state.given:
        return replace(state, note="There is no grade to take back."), []
    last = state.given[-1]
    again = dict(state.repeats)
    back = tuple(review for review in (again.get(last.review), last.review) if review)
    state = replace(
        state, phase=Phase.ANSWER, card=last.card, given=state.given[:-1], new_form=False, view=0,
        repeats=tuple(pair for pair in state.repeats if pair[0] != last.review),
        asked_s=now_s - last.spent, revealed_s=now_s - last.spent + last.seconds, note="Taken back: grade it again.",
    )  # fmt: skip
    return state, [TakeBack(back)]


_PHASES = {
    Phase.CAUTION: _caution, Phase.START: _start, Phase.WARM_UP: _warm_up, Phase.LESSON: _lesson,
    Phase.PROMPT: _prompt, Phase.ANSWER: _answer, Phase.REPEAT: _repeat, Phase.MUSIC: _music,
    Phase.END: _end, Phase.DONE: _done,
}  # fmt: skip
