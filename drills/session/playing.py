"""The cards themselves: lesson, prompt, answer, repeat, and taking a grade back."""

from __future__ import annotations

from dataclasses import replace

from drills.cards.kinds import kind_of
from drills.session.effects import (
    AskTeacher,
    Check,
    Click,
    Effect,
    HearAgain,
    LockFingering,
    NextCard,
    OfferFingering,
    RecordGrade,
    RecordLesson,
    RecordRepeat,
    RestCard,
    Sound,
    TagSlip,
    TakeBack,
)  # fmt: skip
from drills.session.key_bindings import ENTER, GRADE_KEYS, LOOK, LOOK_REST_S, ON, RAISE, SLIP_KEYS
from drills.session.opening import weakest
from drills.session.session_state import PLACEMENT, Given, Phase, SessionState
from scheduler.grade import Grade

__all__ = ["LOOK_LIMIT_S", "answer", "lesson", "prompt", "repeat", "take_back", "write"]

LOOK_LIMIT_S = 60.0
"""Longest time to reveal that is believed (drills/RULES.md, F4)."""

LONGEST_TYPED = 60
"""Characters of a typed answer; more are not taken."""

LEAST_MUSIC_S = 15.0
"""With less time left than this the musical minute is passed over."""


def lesson(state: SessionState, key: str, now_s: float, new_id: str) -> tuple[SessionState, list[Effect]]:
    """The first meeting with a form or a root: shown, heard, played."""
    if key in ON and not _resting(state, now_s):
        shown = RecordLesson(state.card_in_hand, new_id, max(0.0, now_s - state.asked_s))
        return _onward(replace(state, lessons=(*state.lessons, state.new)), [shown], now_s)
    return _late_slip(state, key) or _set_aside(state, key, now_s) or _common(state, key) or (state, [])


def prompt(state: SessionState, key: str, now_s: float, new_id: str) -> tuple[SessionState, list[Effect]]:
    """Asked; reveal stops the clock. The last grade can still be raised a step or given its slip."""
    if key in ON:
        return replace(state, phase=Phase.ANSWER, revealed_s=now_s), []
    if key in LOOK:
        # Typed lines are never pressed twice by accident: they have no rest after a reveal, and none here.
        if state.rest_s and 0 <= now_s - state.asked_s < LOOK_REST_S:
            return state, []
        return _graded(replace(state, revealed_s=now_s), Grade.LOOKED, now_s, new_id)
    if key in RAISE:
        return _raised(state, new_id)
    if state.question is not None and state.question.heard and key in ("s", "down"):
        return state, [HearAgain()]
    if key == "k":
        return state, [Click()]
    if key == "?":
        return replace(state, note="Marked for your teacher."), [AskTeacher(state.card_in_hand)]
    return _late_slip(state, key) or _set_aside(state, key, now_s) or (state, [])


def write(state: SessionState, key: str, now_s: float, new_id: str) -> tuple[SessionState, list[Effect]]:
    """A prompt that takes a typed answer: letters are text, Enter hands it in, empty it is an ordinary reveal.

    What was handed in stays a prompt until it has been read: `machine.judged` or `machine.unread` follows.
    """
    if key in ON and key != " ":
        typed = state.typed.strip()
        if not typed:
            return replace(state, phase=Phase.ANSWER, revealed_s=now_s, typed="", note=""), []
        seconds = min(max(now_s - state.asked_s, 0.0), LOOK_LIMIT_S)
        return replace(state, typed=typed, note=""), [Check(typed, seconds)]
    if key == "backspace":
        return replace(state, typed=state.typed[:-1]), []
    if key == "tab":
        return state, [NextCard(state.card_in_hand.id)]
    if len(key) == 1 and key.isprintable():
        return replace(state, typed=(state.typed + key)[:LONGEST_TYPED]), []
    if key == "down" and state.question_asked.heard:
        return state, [HearAgain()]
    return _raised(state, new_id) if key in RAISE and not state.typed else (state, [])


def answer(state: SessionState, key: str, now_s: float, new_id: str) -> tuple[SessionState, list[Effect]]:
    """The diagram; one key grades the first attempt. A verdict is taken with Enter and overruled by a grade key."""
    grade = GRADE_KEYS.get(key)
    if state.verdict is not None and (key in ENTER or key == "pagedown"):
        grade = state.verdict.grade
    if grade is None:
        return _set_aside(state, key, now_s) or _common(state, key) or (state, [])
    if _resting(state, now_s):
        return state, []
    return _graded(state, grade, now_s, new_id)


def _graded(state: SessionState, grade: Grade, now_s: float, new_id: str) -> tuple[SessionState, list[Effect]]:
    """The grade of the card in hand, and what follows it: its diagram once more after a miss, else the next card."""
    seconds = min(max(state.revealed_s - state.asked_s, 0.0), LOOK_LIMIT_S)
    given = Given(
        state.card_in_hand, grade, new_id, seconds, max(now_s - state.asked_s, seconds), question=state.question,
        told=state.told,
    )  # fmt: skip
    state = replace(state, given=(*state.given, given))
    if grade is Grade.LOOKED and state.kind != PLACEMENT:
        return replace(state, phase=Phase.REPEAT, revealed_s=now_s), [RecordGrade(given)]
    return _onward(state, [RecordGrade(given)], now_s)


def repeat(state: SessionState, key: str, now_s: float, new_id: str) -> tuple[SessionState, list[Effect]]:
    """After a miss the diagram stays and is played right twice; never graded."""
    if key in SLIP_KEYS:
        return _tag(state, key) or (state, [])
    if key in ON and not _resting(state, now_s):
        missed = state.given[-1].review
        state = replace(state, repeats=(*state.repeats, (missed, new_id)))
        return _onward(state, [RecordRepeat(state.card_in_hand, new_id)], now_s)
    if key in RAISE:  # the pedal's second thought, while the diagram is still there
        return _raised(state, new_id)
    return _common(state, key) or (state, [])


def _raised(state: SessionState, new_id: str) -> tuple[SessionState, list[Effect]]:
    """The last grade a step higher, Looked to Found it or Clean to In time, once; says so, and why when it is not."""
    last = state.given[-1] if state.given else None
    if last is None:
        return replace(state, note="There is no grade to raise yet."), []
    if last.raised:
        return replace(state, note=f"{last.grade.label} was raised already."), []
    if last.grade not in (Grade.LOOKED, Grade.CLEAN):
        return replace(state, note=f"{last.grade.label} stays: only Looked and Clean are raised."), []
    raised = replace(last, grade=Grade(last.grade + 1), review=new_id, raised=True)
    back = _written_for(state, last)
    state = replace(
        state, given=(*state.given[:-1], raised), note=f"{last.card.prompt}: raised to {raised.grade.label}."
    )
    return state, [TakeBack(back), RecordGrade(raised)]


def take_back(state: SessionState, now_s: float) -> tuple[SessionState, list[Effect]]:
    """The last grade, and the repeat that followed it, as if never given; its answer is shown again."""
    if not state.given:
        return replace(state, note="There is no grade to take back."), []
    last = state.given[-1]
    back = _written_for(state, last)
    state = replace(
        state, phase=Phase.ANSWER, card=last.card, question=last.question, given=state.given[:-1],
        new=(), told=last.told, typing=False, verdict=None, heard=None,
        repeats=tuple(pair for pair in state.repeats if pair[0] != last.review),
        asked_s=now_s - last.spent, revealed_s=now_s - last.spent + last.seconds, note="Taken back: grade it again.",
    )  # fmt: skip
    return state, [TakeBack(back)]


def _written_for(state: SessionState, given: Given) -> tuple[str, ...]:
    """Ids of the reviews a grade wrote, the latest first: the repeat that followed it, if any, and its own."""
    again = dict(state.repeats).get(given.review)
    return (again, given.review) if again else (given.review,)


def _late_slip(state: SessionState, key: str) -> tuple[SessionState, list[Effect]] | None:
    """The slip of a card that was found, named when the next one is already there, as prompt or lesson."""
    found = state.given and state.given[-1].grade is Grade.FOUND
    return _tag(state, key) if key in SLIP_KEYS and found else None


def _resting(state: SessionState, now_s: float) -> bool:
    """Whether grading keys still rest after the reveal; a clock that was set back never locks them."""
    return 0 <= now_s - state.revealed_s < state.rest_s


def _common(state: SessionState, key: str) -> tuple[SessionState, list[Effect]] | None:
    """Keys that mean the same on a lesson, an answer and a repeat."""
    card = state.card_in_hand
    if key == "s":
        return state, [Sound(card)]
    if key == "k":
        return state, [Click()]
    if key == "?":
        return replace(state, note="Marked for your teacher."), [AskTeacher(card)]
    if key == "a":
        return state, [LockFingering() if state.turning else OfferFingering()]
    return None


def _set_aside(state: SessionState, key: str, now_s: float) -> tuple[SessionState, list[Effect]] | None:
    """Another card instead, for this sitting or until it is woken; none when the time for cards is up."""
    if key not in ("n", "r"):
        return None
    effects: list[Effect] = []
    if key == "r":
        effects = [RestCard(state.card_in_hand)]
        state = replace(state, note=f"{state.card_in_hand.prompt} rests; neckwork wake brings it back.")
    onward, _ = _onward(state, [], now_s)
    if onward.phase is not state.phase:
        return onward, effects
    return state, [*effects, NextCard(state.card_in_hand.id)]


def _tag(state: SessionState, key: str) -> tuple[SessionState, list[Effect]] | None:
    slip = SLIP_KEYS[key]
    if slip not in kind_of(state.given[-1].card.kind).slips:
        return None
    tagged = replace(state.given[-1], slip=slip)
    return (
        replace(state, given=(*state.given[:-1], tagged), note=f"Noted: {slip}."),
        [TagSlip(tagged.review, slip)],
    )


def _onward(state: SessionState, effects: list[Effect], now_s: float) -> tuple[SessionState, list[Effect]]:
    """To the next card; to the musical minute when its time has come; to the end when the time is up."""
    left_s = state.limit_s - state.elapsed_s(now_s)
    if left_s <= state.music_s and weakest(state) is not None and left_s >= min(LEAST_MUSIC_S, state.music_s) > 0:
        return replace(state, phase=Phase.MUSIC, typing=False), effects
    if left_s <= 0 or (state.music_s and state.given and left_s <= state.music_s):
        return replace(state, phase=Phase.END, card=None), effects
    return state, [*effects, NextCard()]
