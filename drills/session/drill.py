"""One sitting: holds the state, does what the machine asks of log and planner. Knows no keys and no screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Protocol

from drills.cards.card import Card
from drills.cards.material import Material
from drills.session import machine
from drills.session.keys import GRADE_REST_S
from drills.session.returning import come_back
from drills.session.state import State
from drills.shapes.shape import Shape, fingers_text
from scheduler.grade import Grade
from scheduler.log import ReviewLog
from scheduler.planner import Planner
from scheduler.review import Review, new_id

__all__ = ["CAUTION_TICKET", "Drill", "Listener"]

CAUTION_TICKET = "seen:caution"
"""The log's mark that the safety page has been shown."""


class Listener(Protocol):
    """Whatever can let a shape be heard; must return at once."""

    def hear(self, shape: Shape, grip: Shape | None, mode: Shape | None) -> str:
        """Starts the sound; a line for the player, or ``""``."""
        ...


class Drill:
    """One sitting at a deck.

    material, planner, log: what is asked, who chooses, where it is written. clock: the
    present time with its UTC offset. minutes: length of the session. caution: whether
    the safety page comes first. tempo_bpm: of the click that "In time" refers to.
    listener: sound, or None. last: when the latest review was, for a return after days away.

    Every graded review is on disk before `press` returns.
    """

    def __init__(
        self,
        material: Material,
        planner: Planner,
        log: ReviewLog,
        clock: Callable[[], datetime],
        *,
        minutes: float = 10.0,
        caution: bool = False,
        tempo_bpm: float | None = None,
        listener: Listener | None = None,
        last: datetime | None = None,
    ):
        self.material, self.planner, self.log, self.clock = material, planner, log, clock
        self.tempo_bpm, self.listener = tempo_bpm, listener
        self.session = new_id()
        self._skipped: list[str] = []
        now = clock()
        self._epoch = now
        planner.begin(self.session, now)
        self.returned = come_back(planner, last, now, minutes)
        self.state: State = machine.begin(minutes, 0.0, caution=caution)
        self.preview = planner.plan(now, minutes)
        self._last: Review | None = None

    def now_s(self) -> float:
        """Seconds since the sitting began, by the wall clock."""
        return (self.clock() - self._epoch).total_seconds()

    def press(self, key: str, *, rest_s: float = GRADE_REST_S) -> None:
        """Does what a key means; `rest_s` is 0 for typed lines, which nobody holds down."""
        self.state, effects = machine.step(self.state, key, self.now_s(), new_id(), rest_s=rest_s)
        for effect in effects:
            self._do(effect)

    def shape(self) -> Shape:
        """The answer on show: the usual one, or the alternate the player has turned to."""
        return self.shapes()[self.state.view % len(self.shapes())]

    def shapes(self) -> list[Shape]:
        """The card's answer and its alternates of fingering and layout on the same root."""
        card = self.state.card
        usual = self.material.answer(card)
        others = [s for s in self.material.alternates(card) if s.variant in ("fingering", "layout")]
        return [usual, *others]

    # -- effects -------------------------------------------------------------

    def _do(self, effect: machine.Effect) -> None:
        now = self.clock()
        match effect:
            case machine.NextCard(skipped):
                self._next(now, skipped)
            case machine.RecordGrade(given):
                self._record(given.card, given.grade, given.review, now, "first", given.seconds, given.spent)
            case machine.RecordRepeat(card, _, review):
                self._record(card, Grade.FOUND, review, now, "repeat", 0.0, None)
            case machine.RecordLesson(card, review, spent):
                self._record(card, Grade.FOUND, review, now, "repeat", 0.0, spent)
            case machine.TakeBack(reviews):
                for review in reviews:
                    self.log.undo(review, now)
                    self.planner.undo(review)
            case machine.TagSlip(review, slip):
                self.log.slip(review, slip, now)
                self._amend(review, slip)
            case machine.LockFingering(card, _):
                self._lock(card, now)
            case machine.RestCard(card):
                self.log.rest(card.id, now)
                rested = self.planner.rules.rested | {card.id}
                self.planner.rules = replace(self.planner.rules, rested=rested)
            case machine.AskTeacher(card):
                self.log.flag(card.id, "", now)
            case machine.Sound(card):
                self._hear(card)
            case machine.SeenCaution():
                self.log.ticket(CAUTION_TICKET, "yes", now)

    def _next(self, now: datetime, skipped: str | None) -> None:
        if skipped is not None:
            self._skipped.append(skipped)
        rules = self.planner.rules
        if self._skipped:
            # A skipped card stays away for the rest of the sitting; it is not rested.
            self.planner.rules = replace(rules, rested=rules.rested | frozenset(self._skipped))
        try:
            chosen = self.planner.next(now)
        finally:
            self.planner.rules = rules
        card = self.material.cards[chosen] if chosen else None
        predicted = self.planner.recall(chosen, now) if chosen else None
        new_form = bool(chosen) and any(skill.startswith("form:") for skill in self.planner.new_skills(chosen))
        self.state = machine.present(self.state, card, self.now_s(), predicted=predicted, new_form=new_form)

    def _record(
        self, card: Card, grade: Grade, review: str, now: datetime, attempt: str, seconds: float, spent: float | None
    ) -> None:
        first = attempt == "first"
        entry = Review(
            card.id, grade, now, round(seconds, 3), attempt, card.skills, spent and round(spent, 3), self.session, review,
            tempo_bpm=self.tempo_bpm if grade is Grade.IN_TIME else None,
            predicted=self.planner.recall(card.id, now) if first else None,
        )  # fmt: skip
        self.log.record(entry)
        self.planner.record(entry)
        self._last = entry

    def _amend(self, review: str, slip: str) -> None:
        if self._last is None or self._last.id != review:
            return
        self._last = replace(self._last, slip=slip)
        self.planner.amend(self._last)

    def _lock(self, card: Card, now: datetime) -> None:
        shape = self.shape()
        usual = self.material.answer(card)
        if shape.signature != usual.signature or 0 in shape.fingers:
            note = "This layout is shown for comparison; only fingerings of the usual one can be kept."
        else:
            self.log.lock(shape.signature, fingers_text(shape.fingers), now)
            note = f"Fingers {fingers_text(shape.fingers)} kept for this form in all keys."
        self.state = replace(self.state, note=note)

    def _hear(self, card: Card) -> None:
        if self.listener is None:
            self.state = replace(self.state, note="Sound is off, or this machine has no player.")
            return
        shape = self.material.answer(card)
        note = self.listener.hear(shape, self.material.grip(card), self.material.mode(card))
        self.state = replace(self.state, note=note)
