"""Gains against the same sums in plain loops, and grades as one player gives them against the normal curve."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from scheduler import CardSpec, Constants, Grade
from scheduler.memory import Memory
from scheduler.memory.ordinal import normal_quantile
from scheduler.planning.gain import Gains, WorthsAsked

CARDS = [
    CardSpec(f"{verb}/{tense}", (f"pattern:{verb[1:]}", f"tense:{tense}"), weight=1.0 + (tense == "past"))
    for verb in ("sing", "ring", "keep")
    for tense in ("past", "future")
]
PACES = (1.2, 2.1)
ONE = Constants(first_half_lives_days=(1.2,), curves=(False,), sharings=(0.45,))


def practised(constants, count=25):
    memory, rng = Memory(constants), random.Random(4)
    for number in range(count):
        card = rng.choice(CARDS[:4])
        memory.learn((*card.skills, f"card:{card.id}"), rng.choice(list(Grade)), number * 0.3)
    return memory


def worth_in_plain_loops(memory, at_days):
    """Expected utility added, one card, one outcome, one horizon, one skill, one neighbour at a time.

    As parts of what the best card gains a second; a skill never met counts
    sqrt(first half-life / new_skill_discount_days).
    """
    c = memory.constants
    first, unmet = c.first_half_lives_days[0], memory.unmet_recall()

    def skills_of(card):
        return (*card.skills, f"card:{card.id}")

    def value(skill, horizon, outcome=None):
        trace = memory.skills.get(skill)
        now = memory.skill_recalls(skill, at_days)[0]
        later = memory.skill_recalls(skill, at_days + horizon)[0]
        if outcome is None:
            return later
        half, floor = (trace.half_lives_days[0], trace.floor) if trace else (first, unmet)
        if outcome:
            half *= 1.0 + c.growth * (1.0 - now) ** c.growth_exponent
        elif trace:
            half *= 1.0 - c.shrink * (1.0 - now)
        else:
            floor = 0.0
        return max(later, floor + (1.0 - floor) * 2.0 ** (-horizon / half))

    def utility(card, horizon, moved, outcome):
        values = [value(s, horizon, outcome if s in moved else None) for s in skills_of(card)]
        recall = 1.0 - (1.0 - 0.45 * math.prod(values[:-1])) * (1.0 - values[-1])
        return card.weight * math.log(recall + c.utility_floors[0])

    def gained(other, horizon, moved, outcome):
        return utility(other, horizon, moved, outcome) - utility(other, horizon, set(), outcome)

    begin = math.sqrt(1.2 / c.new_skill_discount_days)
    found, per_second = [], []
    for card in CARDS:
        chance, total = memory.believed(skills_of(card), at_days)[1][0], 0.0
        for outcome, share in ((True, chance), (False, 1.0 - chance)):
            for horizon in c.horizons_days:
                rest = gained(card, horizon, set(skills_of(card)), outcome)
                for skill in skills_of(card):
                    part = 1.0 if skill in memory.skills else begin
                    for other in CARDS:
                        if skill in skills_of(other):
                            total += share * part * gained(other, horizon, {skill}, outcome)
                    rest -= gained(card, horizon, {skill}, outcome)
                total += share * (1.0 if f"card:{card.id}" in memory.skills else begin) * rest
        found.append(total)
        per_second.append(total / card.seconds / (chance * PACES[0] + (1.0 - chance) * PACES[1]))
    return [one / max(per_second) for one in found]


def test_gains_are_the_plain_sums():
    """Arrays and loops agree: every card, both outcomes, all horizons, with met and unmet skills."""
    memory = practised(ONE)
    worth, recall = Gains(CARDS, memory).per_card(WorthsAsked(9.0, PACES))
    assert worth.sum(1) == pytest.approx(worth_in_plain_loops(memory, 9.0), rel=1e-9)
    assert recall == pytest.approx([memory.believed((*c.skills, f"card:{c.id}"), 9.0)[1][0] for c in CARDS])


def test_horizons_are_counted_in_practice_days():
    """Practising every third day is looking three times as far ahead."""
    wide = replace(ONE, horizons_days=tuple(3.0 * days for days in ONE.horizons_days))
    seldom, _ = Gains(CARDS, practised(ONE)).per_card(WorthsAsked(9.0, PACES, 3.0))
    assert seldom.sum(1) == pytest.approx(worth_in_plain_loops(practised(wide), 9.0), rel=1e-9)
    assert seldom.sum(1) != pytest.approx(
        Gains(CARDS, practised(ONE)).per_card(WorthsAsked(9.0, PACES))[0].sum(1), rel=1e-3
    )


@pytest.mark.parametrize(("half_life", "power", "sharing", "part"), [
    (0.35, False, 0.45, math.sqrt(0.35 / 10.0)), (0.35, True, 0.0, math.sqrt(0.35 / 10.0)),
    (0.35, True, 0.45, 1.0), (12.0, False, 0.45, 1.0),
])  # fmt: skip
def test_a_skill_never_met_counts_a_part_to_those_who_forget_fast(half_life, power, sharing, part):
    """Beside a skill begun, what a new one gains is taken in part, less the faster a first practice fades."""
    one = replace(ONE, first_half_lives_days=(half_life,), curves=(power,), sharings=(sharing,))
    counted, _ = Gains(CARDS, practised(one)).per_card(WorthsAsked(9.0))
    whole, _ = Gains(CARDS, practised(replace(one, new_skill_discount_days=1e-9))).per_card(WorthsAsked(9.0))
    own = -1  # the last column is a card's own; the first four cards were practised, the last two never
    begun, new = counted[0, own] / whole[0, own], counted[5, own] / whole[5, own]
    assert new / begun == pytest.approx(part)


def test_members_vote_by_their_geometric_mean(monkeypatch):
    """A card's gain is the product of its votes to the power of the weights, a vote being a part of the best card's.

    Cards cost the same seconds, clean or not, so that worths compare as gains a second do.
    No vote counts under a thousandth of the highest.
    """
    memory = practised(replace(ONE, first_half_lives_days=(0.35, 9.0)))

    def votes_by(*weights):
        monkeypatch.setattr(Memory, "weights", lambda self: weights)
        worth = Gains(CARDS, memory).per_card(WorthsAsked(9.0, own_discounts=True))[0].sum(1)
        return worth / worth.max()

    fast, slow = votes_by(1.0, 0.0), votes_by(0.0, 1.0)
    assert max(abs(fast - slow)) > 0.1
    top = np.maximum(fast, slow)
    both = np.maximum(fast, 1e-3 * top) ** 0.3 * np.maximum(slow, 1e-3 * top) ** 0.7
    assert votes_by(0.3, 0.7) == pytest.approx(both / both.max())


def test_a_part_of_the_deck_at_a_time_is_the_whole_deck(monkeypatch):
    """However many cards are worked out at once, the gains are the same to the last bit."""
    memory = practised(Constants())
    whole, _ = Gains(CARDS, memory).per_card(WorthsAsked(9.0))
    monkeypatch.setattr("scheduler.planning.gain._AT_ONCE", 2)
    parts, _ = Gains(CARDS, memory).per_card(WorthsAsked(9.0))
    assert parts.tolist() == whole.tolist()


@pytest.mark.parametrize("chance", (0.1, 0.5, 0.93))
def test_grades_in_the_model_are_clean_as_often_as_recalled(chance):
    """By even lots: clean as often as the chance says, in time as often as a normal strength is above the cut."""
    memory = Memory()
    lots = [(number + 0.5) / 4000 for number in range(4000)]
    grades = [memory.grade_of(chance, lot) for lot in lots]
    assert sum(grade.clean for grade in grades) / 4000 == pytest.approx(chance, abs=1e-3)
    strength, cut = norm.ppf(chance), memory.constants.cut
    assert grades.count(Grade.IN_TIME) / 4000 == pytest.approx(norm.sf(cut - strength), abs=2e-3)
    assert grades.count(Grade.LOOKED) / 4000 == pytest.approx(norm.cdf(-cut - strength), abs=2e-3)


@pytest.mark.parametrize("size", [0.25, 0.7, 1.5])
def test_what_lies_on_a_cut_belongs_to_the_grade_in_the_middle(size):
    """Found it down to the lower cut and Clean up to the upper one, both included; 0.2 from the middle at least."""
    memory = Memory()
    above, below = (normal_quantile(chance) for chance in (norm.cdf(size), norm.cdf(-size)))
    memory.player = memory.player._replace(low=(below, 1.0), high=(above, 1.0))
    assert memory.grade_of(norm.cdf(size), 0.5) is Grade.CLEAN and memory.grade_of(norm.cdf(-size), 0.5) is Grade.FOUND
    assert memory.grade_of(norm.cdf(size + 0.01), 0.5) is Grade.IN_TIME
    assert memory.grade_of(norm.cdf(-size - 0.01), 0.5) is Grade.LOOKED
    memory.player = memory.player._replace(low=(0.1, 1.0), high=(-0.1, 1.0))
    for strength, grade in ((0.19, Grade.CLEAN), (0.21, Grade.IN_TIME), (-0.19, Grade.FOUND), (-0.21, Grade.LOOKED)):
        assert memory.grade_of(norm.cdf(strength), 0.5) is grade


def test_one_who_never_plays_in_time_is_not_read_as_failing():
    """Clean, again and again, never lowers what is believed of a card a week on; the cut above it moves away."""
    memory, skills = Memory(), ("pattern:a", "card:a")
    believed, cut = 0.0, memory.player.high[0]
    for day in range(20):
        memory.learn(skills, Grade.CLEAN, float(day))
        assert memory.recall(skills, day + 7.0) >= believed - 0.02
        believed = memory.recall(skills, day + 7.0)
    assert believed > 0.8 and memory.player.high[0] > cut
