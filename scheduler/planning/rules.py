"""Teaching rules are what a teacher asks of the planner: limits, look-alikes, blame, gaps, rest and focus."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.errors import RulesError

__all__ = ["NO_RULES", "TeachingRules"]


@dataclass(frozen=True, slots=True)
class TeachingRules:
    """Rules the planner obeys; every default leaves it free.

    new_per_session: kind of skill -> most new skills of that kind met in one
        session, e.g. ``{"form": 2, "root": 4}``. Kinds not named are free.
    in_stage_order: whether new skills are met in the order of the cards'
        `stage`, and within a stage, where they gain alike, in the order given.
    look_alikes: skill -> skills easily taken for it; two of them are never
        first met on one practice day.
    blame: slip -> the kind of skill it blames for a miss, e.g.
        ``{"shape": "form"}``. ``card`` means what is the card's own.
    miss_returns_after: a looked-up card comes back in the same session once
        this many other cards have been played; None for no such rule.
    ask_again_next_day: whether a card looked up comes back on the next
        practice day as well.
    longest_gap_days: longest time without any practice of a firm skill.
    longest_gap_kinds: the kinds of skill the longest gap holds for.
    rested: ids of cards set aside; never asked.
    focus: ids asked from, or None for every card.
    apart_reach: how many cards back the tags in `CardSpec.apart` reach.
    day_starts_at_hour: local hour at which a practice day begins, 0 to under
        24; practice before it counts for the evening before.
    practice_every_days: mean days from one practice day to the next, 1 or
        more; the horizons that gains are read at count in practice days.
    session_gap_minutes: a pause longer than this starts a new session when
        reviews carry no session id and `Planner.begin` was not called.

    Raises RulesError when a limit is negative or out of range.
    """

    new_per_session: Mapping[str, int] = field(default_factory=dict)
    in_stage_order: bool = True
    look_alikes: Mapping[str, frozenset[str]] = field(default_factory=dict)
    blame: Mapping[str, str] = field(default_factory=dict)
    miss_returns_after: int | None = None
    ask_again_next_day: bool = False
    longest_gap_days: float = 45.0
    longest_gap_kinds: tuple[str, ...] = ()
    rested: frozenset[str] = frozenset()
    focus: frozenset[str] | None = None
    apart_reach: int = 1
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR
    practice_every_days: float = 1.0
    session_gap_minutes: float = 60.0

    def __post_init__(self) -> None:
        for kind, limit in self.new_per_session.items():
            if limit < 0:
                raise RulesError(f"rules, new_per_session[{kind!r}]: expected 0 or more, got {limit!r}")
        if self.miss_returns_after is not None and self.miss_returns_after < 1:
            raise RulesError(
                f"rules, miss_returns_after: expected 1 or more other cards, or None, got {self.miss_returns_after!r}"
            )
        if not self.longest_gap_days > 0:
            raise RulesError(f"rules, longest_gap_days: expected days above 0, got {self.longest_gap_days!r}")
        if self.apart_reach < 0:
            raise RulesError(f"rules, apart_reach: expected 0 or more cards, got {self.apart_reach!r}")
        if not 0 <= self.day_starts_at_hour < 24:
            raise RulesError(
                f"rules, day_starts_at_hour: expected an hour from 0 to under 24, got {self.day_starts_at_hour!r}"
            )
        if not 1.0 <= self.practice_every_days < math.inf:
            raise RulesError(f"rules, practice_every_days: expected 1 or more, got {self.practice_every_days!r}")
        if not (math.isfinite(self.session_gap_minutes) and self.session_gap_minutes > 0):
            raise RulesError(f"rules, session_gap_minutes: expected minutes above 0, got {self.session_gap_minutes!r}")

    def allows(self, card_id: str) -> bool:
        """Whether a card may be asked at all: it does not rest, and is in focus."""
        return card_id not in self.rested and (self.focus is None or card_id in self.focus)


NO_RULES = TeachingRules()
"""The free planner."""
