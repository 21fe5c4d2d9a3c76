"""Tells files that hold one student's log under several names, and keeps the newest of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.log.events import Event

__all__ = ["NOBODY", "Sent", "newest_of_each"]

NOBODY = "0" * 24
"""The log id given to reviews read from a CSV. Nothing is written, so the id belongs to no real log."""

_MOST = 0.5
"""Files that share more than this part of the smaller one's reviews hold one log: ids of reviews are random."""


@dataclass(slots=True)
class Sent:
    """What came under one name: the files, their events in any order, and the practice days that came with them."""

    name: str
    files: list[str]
    events: list[Event]
    days: dict[str, int]

    @property
    def log(self) -> str:
        """The log in which most of the reviews were written, ``""`` where no file says so."""
        written = Counter(event.log for event in self.events if event.kind == "review" and event.log != NOBODY)
        return max(sorted(written), key=written.__getitem__, default="")

    @property
    def reviews(self) -> set[str]:
        """The ids of the reviews."""
        return {event.id for event in self.events if event.kind == "review"}

    @property
    def age(self) -> tuple[int, int]:
        """How new the events are, and how many: the largest is the newest."""
        return max((event.stamp_us for event in self.events), default=0), len(self.events)


def newest_of_each(sent: Iterable[Sent]) -> tuple[list[Sent], list[tuple[str, str]]]:
    """One for each student, in the order given, and the files that were left out, each with the reason.

    Two hold one student's log when most of their reviews were written to the same log, or when more than half of the
    smaller one's reviews are in the other too (a CSV does not say to which log they were written, and a log that was
    joined with another machine's holds those of both). The newest counts, under the shortest of the names: a copy is
    usually called by a longer one.
    """
    kept: list[tuple[Sent, str, set[str]]] = []
    left_out = []
    for one in sent:
        log, reviews = one.log, one.reviews
        at = next((n for n, (_, other, theirs) in enumerate(kept) if _same(log, reviews, other, theirs)), None)
        if at is None:
            kept.append((one, log, reviews))
            continue
        other = kept[at][0]
        newer, older = (one, other) if one.age > other.age else (other, one)
        said = f"holds the same log as {' and '.join(newer.files)}, which is newer and counts alone"
        left_out += [(file, said) for file in older.files]
        name = min(one.name, other.name, key=lambda name: (len(name), name))
        whole = Sent(name, newer.files, newer.events, newer.days)
        kept[at] = (whole, whole.log, whole.reviews)
    return [one for one, _, _ in kept], left_out


def _same(log: str, reviews: set[str], other: str, theirs: set[str]) -> bool:
    if log and log == other:
        return True
    fewer = min(len(reviews), len(theirs))
    return fewer > 0 and len(reviews & theirs) > _MOST * fewer
