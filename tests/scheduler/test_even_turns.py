"""Waiting: even turns for who forgets slowly, a card's own half-lives for who forgets fast, worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from scheduler import CardSpec, Constants, Grade
from scheduler.memory import Memory
from scheduler.planning import gain
from scheduler.planning.even_turns import held_back, own_gaps_waited, turns_waited
from scheduler.planning.gain import Gains, WorthsAsked

CARDS = [CardSpec(f"card {number}", ("kind:one",)) for number in range(3)]


@pytest.mark.parametrize(("met", "every", "turn"), [(1, 1.0, 1.0), (25, 1.0, 1.0), (100, 1.0, 4.0), (100, 3.0, 12.0)])
def test_a_turn_is_the_time_in_which_every_card_met_comes_once(met, every, turn):
    """Twenty-five cards a practice day: a hundred cards take four; waiting counts from .05 to 3 turns."""
    ages = np.array([turn, 2.0 * turn, 0.0, 100.0 * turn] + [turn] * (met - 4) + [math.nan])[: max(met, 4) + 1]
    if met < 4:
        ages[1:4] = math.nan
    waited = turns_waited(ages, every)
    assert waited[0] == pytest.approx(1.0)
    assert waited[-1] == 1.0
    if met >= 4:
        assert list(waited[1:4]) == pytest.approx([2.0, 0.05, 3.0])


def test_new_cards_wait_while_what_was_met_is_weak():
    """The third power of recall over .35, and nothing from there on."""
    assert list(held_back(np.array([0.0, 0.175, 0.35, 0.9]))) == pytest.approx([0.0, 0.125, 1.0, 1.0])


def test_a_card_in_its_own_time_waits_by_its_half_life():
    """Two days are two half-lives of a day, .05 to 3; and a gap is half a practice day or more."""
    ages, halves = np.array([2.0, 2.0, 0.0, 2.0, math.nan]), np.array([[1.0, 0.1, 1.0, 4.0, 0.35]])
    assert own_gaps_waited(ages, halves, 1.0)[0].tolist() == pytest.approx([2.0, 3.0, 0.05, 0.5, 1.0])
    assert own_gaps_waited(ages, halves, 3.0)[0].tolist() == pytest.approx([2.0 / 1.5, 2.0 / 1.5, 0.05, 0.5, 1.0])


def memory_of(power, sharing, first):
    """A committee of one after a clean try at the first card long ago and a miss at the second of late."""
    constants = replace(Constants(), first_half_lives_days=(first,), curves=(power,), sharings=(sharing,))
    memory = Memory(constants)
    memory.learn((*CARDS[0].skills, "card:card 0"), Grade.CLEAN, 0.0)
    memory.learn((*CARDS[1].skills, "card:card 1"), Grade.LOOKED, 4.5)
    return memory


def total(memory, monkeypatch, without=False):
    if without:
        monkeypatch.setattr(gain, "turns_waited", lambda ages, every: np.ones(len(ages)))
        monkeypatch.setattr(gain, "own_gaps_waited", lambda ages, halves, every: np.ones(halves.shape))
        monkeypatch.setattr(gain, "held_back", lambda recalls: np.ones(len(recalls)))
    return Gains(CARDS, memory).per_card(WorthsAsked(5.0, own_discounts=True))[0].sum(1)


@pytest.mark.parametrize("first", [0.35, 1.2])
@pytest.mark.parametrize(("power", "sharing"), [(True, 0.0), (True, 0.45), (False, 0.0)])
def test_who_waits_how_and_only_who_shares_nothing_holds_back(power, sharing, first, monkeypatch):
    """Waited five days and half a day: 3 turns against .5, or half a day in the half-life that the miss has left.

    An exponential curve counts neither these nor the hold.
    """
    memory = memory_of(power, sharing, first)
    ours, plain = total(memory, monkeypatch), total(memory, monkeypatch, without=True)
    part = (ours / ours[0]) / (plain / plain[0])
    soon = np.mean([memory.believed((*card.skills, f"card:{card.id}"), 6.5)[1][0] for card in CARDS[:2]])
    held = min(1.0, soon / 0.35) ** 3 if power and not sharing else 1.0
    half = memory.skills["card:card 1"].half_lives_days[0]
    waited = 0.5 / max(half, 0.5) if first < 1.0 else 0.5
    assert part[1] == pytest.approx(waited / 3.0 if power else 1.0)
    assert part[2] == pytest.approx(held / 3.0 if power else 1.0)
    assert (held < 1.0) == (power and not sharing and first < 1.0)
