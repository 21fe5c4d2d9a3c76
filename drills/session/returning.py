"""Coming back after days away: what was known comes first, and an estimate, without reproach."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduler.planning.planner import Planner

__all__ = ["AWAY_DAYS", "Return", "come_back"]

AWAY_DAYS = 7
"""So many days without practice make a return."""

FEWEST_MET = 12
"""With fewer met cards there is nothing to catch up with: the session goes on as usual."""

LONG_KNOWN_DAYS = 1.5
"""A card first met so many days before the latest review is long known; what is newer can wait a day more."""

ENOUGH_LONG_KNOWN = 24
"""So many long-known cards fill ten minutes (about 22 cards); with fewer, all that was met comes."""


@dataclass(frozen=True, slots=True)
class Return:
    """A return: whole days away, and sessions until all that was met is where it was (0: it still is).

    narrowed: whether only what is long known is asked today; else all that was met is.
    """

    days_away: int
    sessions: int
    narrowed: bool = True

    @property
    def line(self) -> str:
        """One sentence for the start of the session: what is asked, and an estimate over all that was met."""
        asked = "What you have known longest comes first today" if self.narrowed else "Nothing new today"
        if self.sessions == 0:
            return f"{asked}; all you had met is still there."
        many = "one session" if self.sessions == 1 else f"{self.sessions} sessions"
        return f"{asked}; about {many} until all you had met is where it was."


def come_back(planner: Planner, last: datetime | None, now: datetime, minutes: float = 10.0) -> Return | None:
    """Narrows the planner to what is long known, else to what has been met, when `last` is long ago; None otherwise.

    last: when the latest review was. Among what is left the planner takes the most fragile first (handbook G24).
    """
    if last is None or (away := (now - last).days) < AWAY_DAYS:
        return None
    met = frozenset(card.id for card in planner.cards if not planner.unmet(card.id))
    rules = planner.rules
    if rules.focus is not None:
        met &= rules.focus
    if len(met) < FEWEST_MET:
        return None
    estimate = planner.catch_up(now, minutes)
    long_known = frozenset(card for card in met if planner.first_met(card) <= last - timedelta(days=LONG_KNOWN_DAYS))
    narrowed = len(long_known) >= ENOUGH_LONG_KNOWN
    planner.rules = replace(rules, focus=long_known if narrowed else met)
    return Return(away, max(0, round(estimate.sessions)), narrowed)
