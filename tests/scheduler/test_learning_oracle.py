"""The learning rule told again, slowly: plain loops over skills and members, and nothing but `math`."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.grade import Grade
from scheduler.memory.committee import Memory
from scheduler.memory.constants import Constants

KINDS = ("throw", "catch", "card")
SHARED = ("throw:high", "throw:low", "catch:left", "catch:right")
SURE = 1e-3


@dataclass
class Skill:
    """What the oracle keeps of one skill."""

    last: float
    halves: list[float]
    tries: int
    clean: int
    first: float
    floor: float
    difficulty: float
    variance: float


@dataclass
class Oracle:
    """The memory of one player, kept by the rule as it is described and not as it is programmed."""

    c: Constants
    skills: dict[str, Skill] = field(default_factory=dict)

    def __post_init__(self):
        c = self.c
        self.members = [
            (first, power, sharing)
            for power in (False, True)
            if power in c.curves
            for first in c.first_half_lives_days
            for sharing in c.sharings
        ]
        self.evidence = [0.0] * len(self.members)
        self.general, self.slope = (0.0, c.player_variance), (1.0, c.slope_variance)
        self.low, self.high = (-c.cut, c.cut_variance), (c.cut, c.cut_variance)
        self.known, self.meetings = c.unmet_recall * c.unmet_count, c.unmet_count

    def half_life(self, name, member):
        """The half-life a member gives a skill; that of a first practice when it was never met."""
        return self.skills[name].halves[member] if name in self.skills else self.members[member][0]

    def skill_recall(self, name, member, at):
        """What a member thinks is left of a skill."""
        if name not in self.skills:
            return self.known / self.meetings
        skill = self.skills[name]
        x = max(0.0, at - skill.last) / skill.halves[member]
        left = (1.0 + 3.0 * x) ** -0.5 if self.members[member][1] else 2.0**-x
        return skill.floor + (1.0 - skill.floor) * left

    def card_recall(self, names, member, at):
        """A card comes clean when all its shared skills carry it, or its own skill does."""
        own = self.skill_recall(names[-1], member, at)
        if len(names) == 1:
            return own
        carried = self.members[member][2]
        for name in names[:-1]:
            carried *= self.skill_recall(name, member, at)
        return 1.0 - (1.0 - carried) * (1.0 - own)

    def committee_recall(self, names, at):
        """The mean over the members, by what each foresaw."""
        weights = [math.exp(score) for score in self.evidence]
        chances = [self.card_recall(names, member, at) for member in range(len(self.members))]
        return sum(w * p for w, p in zip(weights, chances, strict=True)) / sum(weights)

    def recall(self, names, at):
        """The chance that is told: the committee's mean moved by the player's correction."""
        odds = _quantile(min(1.0 - SURE, max(SURE, self.committee_recall(names, at))))
        strength, variance = self._strength(names, odds)
        return _below(strength / math.sqrt(variance))

    def learn(self, names, grade, at, blamed):
        """One first attempt at a card."""
        c, clean = self.c, grade in (Grade.CLEAN, Grade.IN_TIME)
        members = range(len(self.members))
        chances = [self.card_recall(names, member, at) for member in members]
        mean = self.committee_recall(names, at)
        halves = {name: [self._half_life_after(names, name, m, grade, at, blamed) for m in members] for name in names}
        difficulties = self._correct(names, mean, clean, grade)
        unmet = self.known / self.meetings
        if names[-1] not in self.skills:
            self.known += min(1.0, unmet / mean) if clean else 0.0
            self.meetings += 1.0
        if c.learning_weights:
            for member, chance in enumerate(chances):
                foreseen = min(1.0 - SURE, max(SURE, chance if clean else 1.0 - chance))
                self.evidence[member] = c.weight_memory * self.evidence[member] + math.log(foreseen)
            best = max(self.evidence)
            self.evidence = [score - best for score in self.evidence]
        for name in names:
            if name in self.skills:
                skill = self.skills[name]
                skill.last, skill.halves = max(at, skill.last), halves[name]
                skill.tries, skill.clean = skill.tries + 1, skill.clean + clean
                skill.difficulty, skill.variance = difficulties[name]
            else:
                floor = unmet if clean else 0.0
                self.skills[name] = Skill(at, halves[name], 1, int(clean), at, floor, *difficulties[name])

    def _half_life_after(self, names, name, member, grade, at, blamed):
        """Growth after a clean try, loss after another; a first meeting that fails leaves the first half-life."""
        c = self.c
        half, recall = self.half_life(name, member), self.skill_recall(name, member, at)
        if grade is Grade.CLEAN:
            return half * (1.0 + c.growth * (1.0 - recall) ** c.growth_exponent)
        if grade is Grade.IN_TIME:
            return half * (1.0 + c.growth * c.in_time_growth * (1.0 - recall) ** c.growth_exponent)
        first = self.members[member][0]
        if name not in self.skills:
            return first
        failed, card_failed = 1.0 - recall, 1.0 - self.card_recall(names, member, at)
        blame = min(1.0, failed / max(card_failed, 1e-6))
        if grade is Grade.FOUND:
            blame *= c.found_blame
        if blamed is not None and name.partition(":")[0] != blamed:
            blame *= c.slip_elsewhere
        least = c.shrink_floor * first
        return max(half * (1.0 - c.shrink * blame), min(half, least))

    def _strength(self, names, odds):
        """Strength of a try and its variance, 1 for the try itself, from the odds of the committee."""
        variance, strength = 1.0 + self.general[1] + self.slope[1] * odds**2, self.general[0]
        for name in names:
            skill = self.skills.get(name)
            strength -= skill.difficulty if skill else 0.0
            variance += skill.variance if skill else self.c.difficulty_variance
        return strength + max(0.5, self.slope[0]) * odds * math.sqrt(variance), variance

    def _correct(self, names, mean, clean, grade):
        """The probit correction and the outer cuts, by moments of a normal cut in two; (mean, variance) by skill."""
        c = self.c
        odds = _quantile(min(1.0 - SURE, max(SURE, mean)))
        strength, variance = self._strength(names, odds)
        if clean:
            self.high = _moved_cut(self.high, strength, variance, grade is Grade.IN_TIME)
        else:
            self.low = _moved_cut(self.low, strength, variance, grade is Grade.FOUND)
        push, narrowing = _truncated(strength / math.sqrt(variance), clean)
        push, narrowing = push / math.sqrt(variance), narrowing / variance
        found = {}
        for name in names:
            skill = self.skills.get(name)
            m, v = (skill.difficulty, skill.variance) if skill else (0.0, c.difficulty_variance)
            found[name] = m - v * push, v - v * v * narrowing
        m, v = self.general
        self.general = m + v * push, v - v * v * narrowing + c.player_drift * c.player_variance
        m, v = self.slope
        self.slope = m + v * odds * push, v - (v * odds) ** 2 * narrowing + c.slope_drift * c.slope_variance
        return found

    def see(self, names, at):
        """A lesson: what was never met begins its first half-life."""
        for name in names:
            if name not in self.skills:
                firsts = [first for first, _, _ in self.members]
                self.skills[name] = Skill(at, firsts, 0, 0, at, 0.0, 0.0, self.c.difficulty_variance)


def _below(z):
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _quantile(chance):
    """The inverse of `_below` by halving, which needs no table."""
    low, high = -10.0, 10.0
    for _ in range(200):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _below(middle) < chance else (low, middle)
    return (low + high) / 2.0


def _truncated(t, above):
    """How the mean of a standard normal shifted by t moves, and its variance falls, when it is found above 0, or below.

    Johnson, Kotz and Balakrishnan (1994), section 13.10.
    """
    chance = _below(t) if above else _below(-t)
    if chance < 1e-9:
        return -t, 1.0
    push = (1.0 if above else -1.0) * math.exp(-t * t / 2.0) / math.sqrt(2.0 * math.pi) / chance
    return push, min(1.0, push * (push + t))


def _moved_cut(cut, strength, variance, above):
    """A cut's (mean, variance) after a try was graded above it, or below."""
    mean, spread = cut
    whole = variance + spread
    push, narrowing = _truncated((strength - mean) / math.sqrt(whole), above)
    return mean - spread * push / math.sqrt(whole), spread - spread**2 * narrowing / whole


def near(value):
    return pytest.approx(value, rel=1e-9, abs=1e-11)


def assert_agrees(memory, oracle):
    """Every number the memory keeps is the oracle's."""
    assert memory.skills.keys() == oracle.skills.keys()
    for name, skill in oracle.skills.items():
        kept = memory.skills[name]
        assert list(kept.half_lives_days) == near(skill.halves), name
        assert (kept.last_days, kept.first_days) == (skill.last, skill.first)
        assert (kept.tries, kept.clean) == (skill.tries, skill.clean)
        assert kept.floor == near(skill.floor)
        assert (kept.difficulty, kept.difficulty_variance) == (near(skill.difficulty), near(skill.variance))
    player = memory.player
    assert list(player.log_weights) == near(oracle.evidence)
    for ours, theirs in (("general", "general"), ("slope", "slope"), ("low", "low"), ("high", "high")):
        assert getattr(player, ours) == near(getattr(oracle, theirs)), ours
    assert (player.known, player.meetings) == (near(oracle.known), near(oracle.meetings))


constants = st.builds(
    Constants,
    first_half_lives_days=st.sampled_from([(0.35,), (1.2, 9.0), (0.35, 1.2, 9.0)]),
    curves=st.sampled_from([(False,), (True,), (False, True), (True, False)]),
    sharings=st.sampled_from([(0.0,), (0.45,), (0.0, 0.45, 0.9)]),
    growth=st.floats(0.2, 3.0),
    growth_exponent=st.floats(0.3, 1.5),
    shrink=st.floats(0.1, 0.9),
    shrink_floor=st.floats(0.1, 0.9),
    found_blame=st.floats(0.1, 0.9),
    in_time_growth=st.floats(1.1, 2.0),
    slip_elsewhere=st.floats(0.1, 0.9),
    weight_memory=st.floats(0.8, 1.0),
    learning_weights=st.sampled_from([True, True, True, False]),
    unmet_recall=st.floats(0.05, 0.6),
    difficulty_variance=st.sampled_from([0.0, 0.02, 0.3]),
)

cards = st.tuples(
    st.lists(st.sampled_from(SHARED), max_size=3, unique=True), st.sampled_from(("card:a", "card:b"))
).map(lambda card: (*card[0], card[1]))

histories = st.lists(
    st.tuples(
        cards,
        st.sampled_from([*Grade, *Grade, None]),  # None is a lesson
        st.floats(-0.5, 20.0),  # days since the last one; a clock may be set back
        st.sampled_from([None, None, *KINDS]),
    ),
    min_size=1,
    max_size=14,
)


BEGAN = 20_000.0
"""The day, counted from 1970, on which every history begins."""


def followed(history, memory, oracle):
    """Takes both through a history, and says each moment once both have learned of it, in days; `BEGAN` first."""
    at = BEGAN
    yield at
    for names, grade, passed, blamed in history:
        at += passed
        if grade is None:
            memory.see(names, at)
            oracle.see(names, at)
        else:
            memory.learn(names, grade, at, blamed)
            oracle.learn(names, grade, at, blamed)
        yield at


@settings(max_examples=150)
@given(constants=st.one_of(st.just(Constants()), constants), history=histories)
def test_the_memory_learns_by_the_rule_as_it_is_told(constants, history):
    """Any history of grades, slips and lessons leaves the oracle's numbers in the memory, to nine digits."""
    memory, oracle = Memory(constants), Oracle(constants)
    for _ in followed(history, memory, oracle):
        assert_agrees(memory, oracle)


def test_two_thousand_reviews_leave_the_two_tellings_together():
    """A log of 2,000 reviews of eight cards: every chance told on the way and every number at the end, to 1e-9."""
    random = Random(7)
    memory, oracle, at = Memory(), Oracle(Constants()), 20_000.0
    deck = [(throw, catch, f"card:{throw}/{catch}") for throw in SHARED[:2] for catch in SHARED[2:]]
    deck += [(shared, f"card:{shared}") for shared in SHARED]
    for number in range(2000):
        at += random.choice((0.0002, 0.0004, 0.0008, 1.0, 3.0, 0.9))
        names = random.choice(deck)
        grade = random.choice(list(Grade))
        told, again = memory.recall(names, at), oracle.recall(names, at)
        assert abs(told - again) < 1e-9, (number, told, again)
        blamed = random.choice((None, None, *KINDS))
        memory.learn(names, grade, at, blamed)
        oracle.learn(names, grade, at, blamed)
    assert_agrees(memory, oracle)


def taught(history, **changes):
    """A memory and an oracle after a history of (skills, grade, days since the last, blamed)."""
    constants = Constants(**changes)
    memory, oracle, at = Memory(constants), Oracle(constants), 20_000.0
    for names, grade, passed, blamed in history:
        at += passed
        memory.learn(names, grade, at, blamed)
        oracle.learn(names, grade, at, blamed)
    return memory, oracle


CARD = ("throw:high", "catch:left", "card:a")
MET = [(CARD, Grade.CLEAN, 0.0, None), (("throw:high", "card:b"), Grade.CLEAN, 1.0, None)]


@pytest.mark.parametrize("grade", list(Grade))
@pytest.mark.parametrize("blamed", [None, *KINDS])
def test_every_grade_with_every_slip(grade, blamed):
    """Each grade with each kind to blame, once at a card never met and once at one that was met days ago."""
    for before in ([], MET):
        assert_agrees(*taught([*before, (CARD, grade, 2.5, blamed)]))


def test_blame_falls_on_the_kind_the_slip_names():
    """After the same miss the skill that the slip names keeps less of its half-life than when another is named."""
    halves = {}
    for blamed in ("throw", "catch"):
        memory, _ = taught([*MET, (CARD, Grade.LOOKED, 2.5, blamed)])
        halves[blamed] = memory.skills["throw:high"].half_lives_days
    assert all(named < spared for named, spared in zip(halves["throw"], halves["catch"], strict=True))


def test_misses_without_end_stop_at_the_floor():
    """After thirty misses every half-life stands exactly at its part of the first one, and no lower."""
    memory, oracle = taught([(CARD, Grade.LOOKED, 3.0, None)] * 30, shrink=0.9)
    assert_agrees(memory, oracle)
    constants = memory.constants
    least = [constants.shrink_floor * expert.first_half_life_days for expert in memory.experts]
    assert list(memory.skills["card:a"].half_lives_days) == pytest.approx(least)


# ---- asking


def recall_told(oracle, names, at):
    """The committee's mean as a strength, moved by what was learned of the player and of each skill, as a chance."""
    odds = _quantile(min(1.0 - SURE, max(SURE, oracle.committee_recall(names, at))))
    variance, strength = 1.0 + oracle.general[1] + oracle.slope[1] * odds**2, oracle.general[0]
    for name in names:
        skill = oracle.skills.get(name)
        strength -= skill.difficulty if skill else 0.0
        variance += skill.variance if skill else oracle.c.difficulty_variance
    strength += max(0.5, oracle.slope[0]) * odds * math.sqrt(variance)
    return _below(strength / math.sqrt(variance))


def grade_told(oracle, chance, lot):
    """Clean below the chance; the outer steps where the strength passes the player's cuts, a fifth from the middle."""
    bound = [min(1.0 - SURE, max(SURE, each)) for each in (chance, lot)]
    strength = _quantile(bound[0]) - _quantile(bound[1])
    if lot < chance:
        return Grade.IN_TIME if strength > max(0.2, oracle.high[0]) else Grade.CLEAN
    return Grade.LOOKED if strength < min(-0.2, oracle.low[0]) else Grade.FOUND


@settings(max_examples=60)
@given(constants=st.one_of(st.just(Constants()), constants), history=histories, later=st.floats(-3.0, 400.0))
def test_the_memory_answers_by_the_rule_as_it_is_told(constants, history, later):
    """Each member's chance, the mean, the corrected chance and the members moved with it, of cards met and unmet."""
    memory, oracle = Memory(constants), Oracle(constants)
    *_, at = followed(history, memory, oracle)
    when, members = at + later, range(len(oracle.members))
    weights = [math.exp(score) for score in oracle.evidence]
    assert memory.weights() == near([weight / sum(weights) for weight in weights])
    assert memory.unmet_recall() == near(oracle.known / oracle.meetings)
    for name in ("throw:high", "catch:left", "card:a", "card:c"):
        each = [oracle.skill_recall(name, member, when) for member in members]
        assert memory.skill_recalls(name, when) == near(each)
        mean = sum(w * r for w, r in zip(weights, each, strict=True)) / sum(weights)
        assert memory.skill_recall(name, when) == near(mean) and memory.skill_recall(name, when) <= 1.0
    for names in (CARD, ("card:b",), ("throw:low", "card:c"), ("card:c",)):
        each = [oracle.card_recall(names, member, when) for member in members]
        assert memory.believed(names, when)[1] == near(each)
        chance = recall_told(oracle, names, when)
        assert memory.recall(names, when) == pytest.approx(chance, rel=1e-7, abs=1e-9)
        moved = chance - oracle.committee_recall(names, when)
        wanted = [min(1.0, max(0.0, member + moved)) for member in each]
        assert memory.corrected(names, when)[1] == pytest.approx(wanted, rel=1e-7, abs=1e-9)


EDGES = (0.0, 0.0004, 0.001, 0.0011, 0.2, 0.42, 0.5, 0.58, 0.8, 0.9989, 0.999, 0.9996, 1.0)


@pytest.mark.parametrize("count", [0, 3, 12])
@pytest.mark.parametrize("grade", list(Grade))
def test_grades_are_drawn_by_the_rule_as_it_is_told(grade, count):
    """For chances and lots to their ends, whatever cuts the player has come to."""
    memory, oracle = taught([(CARD, grade, 2.0, None)] * count)
    for chance in EDGES:
        for lot in (number / 97 for number in range(98)):
            assert memory.grade_of(chance, lot) is grade_told(oracle, chance, lot), (chance, lot)
        for lot in EDGES:
            if abs(chance - lot) > 1e-3:
                assert memory.grade_of(chance, lot) is grade_told(oracle, chance, lot), (chance, lot)


@pytest.mark.parametrize("cut", [0.05, 0.19, 0.21, 0.24, 0.26, 0.6])
def test_the_outer_cuts_stay_a_fifth_from_the_middle(cut):
    """However near they have come; farther off they are the player's own."""
    memory = Memory()
    memory.player = memory.player._replace(low=(-cut, 0.1), high=(cut, 0.1))
    for number in range(1, 200):
        lot = number / 200
        strength = -_quantile(lot)
        if lot < 0.5:
            assert memory.grade_of(0.5, lot) is (Grade.IN_TIME if strength > max(0.2, cut) else Grade.CLEAN)
        elif lot > 0.5:
            assert memory.grade_of(0.5, lot) is (Grade.LOOKED if strength < -max(0.2, cut) else Grade.FOUND)


@pytest.mark.parametrize("mean", [(-4.0, 0.1), (0.3, 0.1), (0.49, 0.2), (0.55, 0.2), (0.61, 0.2), (0.7, 0.2)])
def test_the_slope_counts_as_half_at_least(mean):
    """So that recall always falls with time."""
    memory, oracle = taught(MET)
    memory.player = memory.player._replace(slope=mean)
    oracle.slope = mean
    for days in (0.0, 1.0, 30.0, 4_000.0):
        assert memory.recall(CARD, 20_000.0 + days) == pytest.approx(
            recall_told(oracle, CARD, 20_000.0 + days), rel=1e-7
        )


def test_members_have_names_in_the_order_of_their_weights():
    """Curve, first half-life and sharing; exponential ones first."""
    memory = Memory(Constants(first_half_lives_days=(0.35, 9.0), curves=(True, False), sharings=(0.0, 0.45)))
    names = [
        f"{curve} {first} d, sharing {sharing}"
        for curve in ("exponential", "power")
        for first in ("0.35", "9")
        for sharing in ("0", "0.45")
    ]
    assert list(memory.members) == names and memory.powers_from == 4
    assert memory.weights() == [1.0 / 8] * 8


def test_a_lesson_begins_what_was_never_met_and_nothing_else():
    """No try, no clean one, no floor; a copy goes its own way."""
    memory, _ = taught(MET)
    before, player = dict(memory.skills), memory.player
    memory.see(("throw:high", "catch:right", "card:z"), 20_009.0)
    assert set(memory.skills) - set(before) == {"catch:right", "card:z"}
    assert {name: memory.skills[name] for name in before} == before
    new = memory.skills["card:z"]
    assert (new.last_days, new.first_days, new.tries, new.clean, new.floor, new.difficulty) == (
        20_009.0, 20_009.0, 0, 0, 0.0, 0.0,
    )  # fmt: skip
    assert new.difficulty_variance == memory.constants.difficulty_variance
    other = memory.copy()
    other.learn(("card:z",), Grade.CLEAN, 20_010.0)
    assert memory.skills["card:z"] is new and memory.player is player
    back = Memory()
    back.restore({"player": other.export()["player"], "skills": other.export()["skills"]})
    assert back.skills == other.skills and back.player == other.player
