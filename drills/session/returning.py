"""Plans the first session after days away. What is long known comes first, with an estimate of the way back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.days.practice_day import AWAY_DAYS
from scheduler.planning.planner import Planner

__all__ = ["FRAGILE_WEIGHT", "Return", "come_back"]

FEWEST_MET = 12
"""With fewer met cards there is nothing to catch up with: the session goes on as usual."""

LONG_KNOWN_DAYS = 1.5
"""A card first met so many days before the latest review is long known; what is newer can wait a day more."""

ENOUGH_LONG_KNOWN = 24
"""So many long-known cards fill ten minutes (about 22 cards); with fewer, all that was met comes."""

FRAGILE_WEIGHT = 1.0
"""A card half as likely to come clean counts for twice as much: the most fragile come first (drills/RULES.md, G24)."""


@dataclass(frozen=True, slots=True)
class Return:
    """A return after days away.

    days_away: whole days. sessions: until all that was met is where it was, fewest and most; (0, 0) when it still
    is, and None when no such range can be given. focus: ids of the cards to ask today. narrowed: whether they are
    only what is long known; else they are all that was met.
    """

    days_away: int
    sessions: tuple[int, int] | None
    focus: frozenset[str] = frozenset()
    narrowed: bool = True

    @property
    def line(self) -> str:
        """One sentence for the start of the session: what is asked, and an estimate over all that was met."""
        asked = "What you have known longest comes first today" if self.narrowed else "Nothing new today"
        if self.sessions is None:
            return f"{asked}."
        fewest, most = self.sessions
        if most == 0:
            return f"{asked}; all you had met is still there."
        return f"{asked}; about {fewest} to {most} sessions until all you had met is where it was."


def come_back(planner: Planner, last: datetime | None, now: datetime, minutes: float = 10.0) -> Return | None:
    """What to ask when `last` is long ago: what is long known, else what has been met; None when it is not. Pure.

    last: when the latest review was. Of these the planner asks the most fragile first (drills/RULES.md, G24).
    """
    if last is None or (away := (now - last).days) < AWAY_DAYS:
        return None
    met = frozenset(card.id for card in planner.cards if not planner.unmet(card.id))
    if planner.rules.focus is not None:
        met &= planner.rules.focus
    if len(met) < FEWEST_MET:
        return None
    estimate = planner.catch_up(now, minutes)
    border = last - timedelta(days=LONG_KNOWN_DAYS)
    first_met = {card: planner.first_met(card) for card in met}
    long_known = frozenset(card for card, first in first_met.items() if first is not None and first <= border)
    narrowed = len(long_known) >= ENOUGH_LONG_KNOWN
    return Return(away, estimate.within, long_known if narrowed else met, narrowed)
