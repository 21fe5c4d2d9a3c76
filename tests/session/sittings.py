"""A drill over the first deck with a clock that the test moves."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from drills.cards.deck import find_deck, read_deck
from drills.cards.focus import parse_focus
from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.session.drill import Drill
from drills.theory.quality import shipped_qualities
from scheduler.log import ReviewLog
from scheduler.planner import Planner

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


class Clock:
    """Time that passes only when told."""

    def __init__(self, at: datetime = START):
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def tick(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)


class Sitting:
    """A drill with its clock and log; `play` answers one card as a player would."""

    def __init__(self, path, *, minutes=10.0, clock=None, deck="first", caution=False, neck=Neck(), **focus):
        self.clock = clock or Clock()
        self.log = ReviewLog(path)
        self.material = gather(
            read_deck(find_deck(deck, None)), neck, focus=parse_focus(shipped_qualities(), **focus)
        )
        standing = self.log.standing()
        history = list(self.log.reviews())
        planner = Planner(self.material.specs(), 0, history, self.material.rules(rested=standing.rested))
        self.drill = Drill(
            self.material, planner, self.log, self.clock, minutes=minutes, caution=caution,
            last=history[-1].at if history else None,
        )  # fmt: skip

    @property
    def state(self):
        return self.drill.state

    def press(self, *keys, seconds=1.0):
        for key in keys:
            self.clock.tick(seconds)
            self.drill.press(key)

    def start(self):
        """Through the opening pages to the first card."""
        while self.state.card is None and not self.state.over:
            self.press("enter")

    def through_lessons(self):
        while self.state.phase.value == "lesson":
            self.press("enter", seconds=20)

    def play(self, key="c", look=8.0, spent=10.0):
        """Plays lessons until a prompt stands, reveals after `look` seconds and grades; through a repeat too."""
        self.through_lessons()
        if self.state.over or self.state.phase.value == "music":
            return None
        card = self.state.card
        self.press("enter", seconds=look)
        self.press(key, seconds=spent)
        if self.state.phase.value == "repeat":
            self.press("enter", seconds=15)
        return card

    def firsts(self):
        return [review for review in self.log.reviews() if review.attempt == "first"]
