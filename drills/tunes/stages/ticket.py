"""The entry ticket of a stage: the one before it, played in time, twice.

The log keeps one ticket for each page of changes, a subject with a short value; these functions
say what they are and what a pass does to them. Writing is the caller's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from hashlib import sha256

from drills.changes.changes import NO_CHORD, Changes
from drills.errors import EtudeError
from drills.neck.tuning import Tuning

__all__ = ["PASSES_NEEDED", "NamedTicket", "StageTicket", "Ticket", "named_ticket_of", "ticket_of", "ticket_subject"]

PASSES_NEEDED = 2
"""How often a stage must be played in time, at the slow tempo, before the next opens (drills/RULES.md, D2)."""

_LAST = 10


@dataclass(frozen=True, slots=True)
class StageTicket:
    """Where a player stands in the stages of one page of changes.

    stage: the highest open stage, 1 to 10. passes: how often it has been played in time, 0 or 1.
    """

    stage: int = 1
    passes: int = 0

    @property
    def value(self) -> str:
        """As the log keeps it, e.g. ``stage 3, 1 in time``."""
        return f"stage {self.stage}, {self.passes} in time"

    @property
    def missing(self) -> int:
        """Passes in time that the next stage still needs; 0 at the last stage."""
        return 0 if self.stage == _LAST else PASSES_NEEDED - self.passes

    def is_open(self, stage: int) -> bool:
        """Whether a stage, 1 to 10, may be entered."""
        return 1 <= stage <= self.stage

    def after(self, stage: int, in_time: bool) -> StageTicket:
        """The ticket after a stage was played through.

        Only a pass in time of the highest open stage counts; earlier stages may be
        played as often as wished, and nothing is ever taken away. Raises EtudeError for a stage not open.
        """
        if not self.is_open(stage):
            raise EtudeError(
                f"stage {stage}: not open yet; play stage {self.stage} in time {self.missing} more "
                f"time{'s' * (self.missing != 1)} first"
            )
        if stage < self.stage or not in_time or stage == _LAST:
            return self
        passes = self.passes + 1
        return StageTicket(stage + 1) if passes >= PASSES_NEEDED else StageTicket(stage, passes)


@dataclass(frozen=True, slots=True)
class NamedTicket:
    """Where a player stands in a stage beside the ten: how often it was played through in time, 0 to 2."""

    passes: int = 0

    @property
    def value(self) -> str:
        """As the log keeps it, e.g. ``1 in time``."""
        return f"{self.passes} in time"

    @property
    def missing(self) -> int:
        """Passes in time until it is done."""
        return PASSES_NEEDED - self.passes

    @property
    def stage(self) -> int:
        """The number of every stage beside the ten, 0."""
        return 0

    def is_open(self, stage: int) -> bool:
        """A stage beside the ten is always open."""
        return stage == 0

    def after(self, stage: int, in_time: bool) -> NamedTicket:
        """The ticket after the stage was played through; nothing is ever taken away."""
        return NamedTicket(min(PASSES_NEEDED, self.passes + in_time))


Ticket = StageTicket | NamedTicket
"""The ticket of the ten stages of a page, or of one stage beside them."""


def named_ticket_of(value: str | None) -> NamedTicket:
    """Reads what the log keeps of a stage beside the ten; None is the beginning. Raises EtudeError for another text."""
    if value is None:
        return NamedTicket()
    match = re.fullmatch(r"([012]) in time", value)
    if match is None:
        raise EtudeError(f"ticket {value[:40]!r}: expected such as '1 in time'")
    return NamedTicket(int(match[1]))


def ticket_of(value: str | None) -> StageTicket:
    """Reads what the log keeps; None (nothing kept) is the beginning. Raises EtudeError for another text."""
    if value is None:
        return StageTicket()
    match = re.fullmatch(r"stage ([1-9]|10), ([01]) in time", value)
    if match is None:
        raise EtudeError(f"ticket {value[:40]!r}: expected such as 'stage 3, 1 in time'")
    return StageTicket(int(match[1]), int(match[2]))


def ticket_subject(changes: Changes, tuning: Tuning) -> str:
    """What the log files the ticket under, e.g. ``E2A2D3G3B3E4/changes-1f2e3d4c5b6a``.

    The changes are known by their bars and chords in playing order, so that a new title, or another way
    of writing a repeat, keeps what was earned.
    """
    text = "|".join(
        f"{bar.metre} " + " ".join(f"{slot.beats}:{slot.chord.name if slot.chord else NO_CHORD}" for slot in bar.chords)
        for bar in changes.bars
    )
    return f"{tuning.id}/changes-{sha256(text.encode()).hexdigest()[:12]}"
