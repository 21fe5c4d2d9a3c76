"""Folds the events of a log into one value, which is what the log says now. Their order makes no difference."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from scheduler.log.contents import united
from scheduler.log.events import (
    Event,
    Flag,
    Later,
    Lock,
    Meet,
    Rest,
    SetAside,
    Slip,
    Ticket,
    Undo,
    Variant,
    Wake,
    Witness,
)
from scheduler.review import Review

__all__ = ["LogState", "fold", "fold_counted"]


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


def fold(events: Iterable[Event]) -> LogState:
    """The state after `events`, which may come in any order and more than once.

    Events are united by id (`scheduler.log.contents.united`) and taken by stamp, then id. An undo removes the
    review, flag or meeting it names wherever either stands, so an undo that
    another machine wrote under a slow clock still counts.
    """
    return fold_counted(united(events))


def fold_counted(ordered: Iterable[Event]) -> LogState:
    """The state after the events that count, in the order of the log, as `united` answers them."""
    ordered = list(ordered)
    undone = {event.body.target for event in ordered if isinstance(event.body, Undo)}
    reviews: dict[str, Review] = {}
    slips: dict[str, str | None] = {}
    rested: set[str] = set()
    flags: list[Event] = []
    meets: list[Event] = []
    locks: dict[str, str] = {}
    tickets: dict[str, str] = {}
    for event in ordered:
        match event.body:
            case Review() as review:
                if event.id not in undone:
                    reviews[event.id] = review
            case Slip(target, slip):
                slips[target] = slip
            case Rest(card):
                rested.add(card)
            case Wake(card):
                rested.discard(card)
            case Flag():
                if event.id not in undone:
                    flags.append(event)
            case Meet():
                if event.id not in undone:
                    meets.append(event)
            case Lock(subject, value):
                _latest(locks, subject, value)
            case Ticket(subject, value):
                _latest(tickets, subject, value)
            case Undo() | SetAside() | Variant() | Witness() | Later():
                pass  # already accounted for, no part of the state, or of a kind only a newer version knows
    for target, slip in slips.items():
        if target in reviews:
            reviews[target] = replace(reviews[target], slip=slip)
    return LogState(
        reviews=tuple(reviews.values()),
        rested=frozenset(rested),
        flags=tuple(flags),
        locks=locks,
        tickets=tickets,
        meets=tuple(meets),
    )


def _latest(named: dict[str, str], subject: str, value: str | None) -> None:
    """Put `value` last under its subject; None takes the subject out."""
    named.pop(subject, None)
    if value is not None:
        named[subject] = value
