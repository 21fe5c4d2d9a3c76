"""When a player counts as having been away, and what is asked then (drills/RULES.md, G24)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from drills.session.returning import Return, come_back
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


@pytest.mark.parametrize(
    ("sessions", "said"),
    [
        ((3, 7), "; about 3 to 7 sessions until all you had met is where it was."),
        ((0, 0), "; all you had met is still there."),
        (None, "."),
    ],
)
def test_the_way_back_is_told_as_a_range_or_not_at_all(sessions, said):
    """One number of sessions came true for only half of all simulated players (drills/RULES.md, G24)."""
    assert Return(14, sessions).line == "What you have known longest comes first today" + said
    assert Return(14, sessions, narrowed=False).line == "Nothing new today" + said


def test_what_is_told_is_what_the_planner_estimates():
    """Fewest and most, as they come."""
    planner, back = planner_of(24), LAST + timedelta(days=60)
    found = come_back(planner, LAST, back)
    assert found.sessions == planner.catch_up(back, 10.0).within
    assert found.sessions is None or found.sessions[1] - found.sessions[0] == 4
