"""The forecast: its mean and its range against drawn futures."""

from __future__ import annotations

import math
from datetime import timedelta
from random import Random

import pytest

from drills.progress.ahead import ahead_json, ahead_lines, days_ahead, read_memory
from scheduler.planning.outlook import outlooks
from tests.progress.players import START, played

NOW = START + timedelta(days=41)


@pytest.fixture(scope="module")
def remembered():
    """A memory after forty days."""
    return read_memory(played(11))


def test_the_mean_is_the_sum_of_recalls(remembered):
    """What is expected is the sum of the cards' recalls, as the planner reads them."""
    at_days = NOW.timestamp() / 86400 + 3
    (found,) = outlooks(remembered.memory, remembered.skills.values(), [at_days])
    recalls = [remembered.memory.recall(skills, at_days) for skills in remembered.skills.values()]
    assert found.expected == pytest.approx(sum(recalls))
    assert found.low <= found.expected <= found.high
    assert found.cards == len(recalls)


def test_all_at_once_is_one_by_one(remembered):
    """Cards of one skill, of some and of some never met: mean and range are those of each card's own chances."""
    memory = remembered.memory
    some = list(remembered.skills.values())[:6]
    cards = [*some, some[0][-1:], some[1][1:], ("form:never", "root:never", *some[2]), ("card:never",)]
    at_days = NOW.timestamp() / 86400 + 20
    (found,) = outlooks(memory, cards, [at_days])
    recalls = [memory.recall(skills, at_days) for skills in cards]
    means = [sum(column) for column in zip(*(memory.corrected(one, at_days)[1] for one in cards), strict=True)]
    spread = sum(w * (mean - sum(recalls)) ** 2 for w, mean in zip(memory.weights(), means, strict=True))
    reach = 1.959964 * math.sqrt(sum(p * (1 - p) for p in recalls) + spread)
    assert found.expected == pytest.approx(sum(recalls))
    assert (found.low, found.high) == (
        max(0, math.floor(sum(recalls) - reach)), min(len(cards), math.ceil(sum(recalls) + reach))
    )  # fmt: skip
    assert outlooks(memory, [], [at_days])[0] == (0.0, 0, 0, 0)


def test_the_range_holds_nineteen_drawn_futures_in_twenty(remembered):
    """Futures drawn from the committee (a model by its weight, then every card) fall inside 93 times in 100."""
    rng = Random(3)
    memory, skills = remembered.memory, list(remembered.skills.values())
    at_days = NOW.timestamp() / 86400 + 10
    (found,) = outlooks(memory, skills, [at_days])
    by_expert = list(zip(*(memory.corrected(one, at_days)[1] for one in skills), strict=True))
    inside = 0
    for _ in range(2000):
        recalls = rng.choices(by_expert, memory.weights())[0]
        inside += found.low <= sum(rng.random() < p for p in recalls) <= found.high
    assert inside / 2000 >= 0.93


def test_what_is_not_played_fades(remembered):
    """Each later day expects no more, every number has its range, and asking changes nothing."""
    days = [NOW.date() + timedelta(days=n) for n in (1, 8, 30, 90)]
    before = (dict(remembered.memory.skills), remembered.memory.player.log_weights)
    found = days_ahead(remembered.memory, remembered.skills, days, NOW)
    assert [one.expected for one in found] == sorted((one.expected for one in found), reverse=True)
    assert all(0 <= one.low < one.high <= one.cards for one in found)
    lines = ahead_lines(found, 90)
    assert all(f"{one.low} to {one.high}" in line for one, line in zip(found, lines[3:], strict=True))
    assert [row["low"] for row in ahead_json(found)] == [one.low for one in found]
    assert (dict(remembered.memory.skills), remembered.memory.player.log_weights) == before


def test_nothing_met_forecasts_nothing():
    """Without reviews there is no memory, and the lines say so."""
    assert read_memory([]) is None
    assert ahead_lines([], 14) == [
        "Nothing to say of the next 14 days: nothing met yet, or no practice day among them."
    ]


def test_words_are_of_shared_skills(remembered):
    """Each form, root and spelling has one of the four words; single cards have none."""
    words = remembered.words(NOW)
    assert set(words.values()) <= {"unmet", "forming", "firm", "fading"}
    assert {skill.partition(":")[0] for skill in words} == {"form", "root", "spell"}
