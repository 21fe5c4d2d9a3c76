"""What was heard of one prompt, as a sitting shows it and the log keeps it."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from scheduler.grade import Grade

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drills.listening.heard import ClickGrid, Target
    from drills.shapes.shape import Shape

__all__ = ["HeardTake", "seconds_left", "target_of"]


@dataclass(frozen=True, slots=True)
class HeardTake:
    """A take and what is made of it; the player's key decides.

    glyphs: one for each note of the shape, or of both in a row, ``""`` where it was right. line: the proposal, or why
    there is none.
    notes: a sentence for each note that was not right. grade: what is proposed, None where nothing is claimed.
    slip: the cause that is proposed with Looked, or None. sure: share of the notes that were judged, 0 to 1.
    source: engine and version. detail: the verdict in numbers, a JSON object. accepted: whether the proposal was
    taken by silence. accept_at_s: when silence takes it, on the clock of the sitting, or None.
    """

    glyphs: tuple[str, ...]
    line: str
    notes: tuple[str, ...]
    grade: Grade | None
    slip: str | None
    sure: float
    source: str
    detail: str
    accepted: bool = False
    accept_at_s: float | None = None


def target_of(shapes: Sequence[Shape], click: ClickGrid | None = None) -> Target:
    """What is to be heard of one shape, or of two in a row."""
    from drills.listening.heard import Target  # every session imports this module, also one that does not listen

    onward_at = len(shapes[0].notes) if len(shapes) > 1 else None
    return Target(tuple(note.midi for shape in shapes for note in shape.notes), click, onward_at)


def seconds_left(take: HeardTake | None, now_s: float) -> int:
    """Whole seconds until silence accepts the proposal on show; 0 where nothing is accepted."""
    return max(0, ceil(take.accept_at_s - now_s)) if take is not None and take.accept_at_s is not None else 0
