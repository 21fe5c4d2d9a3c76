"""What is played, judged: rivals hold the limits of a session, and every rule is tried without its weight."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from scheduler.card import kind_of
from scheduler.evaluate.as_played import played_row, weights_off
from scheduler.evaluate.class_year import class_rules
from scheduler.evaluate.new_material import NewMaterial
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.simulate import Case
from scheduler.evaluate.simulated_deck import material

DECK = material(2, 1, 12)
LIMITS = {"form": 2, "root": 4}


@pytest.mark.parametrize("name", list(RIVALS))
def test_a_rival_meets_no_more_that_is_new_than_the_limits_allow(name):
    """Over three sessions of fifteen cards no rival meets more than two new forms and four new roots in one."""
    rival, new, met = RIVALS[name](DECK, 1), NewMaterial(DECK, LIMITS), set()
    for day in range(3):
        new.begin()
        begun = Counter()
        for number in range(15):
            at = day + number / 5000.0
            rival.closed = new.closed()
            card = rival.next(at)
            rival.record(card, number % 3 > 0, at)
            new.record(card)
            fresh = set(DECK.cards[card].skills) - met
            begun.update(kind_of(skill) for skill in fresh)
            met |= fresh
        assert begun["root"] == 4 if day == 0 else begun["root"] <= 4
        assert begun["form"] <= 2


def test_a_row_has_every_policy_once_a_seed():
    """Planner, each weight left out, all of them, the rivals and the clairvoyant, with recalls between 0 and 1."""
    case = Case("windows", 0.45, 300, days=2)
    found, kept, yielded = played_row(lambda seed: replace(case, seed=seed), [300], DECK)
    assert {"planner", "without weights", "without order_weight", "clairvoyant", *RIVALS} <= set(found)
    assert all(len(recalls) == 1 and 0.0 < recalls[0] < 1.0 for recalls in found.values())
    assert kept["apart"] > yielded["apart", "met"]


def test_weights_off_leaves_what_is_absolute():
    """Without weights the limits and the tags stay as they were."""
    rules = class_rules(DECK)
    off = weights_off(rules)
    assert (off.order_weight, off.again_weight, off.gap_weight) == (0.0, 0.0, 0.0)
    assert (off.new_per_session, off.apart_reach, off.look_alikes) == (LIMITS, 1, rules.look_alikes)
