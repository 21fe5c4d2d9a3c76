"""A count of first tries: clean n of m, and what it is compatible with."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.statistics.intervals import wilson

__all__ = ["FEWEST_TRIES", "Count"]

FEWEST_TRIES = 5
"""Under so many tries a rate says nothing: 3 of 4 is compatible with anything from 30 % to 95 %."""


@dataclass(frozen=True, slots=True)
class Count:
    """First-try clean n of m. Adding two counts adds both numbers."""

    clean: int = 0
    tries: int = 0

    def __add__(self, other: Count) -> Count:
        return Count(self.clean + other.clean, self.tries + other.tries)

    @property
    def interval(self) -> tuple[float, float] | None:
        """Wilson's 95 % interval, or None under FEWEST_TRIES tries."""
        return wilson(self.clean, self.tries) if self.tries >= FEWEST_TRIES else None

    def __str__(self) -> str:
        return f"{self.clean} of {self.tries}"
