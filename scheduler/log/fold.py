"""What a log says today: its events folded into one value, in whatever order they come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from scheduler.log.events import Event
from scheduler.review import Review

__all__ = ["LogState", "fold"]


@dataclass(frozen=True, slots=True)
class LogState:
    """The log in effect.

    reviews: those not undone, slips applied, in the order of the log. `at`
        is what the clock showed, so it may step back where a clock was set
        back; the order never does.
    rested: ids of the cards set aside.
    flags: the questions for the teacher not taken back.
    locks: what each locked subject is fixed to.
    tickets: the latest ticket of each subject.
    meets: the lessons shown and not taken back.
    """

    reviews: tuple[Review, ...] = ()
    rested: frozenset[str] = frozenset()
    flags: tuple[Event, ...] = ()
    locks: Mapping[str, str] = field(default_factory=dict)
    tickets: Mapping[str, str] = field(default_factory=dict)
    meets: tuple[Event, ...] = ()

    @property
    def met(self) -> frozenset[str]:
        """Ids of the cards that have been shown in a lesson or reviewed."""
        return frozenset(event.body.card for event in self.meets) | {r.card for r in self.reviews}


def fold(events: Iterable[Event]) -> LogState:
    """The state after `events`, which may come in any order and more than once.

    Events are united by id and taken by stamp, then id. An undo removes the
    review, flag or meeting it names wherever either stands, so an undo that
    another machine wrote under a slow clock still counts.
    """
    united: dict[str, Event] = {}
    for event in events:
        united.setdefault(event.id, event)
    ordered = sorted(united.values(), key=lambda event: event.order)
    undone = {event.body.target for event in ordered if event.kind == "undo"}
    reviews: dict[str, Review] = {}
    slips: dict[str, str | None] = {}
    rested: set[str] = set()
    flags: list[Event] = []
    meets: list[Event] = []
    named: dict[str, dict[str, str]] = {"lock": {}, "ticket": {}}
    for event in ordered:
        kind, body = event.kind, event.body
        if kind == "review":
            if event.id not in undone:
                reviews[event.id] = body
        elif kind == "slip":
            slips[body.target] = body.slip
        elif kind == "rest":
            rested.add(body.card)
        elif kind == "wake":
            rested.discard(body.card)
        elif kind in ("flag", "meet"):
            if event.id not in undone:
                (flags if kind == "flag" else meets).append(event)
        elif kind in named:
            named[kind].pop(body.subject, None)
            if body.value is not None:
                named[kind][body.subject] = body.value
    for target, slip in slips.items():
        if target in reviews:
            reviews[target] = replace(reviews[target], slip=slip)
    return LogState(
        reviews=tuple(reviews.values()),
        rested=frozenset(rested),
        flags=tuple(flags),
        locks=named["lock"],
        tickets=named["ticket"],
        meets=tuple(meets),
    )
