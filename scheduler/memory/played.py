"""The rules of a session need a few facts of each review: its card, its moment, how it went and what was new in it."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Played"]


class Played(NamedTuple):
    """One review as the rules of a session see it.

    at_days: days since 1970-01-01 UTC. session: its id, or None. first: False
    for a repeat or a lesson. missed: whether it was a first attempt that was
    looked up. clean: whether it was a first attempt that was clean. new_skills:
    the shared skills first met by it.
    """

    review_id: str
    card: str
    at_days: float
    session: str | None
    first: bool
    missed: bool
    clean: bool
    new_skills: tuple[str, ...]
