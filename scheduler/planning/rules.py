"""Teaching rules are what a teacher asks of the planner: what is never broken, and what weighs against gain."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.errors import RulesError

__all__ = ["NO_RULES", "PREFERENCES", "TeachingRules"]


_WEIGHTS = (
    "order_weight", "again_weight", "return_weight", "look_alike_weight", "apart_weight", "area_weight", "hard_weight",
    "gap_weight", "begin_weight", "fragile_weight",
)  # fmt: skip
_RANGES: tuple[tuple[tuple[str, ...], Callable[[Any], bool], str], ...] = (
    (("lessons_running",), lambda lessons: min(lessons) >= 0, "0 or more lessons"),
    (("return_after",), lambda cards: 1 <= cards[0] <= cards[1], "1 or more other cards, the fewest first"),
    (_WEIGHTS, lambda weight: 0.0 <= weight < math.inf, "a number of 0 or more"),
    (("return_share", "apart_share"), lambda share: 0.0 <= share <= 1.0, "0 to 1"),
    (("longest_gap_days",), lambda days: days > 0, "days above 0"),
    (("hardest_after_days", "hard_after_days"), lambda days: days >= 0.0, "0 days or more"),
    (("apart_reach",), lambda cards: cards >= 0, "0 or more cards"),
    (("day_starts_at_hour",), lambda hour: 0 <= hour < 24, "an hour from 0 to under 24"),
    (("practice_every_days",), lambda days: 1.0 <= days < math.inf, "1 or more"),
    (("session_gap_minutes",), lambda minutes: 0 < minutes < math.inf, "minutes above 0"),
)
"""Fields, whether a value is in their range, and that range in words."""


@dataclass(frozen=True, slots=True)
class TeachingRules:
    """Rules the planner obeys; every default but one leaves it free.

    Some are absolute and never give way to gain:

    new_per_session: kind of skill -> most new skills of that kind met in one
        session, e.g. ``{"form": 2, "root": 4}``. Kinds not named are free.
    in_stage_order: whether new skills are met in the order of the cards'
        `stage` and in no other, and within a stage, where they gain alike, in
        the order given. It is on unless it is switched off.
    return_after: fewest and most other cards between a card looked up, or
        shown in a lesson, and its return in the same session. Each return has
        its own number between them, so that the order cannot be learned by heart;
        where fewer others are open, each of them comes once between.
    shown_kinds: kinds of skill that a lesson shows before they are first asked.
    lessons_running: most lessons one after another, on a player's first
        practice day and later; 0 for as many as come.
    one_at_a_time: kind of skill -> questions that a new skill of that kind is
        asked in, on a player's first practice day, before the next one of the
        kind is met; and then it is met. A card that brings one brings nothing else new of the kinds
        in `new_per_session`. Both give way where no other card is open than
        the one just asked.
    easy_first: kind of skill -> its first questions, which are asked on cards of demand EASY.
    hardest_after_days: days from the player's first review until cards of
        demand HARDEST are asked. This and `easy_first` give way where no other card is open.
    rested: ids of cards set aside; never asked.
    focus: ids asked from, or None for every card.
    apart_reach: how many cards back the tags in `CardSpec.apart` reach.

    The others are weights on a card's gain. A weight of 0 switches a rule off:

    order_weight: new skills of a later stage gain less, by the factor
        exp(-order_weight) for each stage that is open before it, up to six.
    again_weight: a card looked up on an earlier practice day gains more, by
        the factor 1 + again_weight.
    return_weight: a card looked up in this session gains more, by the factor
        1 + return_weight, once the cards of `return_after` lie between.
    return_share: the part of a session's cards that such returns may fill; when
        it is used up, they count no more than their gain. At least one returns.
    look_alike_weight: a card with a new skill that is easily taken for one
        first met on the same practice day gains less, by the factor
        exp(-look_alike_weight).
    apart_weight: a card that shares a tag of `CardSpec.alike` with the card
        asked just now gains less, by the factor exp(-apart_weight).
    apart_share: the part of a session's cards that may follow one so alike; when
        it is used up, a card alike waits until no other is open. Two may always.
    area_weight: a card of an area of which nothing was met gains less, by the
        factor exp(-area_weight x doubt), where doubt goes from 1 for a player of whom nothing
        is known to last, to 0 when the cards of every area met before today come clean
        tomorrow with a chance of .25 or more. Of several new areas only the next one
        is opened.
    hard_weight: a card not met yet of demand HARD or more gains less, by the
        factor exp(-hard_weight), until its skills of the kinds in `easy_first` are firm, or
        `hard_after_days` practice days have passed since the player's first review.
    gap_weight: a card with a firm skill that has gone long without practice
        gains more, by the factor exp(gap_weight x fill), where fill goes from
        0 at four fifths of `longest_gap_days` to 1 at the whole of it, and on.
    begin_weight: as a session's first question a card gains more, by the factor exp(begin_weight x
        chance of a clean first try, .7 at most); not where `fragile_weight` counts.
    fragile_weight: a card gains more the less sure it is, by the factor
        (chance of a clean first try + .01) to the power of -fragile_weight, for
        the session after an absence, when every card has waited long.

    look_alikes: skill -> skills easily taken for it.
    blame: slip -> the kind of skill it blames for a miss, e.g.
        ``{"shape": "form"}``. ``card`` means what is the card's own.
    longest_gap_days: longest time without any practice of a firm skill.
    longest_gap_kinds: the kinds of skill the longest gap holds for.
    day_starts_at_hour: local hour at which a practice day begins, 0 to under
        24; practice before it counts for the evening before.
    practice_every_days: mean days from one practice day to the next, 1 or
        more; the horizons that gains are read at count in practice days.
    session_gap_minutes: a pause longer than this starts a new session when
        reviews carry no session id and `Planner.begin` was not called.

    Raises RulesError when a limit or a weight is negative or out of range.
    """

    new_per_session: Mapping[str, int] = field(default_factory=dict)
    in_stage_order: bool = True
    look_alikes: Mapping[str, frozenset[str]] = field(default_factory=dict)
    blame: Mapping[str, str] = field(default_factory=dict)
    return_after: tuple[int, int] = (3, 7)
    shown_kinds: frozenset[str] = frozenset()
    lessons_running: tuple[int, int] = (0, 0)
    one_at_a_time: Mapping[str, int] = field(default_factory=dict)
    easy_first: Mapping[str, int] = field(default_factory=dict)
    hardest_after_days: float = 14.0
    hard_after_days: float = 10.0
    order_weight: float = 0.0
    again_weight: float = 0.0
    return_weight: float = 0.0
    return_share: float = 1.0
    look_alike_weight: float = 0.0
    apart_weight: float = 0.0
    apart_share: float = 1.0
    area_weight: float = 0.0
    hard_weight: float = 0.0
    gap_weight: float = 0.0
    begin_weight: float = 0.0
    fragile_weight: float = 0.0
    longest_gap_days: float = 45.0
    longest_gap_kinds: tuple[str, ...] = ()
    rested: frozenset[str] = frozenset()
    focus: frozenset[str] | None = None
    apart_reach: int = 1
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR
    practice_every_days: float = 1.0
    session_gap_minutes: float = 60.0

    def __post_init__(self) -> None:
        for name in ("new_per_session", "one_at_a_time", "easy_first"):
            for kind, limit in getattr(self, name).items():
                if limit < 0:
                    raise RulesError(f"rules, {name}[{kind!r}]: expected 0 or more, got {limit!r}")
        for names, holds, expected in _RANGES:
            for name in names:
                if not holds(value := getattr(self, name)):
                    raise RulesError(f"rules, {name}: expected {expected}, got {value!r}")

    def allows(self, card_id: str) -> bool:
        """Whether a card may be asked at all: it does not rest, and is in focus."""
        return card_id not in self.rested and (self.focus is None or card_id in self.focus)


NO_RULES = TeachingRules()
"""The free planner."""

PREFERENCES = TeachingRules(
    in_stage_order=False,
    order_weight=0.1,
    again_weight=0.3,
    return_weight=10_000.0,
    return_share=0.03,
    look_alike_weight=0.7,
    apart_weight=0.3,
    apart_share=0.2,
    area_weight=3.0,
    hard_weight=3.0,
    gap_weight=3.0,
    begin_weight=3.0,
)
"""The weights of a practice session, without limits and kinds, which are the deck's.

A card played a moment ago keeps a twentieth of its gain (`scheduler.planning.even_turns`) and a miss that is asked
again adds little by itself, often a thousandth of the best card's gain. The returns have a share of the session's
cards instead, and their weight is so large that they have it.
They were chosen by the recall of simulated players under the limits of a session, see `scheduler.evaluate`.
"""
