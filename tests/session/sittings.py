"""A drill over the first deck with a clock that the test moves."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from drills.cards.deck import find_deck, read_deck
from drills.cards.focus import parse_focus
from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.session.drill import Drill
from drills.theory.quality import shipped_qualities
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


class Clock:
    """Time that passes only when told."""

    def __init__(self, at: datetime = START):
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def tick(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)


def gathered(deck="first", neck=Neck(), **focus):
    """A deck on a neck, narrowed as on the command line."""
    return gather(read_deck(find_deck(deck, None)), neck, focus=parse_focus(shipped_qualities(), **focus))


class Listener:
    """Hears nothing and remembers what it was asked for."""

    def __init__(self):
        self.asked = []
        self.news, self.silent, self.sounding = "", False, False

    def hear(self, shape, grip, mode):
        self.asked.append(("hear", shape.name))
        return ""

    def transition(self, before, after):
        self.asked.append(("transition", before.name, after.name))
        return ""

    def parts(self, shapes):
        self.asked.append(("parts", *(f"{shape.form.kind} {shape.name}" for shape in shapes)))
        return ""

    def drone(self, shape, seconds):
        self.asked.append(("drone", shape.name, round(seconds)))
        return "drone"

    def click(self, tempo_bpm):
        self.asked.append(("click", tempo_bpm))
        return "click"

    def tune(self, make, title, tempo_bpm):
        self.asked.append(("tune", title, make()))
        return title

    def changes(self, grips, tempo_bpm, seconds):
        self.asked.append(("changes", *(grip.name for grip in grips)))
        return "changes"

    def stop(self):
        self.asked.append(("stop",))

    def notice(self):
        news, self.news = self.news, ""
        return news


class Sitting:
    """A drill with its clock and log; `play` answers one card as a player would."""

    def __init__(
        self, path, *, minutes=10.0, clock=None, deck="first", caution=False, neck=Neck(), kind="daily", material=None,
        chooser=None, listener=None, tempo_of=lambda _: 60.0, tune=None, **focus,
    ):  # fmt: skip
        self.clock = clock or Clock()
        self.shown = []  # ids of the cards `play` went through, lessons among them
        self.log = ReviewLog(path)
        self.material = material or gathered(deck, neck, **focus)
        standing = self.log.standing()
        history = list(self.log.reviews())
        planner = Planner(self.material.specs(), 0, history, self.material.rules(rested=standing.rested))
        self.drill = Drill(
            self.material, planner, self.log, self.clock, minutes=minutes, caution=caution, kind=kind,
            chooser=chooser(self.material, planner) if chooser else None, listener=listener, tempo_of=tempo_of,
            last=history[-1].at if history else None, tickets=standing.tickets, tune=tune,
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
            self.shown.append(self.state.card.id)
            self.press("enter", seconds=20)

    def play(self, key="c", look=8.0, spent=10.0):
        """Plays lessons until a prompt stands, reveals after `look` seconds and grades; through a repeat too."""
        self.through_lessons()
        if self.state.over or self.state.phase.value == "music":
            return None
        card = self.state.card
        self.shown.append(card.id)
        self.press("enter", seconds=look)
        self.press(key, seconds=spent)
        if self.state.phase.value == "repeat":
            self.press("enter", seconds=15)
        return card

    def planner_root(self, card):
        """The root skill of a card, or None."""
        return next((skill for skill in card.skills if skill.startswith("root:")), None)

    def firsts(self):
        return [review for review in self.log.reviews() if review.attempt == "first"]
