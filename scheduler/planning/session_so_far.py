"""The session so far is read off the last reviews: what was played, met and missed in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.memory.played import Played

__all__ = ["SessionSoFar", "session_at"]


@dataclass(frozen=True, slots=True)
class SessionSoFar:
    """What has happened so far in one session, oldest first."""

    played: tuple[Played, ...] = ()

    def asked(self) -> list[str]:
        """Cards in the order asked; a card repeated straight away counts once."""
        order: list[str] = []
        for p in self.played:
            if not order or order[-1] != p.card:
                order.append(p.card)
        return order

    def new_skills(self) -> set[str]:
        """Skills first met in this session."""
        return {skill for p in self.played for skill in p.new_skills}

    def waiting(self) -> dict[str, int]:
        """Cards looked up or shown in a lesson, not asked since -> how many others followed; longest wait first."""
        since: dict[str, None] = {}
        for p in self.played:
            if (p.first and p.missed) or (not p.first and p.new_skills):
                since.pop(p.card, None)
                since[p.card] = None
            elif p.first:
                since.pop(p.card, None)
        order = self.asked()
        return {card: len(set(order[len(order) - order[::-1].index(card) :])) for card in since}

    def shown(self) -> frozenset[str]:
        """Cards shown in a lesson and not asked since."""
        last = {p.card: p for p in self.played if p.first or p.new_skills}
        return frozenset(card for card, p in last.items() if not p.first)

    def lessons_running(self) -> int:
        """How many lessons came one after another up to now."""
        count = 0
        for p in reversed(self.played):
            if p.first or not p.new_skills:
                break
            count += 1
        return count

    def returned(self) -> int:
        """How many questions were cards looked up earlier in this session."""
        missed: set[str] = set()
        count = 0
        for p in self.played:
            count += p.first and p.card in missed
            if p.first:
                (missed.add if p.missed else missed.discard)(p.card)
        return count


def session_at(recent: Sequence[Played], at_days: float, begun: str | None, gap_days: float) -> SessionSoFar:
    """The session a moment belongs to.

    With `begun`, the reviews that carry that session id. Else the reviews of
    the last session id, or those less than `gap_days` apart when they carry
    none, unless the last of them is more than `gap_days` ago.
    """
    if begun is not None:
        return SessionSoFar(tuple([p for p in recent if p.session == begun]))
    if not recent or at_days - recent[-1].at_days > gap_days:
        return SessionSoFar()
    last = recent[-1]
    if last.session is not None:
        return SessionSoFar(tuple([p for p in recent if p.session == last.session]))
    start = len(recent)
    until = at_days
    while start > 0 and recent[start - 1].session is None and until - recent[start - 1].at_days <= gap_days:
        start -= 1
        until = recent[start].at_days
    return SessionSoFar(tuple(recent[start:]))
