"""The entry ticket of a stage: the one before it, played in time, twice.

The log keeps it as reviews of a card of its own, so nothing else has to be stored.
"""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256

from drills.neck.tuning import Tuning
from drills.tunes.changes import NO_CHORD, Changes
from scheduler.grade import Grade
from scheduler.review import Review

__all__ = ["PASSES_NEEDED", "open_stage", "stage_card", "ticket_missing"]

PASSES_NEEDED = 2
"""How often the stage before must have been played in time (handbook D2)."""


def stage_card(changes: Changes, tuning: Tuning, number: int) -> str:
    """The card id of a stage over changes, e.g. ``E2A2D3G3B3E4/changes-1f2e3d4c5b6a/stage-3``.

    The changes are known by their chords and bars in playing order, so a new title or another way
    of writing a repeat keeps what was earned.
    """
    text = "|".join(
        f"{bar.metre} " + " ".join(f"{slot.beats}:{slot.chord.name if slot.chord else NO_CHORD}" for slot in bar.chords)
        for bar in changes.bars
    )
    return f"{tuning.id}/changes-{sha256(text.encode()).hexdigest()[:12]}/stage-{number}"


def ticket_missing(changes: Changes, tuning: Tuning, number: int, reviews: Iterable[Review]) -> int:
    """How many times the stage before must still be played in time before this one; 0 opens it.

    reviews: of any cards. Repeats count as well as first attempts: the ticket is a rehearsal,
    not a measure of memory. Stage 1 is always open.
    """
    if number <= 1:
        return 0
    wanted = stage_card(changes, tuning, number - 1)
    played = sum(1 for review in reviews if review.card == wanted and review.grade is Grade.IN_TIME)
    return max(0, PASSES_NEEDED - played)


def open_stage(changes: Changes, tuning: Tuning, reviews: Iterable[Review]) -> int:
    """The highest stage that is open, 1 to 10; each needs its own ticket, so none is skipped."""
    reviews = list(reviews)
    number = 1
    while number < 10 and ticket_missing(changes, tuning, number + 1, reviews) == 0:
        number += 1
    return number
