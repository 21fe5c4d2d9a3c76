"""Gains of a whole committee against plain loops: who is planned with, how members vote, what a new skill counts."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from scheduler import CardSpec, Constants, Grade
from scheduler.memory import Memory
from scheduler.planning.gain import Gains, WorthsAsked

CARDS = [
    CardSpec("ab", ("p:a", "t:b"), weight=2.0, seconds=9.0),
    CardSpec("ac", ("p:a", "t:c")),
    CardSpec("d", ("p:d",), seconds=30.0),
    CardSpec("own"),
    CardSpec("abe", ("p:a", "t:b", "q:e"), weight=0.5),
    CardSpec("f", ("p:f",)),
]
SMALL = Constants(first_half_lives_days=(0.5, 4.0), curves=(False, True), sharings=(0.0, 0.45))


def practised(constants: Constants, seed: int, tries: int) -> Memory:
    """A memory of some tries at some of the cards."""
    memory, rng = Memory(constants), random.Random(seed)
    for number in range(tries):
        card = rng.choice(CARDS[:5])
        memory.learn((*card.skills, f"card:{card.id}"), rng.choice(list(Grade)), number * 0.4)
    return memory


def told(memory: Memory, now: WorthsAsked, cards: list[CardSpec] = CARDS) -> tuple[list[list[float]], list[float]]:
    """For each card what each of its skills is worth, its own last, and its recall; one sum at a time."""
    c, weights = memory.constants, memory.weights()
    top = max(weights)
    order = sorted(range(len(weights)), key=lambda member: (-weights[member], member))[:8]
    used = [member for member in sorted(order) if weights[member] >= 0.03 * top]
    total = sum(weights[member] for member in used)
    first = [expert.first_half_life_days for expert in memory.experts]
    unmet = memory.unmet_recall()

    def discount(member: int) -> float:
        expert = memory.experts[member]
        if expert.power and expert.sharing > 0.0:
            return 1.0
        return min(1.0, math.sqrt(expert.first_half_life_days / c.new_skill_discount_days))

    careful = min(discount(member) for member in range(len(weights)) if weights[member] >= 0.1 * top)

    def left(member: int, halves: float) -> float:
        return (1.0 + 3.0 * halves) ** -0.5 if memory.experts[member].power else 2.0**-halves

    def names(card: CardSpec) -> list[str]:
        return [*card.skills, f"card:{card.id}"]

    def value(member: int, skill: str, days: float, outcome: bool | None) -> float:
        kept = memory.skills.get(skill)
        recall = memory.skill_recalls(skill, now.at_days)[member]
        later = memory.skill_recalls(skill, now.at_days + days)[member]
        if outcome is None:
            return later
        half, floor = (kept.half_lives_days[member], kept.floor) if kept else (first[member], unmet)
        if outcome:
            half *= 1.0 + c.growth * (1.0 - recall) ** c.growth_exponent
        elif kept:
            half *= 1.0 - c.shrink * (1.0 - recall)
        else:
            floor = 0.0
        return max(later, floor + (1.0 - floor) * left(member, days / half))

    def card_recall(member: int, values: list[float]) -> float:
        if len(values) == 1:
            return values[0]
        return 1.0 - (1.0 - memory.experts[member].sharing * math.prod(values[:-1])) * (1.0 - values[-1])

    def gained(member: int, card: CardSpec, moved: set[str], outcome: bool) -> float:
        found = 0.0
        floor = c.utility_floors[memory.experts[member].power]
        for horizon in c.horizons_days:
            days = horizon * now.every_days
            after = [value(member, skill, days, outcome if skill in moved else None) for skill in names(card)]
            as_is = [value(member, skill, days, None) for skill in names(card)]
            found += math.log(card_recall(member, after) + floor) - math.log(card_recall(member, as_is) + floor)
        return card.weight * found

    ages = [now.at_days - memory.skills[own].last_days if (own := names(card)[-1]) in memory.skills else None
            for card in cards]  # fmt: skip
    met = [card for card, age in zip(cards, ages, strict=True) if age is not None]

    def turns(member: int, own: str, age: float | None) -> float:
        """A card long unplayed comes sooner, one just played later; a new one waits while the met ones are weak."""
        power, sharing = memory.experts[member].power, memory.experts[member].sharing
        if not met:
            return 1.0
        if age is None:
            if not power or sharing:
                return 1.0
            days = c.horizons_days[min(1, len(c.horizons_days) - 1)] * now.every_days
            soon = [card_recall(member, [value(member, s, days, None) for s in names(card)]) for card in met]
            return min(1.0, sum(soon) / len(soon) / 0.35) ** 3
        gap = max(1.0, len(met) / 25.0) * now.every_days
        if first[member] < 1.0:
            gap = max(0.5 * now.every_days, memory.skills[own].half_lives_days[member])
        waited = age / gap
        return min(3.0, max(0.05, waited)) if power else 1.0

    worths = [[0.0] * len(names(card)) for card in cards]
    recalls = [0.0] * len(cards)
    votes: list[list[tuple[float, float]]] = [[] for _ in cards]
    for member in used:
        own, best = [], 0.0
        seconds_of = []
        for card, age in zip(cards, ages, strict=True):
            chance = card_recall(member, [memory.skill_recalls(skill, now.at_days)[member] for skill in names(card)])
            parts = []
            for skill in names(card):
                part = 0.0
                for outcome, share in ((True, chance), (False, 1.0 - chance)):
                    for other in cards:
                        if skill in names(other):
                            part += share * gained(member, other, {skill}, outcome)
                    if skill == names(card)[-1]:
                        part += share * gained(member, card, set(names(card)), outcome)
                        part -= share * sum(gained(member, card, {each}, outcome) for each in names(card))
                if skill not in memory.skills:
                    part *= discount(member) if now.own_discounts else careful
                parts.append(part * turns(member, names(card)[-1], age))
            seconds = card.seconds * (chance * now.paces[0] + (1.0 - chance) * now.paces[1])
            own.append((parts, chance))
            seconds_of.append(seconds)
            best = max(best, sum(parts) / seconds)
        for number, (parts, chance) in enumerate(own):
            recalls[number] += weights[member] / total * chance
            vote = sum(parts) / seconds_of[number] / (best if best > 0.0 else 1.0)
            votes[number].append((weights[member] / total, vote))
            for place, part in enumerate(parts):
                worths[number][place] += weights[member] / total * part / (best if best > 0.0 else 1.0)
    for parts, of_card in zip(worths, votes, strict=True):
        mean, top = sum(weight * vote for weight, vote in of_card), max(vote for _, vote in of_card)
        agreed = math.prod(max(vote, 1e-3 * (top if top > 0.0 else 1.0)) ** weight for weight, vote in of_card)
        parts[:] = [part * (agreed / mean if mean > 0.0 else 1.0) for part in parts]
    return worths, recalls


ASKED = {
    "as it stands": WorthsAsked(9.0),
    "with paces": WorthsAsked(9.0, (1.3, 2.2)),
    "every third day": WorthsAsked(9.0, (1.0, 1.5), 3.0),
    "by own discounts": WorthsAsked(9.0, (1.2, 1.9), 1.0, True),
    "before the last try": WorthsAsked(1.0, (1.1, 1.9)),
    "after two weeks away": WorthsAsked(18.0, (1.1, 1.9)),
}


CASES = [
    *[(SMALL, seed, tries, asked) for seed, tries in ((1, 0), (2, 3), (3, 12)) for asked in ASKED],
    (replace(SMALL, horizons_days=(2.0,)), 3, 12, "with paces"),
    (replace(SMALL, horizons_days=(1.0, 4.0, 9.0)), 3, 12, "with paces"),
    (Constants(), 3, 12, "with paces"), (Constants(), 2, 3, "by own discounts"),
]  # fmt: skip


@pytest.mark.parametrize(("constants", "seed", "tries", "asked"), CASES)
def test_a_committees_gains_are_the_plain_sums(constants, seed, tries, asked):
    """Every card and every skill of it, met or not, for few members and for many."""
    memory = practised(constants, seed, tries)
    worth, recall = Gains(CARDS, memory).per_card(ASKED[asked])
    wanted, recalls = told(memory, ASKED[asked])
    assert recall.tolist() == pytest.approx(recalls, rel=1e-9)
    for row, parts in zip(worth.tolist(), wanted, strict=True):
        # Cards with fewer skills are filled before their own, with nothing.
        filled = [*parts[:-1], *[0.0] * (len(row) - len(parts)), parts[-1]]
        assert row == pytest.approx(filled, rel=1e-8, abs=1e-12)


def log_weights(memory: Memory, parts: list[float]) -> Memory:
    """The memory with members of those parts of the heaviest weight."""
    memory.player = replace_weights(memory, tuple(math.log(part) for part in parts))
    return memory


def replace_weights(memory: Memory, logs: tuple[float, ...]):
    """The player's state with other weights."""
    return memory.player._replace(log_weights=logs)


@pytest.mark.parametrize("part", [0.029, 0.031, 0.0375, 0.099, 0.101, 0.12])
@pytest.mark.parametrize("own", [True, False])
def test_members_of_little_weight_are_left_out_and_rule_nothing(part, own):
    """Below three hundredths of the heaviest a member is not asked; below a tenth it makes nobody careful."""
    memory = log_weights(practised(SMALL, 5, 8), [part, 1.0, part, 0.6, *[part] * (len(SMALL.experts) - 4)])
    now = WorthsAsked(6.0, (1.2, 1.8), 1.0, own)
    worth, recall = Gains(CARDS, memory).per_card(now)
    wanted, recalls = told(memory, now)
    assert recall.tolist() == pytest.approx(recalls, rel=1e-9)
    assert worth.sum(1).tolist() == pytest.approx([sum(parts) for parts in wanted], rel=1e-8)


def test_eight_members_are_planned_with_at_most():
    """The heaviest; of equals those that come first."""
    constants = Constants()
    assert len(constants.experts) > 9
    for parts in ([1.0] * len(constants.experts), [1.0 - 0.01 * n for n in range(len(constants.experts))]):
        memory = log_weights(practised(constants, 7, 6), parts)
        _, recall = Gains(CARDS, memory).per_card(WorthsAsked(5.0))
        assert recall.tolist() == pytest.approx(told(memory, WorthsAsked(5.0))[1], rel=1e-9)


def test_a_deck_of_no_cards_and_one_of_cards_without_skills():
    """Nothing is worth nothing, and a card without shared skills is its own skill alone."""
    worth, recall = Gains([], practised(SMALL, 3, 4)).per_card(WorthsAsked(5.0))
    assert worth.shape == (0, 1) and recall.shape == (0,)
    bare = [CardSpec("x"), CardSpec("y", weight=3.0)]
    memory = Memory(SMALL)
    memory.learn(("card:x",), Grade.CLEAN, 1.0)
    worth, recall = Gains(bare, memory).per_card(WorthsAsked(4.0))
    wanted, recalls = told(memory, WorthsAsked(4.0), bare)
    assert worth.shape == (2, 1) and recall.tolist() == pytest.approx(recalls)
    assert worth.tolist() == [pytest.approx(parts) for parts in wanted]


def test_what_is_asked_is_the_plain_case_unless_said_otherwise():
    """Usual paces, every day, and the most careful member's discount."""
    assert WorthsAsked(9.0) == WorthsAsked(9.0, (1.0, 1.0), 1.0, False)


@pytest.mark.parametrize("others", [0, 3, 40, 300])
def test_gains_go_on_in_step_with_the_memory(others):
    """Touched skill by skill, after a try, after it is taken back, and beside a copy: as made anew."""
    cards = [*CARDS, *[CardSpec(f"o{number}", (f"p:{number % 5}",)) for number in range(others)]]
    memory = practised(SMALL, 9, 6)
    gains = Gains(cards, memory)
    before = memory.copy()
    memory.learn(("p:f", "card:f"), Grade.CLEAN, 4.0)
    for skill in ("p:f", "card:f"):
        gains.touch(skill)
    gains.touch("no skill of this deck")
    now = WorthsAsked(5.0)

    def same(one: Gains, other: Gains) -> bool:
        return all(a.tolist() == b.tolist() for a, b in zip(one.per_card(now), other.per_card(now), strict=True))

    assert same(gains, Gains(cards, memory))
    other = memory.copy()
    beside = gains.copy_for(other)
    other.learn(("p:a", "t:b", "card:ab"), Grade.LOOKED, 4.5)
    for skill in ("p:a", "t:b", "card:ab"):
        beside.touch(skill)
    assert same(beside, Gains(cards, other)) and same(gains, Gains(cards, memory)) and not same(beside, gains)
    memory.skills, memory.player = before.skills, before.player
    for skill in ("p:f", "card:f"):
        gains.touch(skill)
    assert same(gains, Gains(cards, memory))


def test_constants_change_what_is_told_too():
    """The loops follow the discount and the floors, so that they are no second copy of the defaults."""
    other = replace(SMALL, new_skill_discount_days=3.0, utility_floors=(0.1, 0.2), horizons_days=(1.0, 7.0))
    memory = practised(other, 3, 10)
    worth, _ = Gains(CARDS, memory).per_card(WorthsAsked(7.0))
    assert worth.sum(1).tolist() == pytest.approx([sum(parts) for parts in told(memory, WorthsAsked(7.0))[0]], rel=1e-8)
