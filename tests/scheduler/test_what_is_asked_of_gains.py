"""What the planner asks of the gains: the moment, the player's pace, the days between, and who begins new skills."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import permutations
from unittest import mock

import numpy as np
import pytest

from scheduler import CardSpec, Grade, Planner, Review
from scheduler.memory.learner import days_of
from scheduler.planning.gain import Gains
from scheduler.planning.rules import NO_RULES

START = datetime(2026, 3, 2, 18, tzinfo=UTC)
CARDS = [CardSpec(f"c{number}", skills=(f"skill:{number}",), seconds=10.0) for number in range(4)]


def asked_of(planner, at):
    """What the planner asks of its gains when it names a card."""
    alike = np.ones((len(CARDS), 2)), np.full(len(CARDS), 0.5)
    with mock.patch.object(Gains, "per_card", return_value=alike) as per_card:
        planner.next(at)
    return per_card.call_args.args[0]


def played_on(days):
    """A planner whose player met one card on each of these days after the first."""
    planner = Planner(CARDS, 1, rules=replace(NO_RULES, practice_every_days=1.5))
    for number, day in enumerate(days):
        at = START + timedelta(days=day)
        planner.record(
            Review(f"c{number}", Grade.CLEAN, at, 4.0, skills=(f"skill:{number}",), spent=20.0, id=f"r{day}")
        )
    return planner


@pytest.mark.parametrize("days", [(), (0,), (0, 1), (0, 1, 2), (0, 1, 2, 3)])
def test_from_the_third_practice_day_on_each_member_begins_new_skills_as_it_would(days):
    """Until two practice days are over new skills are begun as the most careful member would (chosen by simulation)."""
    planner = played_on(days)
    at = START + timedelta(days=len(days))
    now = asked_of(planner, at)
    assert now.own_discounts == (len(days) >= 2)
    assert (now.at_days, now.paces, now.every_days) == (days_of(at), planner.pace.factors(), 1.5)
    later_today = asked_of(planner, START + timedelta(days=days[-1], hours=1)) if days else now
    assert later_today.own_discounts == (len(days) >= 3)


@pytest.mark.parametrize("order", [*permutations(range(3))])
def test_in_which_order_skills_were_met_makes_no_difference(order):
    """Two days before today are two days, whichever skill is looked at first and when it was played last."""
    planner = Planner(CARDS, 1)
    for number in order:
        at = START + timedelta(days=number)
        planner.record(Review(f"c{number}", Grade.CLEAN, at, 4.0, skills=(f"skill:{number}",), id=f"r{number}"))
    assert asked_of(planner, START + timedelta(days=2, hours=1)).own_discounts
    assert not asked_of(played_on((0, 1)), START + timedelta(days=1, hours=1)).own_discounts


def test_a_day_on_which_only_old_skills_were_played_counts():
    """The last day of a skill is a practice day as its first is."""
    planner = Planner(CARDS, 1)
    for day in (0, 1):
        at = START + timedelta(days=day)
        planner.record(Review("c0", Grade.CLEAN, at, 4.0, skills=("skill:0",), id=f"r{day}"))
    assert asked_of(planner, START + timedelta(days=2)).own_discounts
    assert not asked_of(planner, START + timedelta(days=1, hours=2)).own_discounts


def test_the_first_day_ends_where_the_practice_day_does():
    """Nothing was played before the practice day, which is counted from an early hour and not from midnight."""
    planner = played_on((0,))
    assert planner.first_day(START) and planner.first_day(START + timedelta(hours=8))
    assert not planner.first_day(START + timedelta(hours=12))
    assert Planner(CARDS, 1).first_day(START)
