"""When a player counts as having been away, and what is asked then (drills/RULES.md, G24)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from drills.session.returning import come_back
from scheduler import CardSpec, Grade, Planner, Review, TeachingRules

LAST = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def planner_of(known, fresh=0, rules=None):
    """A planner that met `known` cards two days before `LAST` and `fresh` cards at it."""
    cards = [CardSpec(f"c{n}", (f"form:{n % 4}",)) for n in range(known + fresh + 5)]
    days = [2.0] * known + [0.0] * fresh
    history = [
        Review(card.id, Grade.CLEAN, LAST - timedelta(days=ago), 4.0, skills=card.skills)
        for card, ago in zip(cards, days, strict=False)
    ]
    return Planner(cards, history=history, rules=rules)


@pytest.mark.parametrize(("days", "away"), [(0.0, None), (6.9, None), (7.0, 7), (7.9, 7), (8.0, 8), (60.0, 60)])
def test_seven_days_are_an_absence(days, away):
    """Six days and most of the seventh are no absence; seven whole days are (common practice)."""
    found = come_back(planner_of(12), LAST, LAST + timedelta(days=days))
    assert (found and found.days_away) == away


def test_the_seventh_day_ends_to_the_microsecond():
    """A microsecond short of seven days is no absence."""
    planner = planner_of(12)
    assert come_back(planner, LAST, LAST + timedelta(days=7, microseconds=-1)) is None
    assert come_back(planner, None, LAST) is None


def test_few_cards_are_nothing_to_come_back_to():
    """With eleven cards met the session goes on as usual, and so it does when the focus leaves eleven."""
    back = LAST + timedelta(days=9)
    assert come_back(planner_of(11), LAST, back) is None
    assert come_back(planner_of(12), LAST, back) is not None
    narrow = TeachingRules(focus=frozenset(f"c{n}" for n in range(11)))
    assert come_back(planner_of(30, rules=narrow), LAST, back) is None


@pytest.mark.parametrize("known", [23, 24])
def test_what_is_long_known_comes_alone_when_it_fills_ten_minutes(known):
    """24 cards met a day and a half before the last review are asked alone; with fewer, all that was met is."""
    found = come_back(planner_of(known, fresh=3), LAST, LAST + timedelta(days=9))
    assert found.narrowed == (known == 24)
    assert found.focus == {f"c{n}" for n in range(known if found.narrowed else known + 3)}
