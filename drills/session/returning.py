"""Coming back after days away: what was known comes first, and an estimate, without reproach."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from scheduler.planner import Planner

__all__ = ["AWAY_DAYS", "Return", "come_back"]

AWAY_DAYS = 7
"""So many days without practice make a return."""

FEWEST_MET = 12
"""With fewer met cards there is nothing to catch up with: the session goes on as usual."""


@dataclass(frozen=True, slots=True)
class Return:
    """A return: whole days away, and sessions until things are where they were (0: they still are)."""

    days_away: int
    sessions: int

    @property
    def line(self) -> str:
        """One sentence for the start of the session."""
        if self.sessions == 0:
            return "What you knew is still there; it comes first today."
        many = "one session" if self.sessions == 1 else f"{self.sessions} sessions"
        return f"What you knew comes first today; about {many} to where it was."


def come_back(planner: Planner, last: datetime | None, now: datetime, minutes: float = 10.0) -> Return | None:
    """Narrows the planner to what has been met when `last`, the latest review, is long ago; None otherwise."""
    if last is None or (away := (now - last).days) < AWAY_DAYS:
        return None
    met = frozenset(card.id for card in planner.cards if not planner.unmet(card.id))
    rules = planner.rules
    if rules.focus is not None:
        met &= rules.focus
    if len(met) < FEWEST_MET:
        return None
    estimate = planner.catch_up(now, minutes)
    planner.rules = replace(rules, focus=met)
    return Return(away, max(0, round(estimate.sessions)))
