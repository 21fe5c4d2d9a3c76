"""The four-step report of how a first attempt went."""

from __future__ import annotations

from enum import IntEnum

__all__ = ["Grade"]


class Grade(IntEnum):
    """A step of the self-grade, in ascending order of success.

    Ordered, so an ordinal memory model may use the numbers 1 to 4; `clean`
    is the event that `Planner.recall` predicts.
    """

    LOOKED = 1
    FOUND = 2
    CLEAN = 3
    IN_TIME = 4

    @property
    def clean(self) -> bool:
        """Whether everything was right at the first attempt (Clean or In time)."""
        return self >= Grade.CLEAN

    @property
    def missed(self) -> bool:
        """Whether the answer had to be looked up (Looked)."""
        return self is Grade.LOOKED

    @property
    def label(self) -> str:
        """The word a player reads, e.g. ``In time``."""
        return _LABELS[self]


_LABELS = {
    Grade.LOOKED: "Looked",
    Grade.FOUND: "Found it",
    Grade.CLEAN: "Clean",
    Grade.IN_TIME: "In time",
}
