"""Which part of a log is written out: by practice day, deck, string set and quality."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from drills.progress.card_parts import card_parts
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day
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

__all__ = ["LogPart", "chosen_events"]


@dataclass(frozen=True, slots=True)
class LogPart:
    """What is wanted; empty fields want everything.

    since, until: first and last practice day. cards: ids, e.g. of a deck. strings: ids of string sets such as
    ``543``. qualities: names. day_starts_at_hour: local hour at which a practice day begins.
    """

    since: date | None = None
    until: date | None = None
    cards: frozenset[str] | None = None
    strings: frozenset[str] = frozenset()
    qualities: frozenset[str] = frozenset()
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR

    def __bool__(self) -> bool:
        return self != LogPart(day_starts_at_hour=self.day_starts_at_hour)

    def wants_card(self, card: str) -> bool:
        """Whether a card belongs to the part."""
        if self.cards is not None and card not in self.cards:
            return False
        if not self.strings and not self.qualities:
            return True
        parts = card_parts(card)
        if parts is None:
            return False
        return (not self.strings or parts.strings in self.strings) and (
            not self.qualities or parts.quality in self.qualities
        )

    def wants_review(self, review: Review) -> bool:
        """Whether a review belongs to the part."""
        return self.wants_card(review.card) and self._wants_day(review.at)

    def _wants_day(self, at: datetime) -> bool:
        if self.since is None and self.until is None:
            return True
        day = practice_day(at, self.day_starts_at_hour)
        return (self.since is None or day >= self.since) and (self.until is None or day <= self.until)

    def wants_event(self, event: Event, kept: set[str]) -> bool:
        """Whether an event belongs to the part. kept: ids of those that do, for what names them."""
        match event.body:
            case Undo() | Slip() | Witness() as about:
                return about.target in kept
            case Review() | Rest() | Wake() | Flag() | Meet() as of_card:
                return self.wants_card(of_card.card) and self._wants_day(event.at)
            case Lock() | Ticket():
                return self._wants_day(event.at)
            case SetAside() | Variant() | Later():
                return True  # what they are about may lie in the part, and would count again without them


def chosen_events(events: Iterable[Event], choice: LogPart) -> Iterator[Event]:
    """The events of a part, in the same order.

    Whatever takes back or names an event of the part belongs to it, whenever it happened.
    """
    kept: set[str] = set()
    late: dict[str, list[Event]] = {}
    for event in events:
        body = event.body
        if isinstance(body, Undo | Slip | Witness) and body.target not in kept:
            late.setdefault(body.target, []).append(event)
        elif choice.wants_event(event, kept):
            kept.add(event.id)
            yield event
            # An undo may come before what it takes back, when a machine with a slow clock wrote it.
            yield from late.pop(event.id, ())
