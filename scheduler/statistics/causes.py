"""Which one group of skills explains a learner's misses, if any: the cause, and not the place where it shows.

Each first try needs some skills, which belong to groups: one kind of thing to know or to do. Where one group is the
trouble, the chance of a clean try falls wherever the group is needed, and the misses there are named accordingly by
a learner who names slips. The two together are weighed for every group: each try scores the logarithm of how much
likelier it is where the group is the trouble than where it is not, with a fall from .75 to .45 (moved to the learner's
own share of clean tries) and a slip named right four times of five.

A group is named only when so high a score inside it is a rare chance. The chance is exact: with no cause at all, every
choice of as many tries out of all the learner's would be as likely as the group's own (the permutation test of
R. A. Fisher 1935, "The Design of Experiments", section 21, with the tries counted by outcome). It is multiplied by the
number of groups that could be named (Bonferroni's inequality). Cards differ by themselves, which makes tries at one
card alike: the distance from the usual is therefore divided by the square root of how much more the cards' counts
vary than chance alone would let them (P. McCullagh and J. A. Nelder 1989, "Generalized Linear Models", section 4.5.2).
Of the groups that pass, the one under which all tries are likeliest is named; one where most of the slips surely say
something else is passed over, however the counts stand.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from scheduler.statistics.counts import Count
from scheduler.statistics.difference import NAMED_SHARES
from scheduler.statistics.draws import Four, chance_of_score
from scheduler.statistics.mark import side_of

__all__ = ["CLASS_ERROR", "CLASS_SIZE", "Cause", "Group", "Tried", "found_cause", "named_mostly"]

CLASS_ERROR = 0.05
"""The chance that anybody of a class without any cause is named falsely on a day."""

CLASS_SIZE = 20
"""So many learners make a class (common practice)."""

_NAMED_RIGHT = 0.8
"""So often a slip that comes of the cause is named as such (common practice: four times of five)."""

_FEWEST = 12
"""So many tries inside a group, and outside it, are the least to speak of it: each card of a round of keys once."""

_MOSTLY = 0.5
"""A slip that makes up more than half of those named is what is mostly named."""


Group = tuple[str, str]
"""A kind of thing to know or to do, and which one of it."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One first try. groups: what was needed. slip: what was named as having failed, or None."""

    card: str
    groups: frozenset[Group]
    clean: bool
    slip: str | None = None


@dataclass(frozen=True, slots=True)
class Cause:
    """What explains the misses. groups: one, or several that were always needed together and cannot be told apart.

    inside, outside: first tries that needed it, and the others. named, slips: of the slips named inside, how many fit
    it, and how many there are. chance: at most how likely so strong a sign is where there is no cause at all.
    """

    groups: tuple[Group, ...]
    inside: Count
    outside: Count
    named: int
    slips: int
    chance: float


def found_cause(
    tries: Sequence[Tried], words: Mapping[Group, Collection[str]], error: float = CLASS_ERROR / CLASS_SIZE
) -> Cause | None:
    """The one cause of a learner's misses, or None where nothing is sure enough to be named.

    words: the groups that may be named, each with the slips that fit it, which may be none. error: the chance to name
    a cause where there is none.
    """
    members = _members(tries, words)
    passed: list[tuple[float, Cause]] = []
    for inside, groups in members.items():
        fitting = frozenset(word for group in groups for word in words[group])
        weighed = _Weighed.of(tries, inside, fitting)
        if weighed.likelier <= 0 or weighed.contradicted(error):
            continue
        chance = min(1.0, weighed.chance() * len(members))
        if chance < error:
            passed.append((weighed.likelier, weighed.cause(groups, chance)))
    return max(passed, key=lambda one: one[0], default=(0.0, None))[1]


def _members(tries: Sequence[Tried], words: Mapping[Group, Collection[str]]) -> dict[frozenset[int], tuple[Group, ...]]:
    """The groups that can be spoken of, by the numbers of the tries that needed them; those always needed together
    are one."""
    needed: dict[Group, set[int]] = {}
    for number, one in enumerate(tries):
        for group in one.groups:
            if group in words:
                needed.setdefault(group, set()).add(number)
    found: dict[frozenset[int], tuple[Group, ...]] = {}
    for group in words:  # in the order given, whatever order the tries came in
        inside = frozenset(needed.get(group, ()))
        if _FEWEST <= len(inside) <= len(tries) - _FEWEST:
            found[inside] = (*found.get(inside, ()), group)
    return found


def named_mostly(slips: Iterable[str], error: float = CLASS_ERROR / CLASS_SIZE) -> tuple[str, Count] | None:
    """The slip that is surely more than half of all that were named, with how many of how many, or None.

    The bound holds however often one looks (`scheduler.statistics.mark`). error: the chance to err.
    """
    named = Counter(slips)
    for slip, times in named.most_common(1):
        count = Count(times, named.total())
        if side_of(count, _MOSTLY, error) > 0:
            return slip, count
    return None


# -- the score of a group ------------------------------------------------------------------------------------------

_CLEAN, _UNNAMED, _FITTING, _OTHER = range(4)
"""The outcomes: clean, missed without a slip, with a fitting one, with another one."""


@dataclass(frozen=True, slots=True)
class _Weighed:
    """One group against a learner's tries. Outcomes inside and in all are counts; scores are natural logarithms."""

    inside: tuple[int, ...]
    whole: tuple[int, int, int, int]
    scores: Four
    likelier: float
    spread: float

    @classmethod
    def of(cls, tries: Sequence[Tried], members: frozenset[int], fitting: frozenset[str]) -> _Weighed:
        """Weighs the tries with these numbers against the others. fitting: the slips that fit the group."""
        whole, inside = [0, 0, 0, 0], [0, 0, 0, 0]
        for number, one in enumerate(tries):
            outcome = _outcome(one, fitting)
            whole[outcome] += 1
            inside[outcome] += number in members
        there, elsewhere = _chances(whole, len(members), bool(fitting))
        clean, unnamed, named, other = (math.log(a / b) for a, b in zip(there, elsewhere, strict=True))
        scores = clean, unnamed, named, other
        usual = [(count + 0.5) / (sum(whole) + 2) for count in whole]
        likelier = sum(count * score for count, score in zip(inside, scores, strict=True))
        likelier += sum(n * math.log(b / u) for n, b, u in zip(whole, elsewhere, usual, strict=True))
        return cls(tuple(inside), (whole[0], whole[1], whole[2], whole[3]), scores, likelier, _spread(tries, members))

    def chance(self) -> float:
        """How likely as many tries drawn from all score as high."""
        drawn, size = sum(self.inside), sum(self.whole)
        mean = drawn * sum(n * s for n, s in zip(self.whole, self.scores, strict=True)) / size
        got = sum(n * s for n, s in zip(self.inside, self.scores, strict=True))
        return chance_of_score(self.whole, self.scores, drawn, mean + (got - mean) / math.sqrt(self.spread))

    def contradicted(self, error: float) -> bool:
        """Whether most of the slips named inside surely are others than those that fit."""
        named = Count(self.inside[_FITTING], self.inside[_FITTING] + self.inside[_OTHER])
        return side_of(named, _MOSTLY, error) < 0

    def cause(self, groups: tuple[Group, ...], chance: float) -> Cause:
        """What is told of the group."""
        inside = Count(self.inside[_CLEAN], sum(self.inside))
        outside = Count(self.whole[_CLEAN] - inside.clean, sum(self.whole) - inside.tries)
        named = self.inside[_FITTING]
        return Cause(groups, inside, outside, named, named + self.inside[_OTHER], chance)


def _outcome(one: Tried, fitting: frozenset[str]) -> int:
    if one.clean:
        return _CLEAN
    if one.slip is None:
        return _UNNAMED
    return _FITTING if one.slip in fitting else _OTHER


def _chances(whole: Sequence[int], members: int, fits: bool) -> tuple[Four, Four]:
    """How likely each outcome is inside a group that is the trouble, and outside it, given all the outcomes."""
    size = sum(whole)
    part = members / size
    share = (whole[_CLEAN] + 1) / (size + 2)
    low, high = NAMED_SHARES
    fall = _logit(high) - _logit(low)
    out, here = _expit(_logit(share) + fall * part), _expit(_logit(share) - fall * (1 - part))
    missed = size - whole[_CLEAN]
    named = whole[_FITTING] + whole[_OTHER]
    naming = (named + 1) / (missed + 2)
    if not fits:
        there = (here, (1 - here) * (1 - naming), (1 - here) * naming / 2, (1 - here) * naming / 2)
        return there, (out, (1 - out) * (1 - naming), (1 - out) * naming / 2, (1 - out) * naming / 2)
    # What is named anyway is what is left once the slips that come of the cause are taken away.
    caused = part * (out - here) / (part * (1 - here) + (1 - part) * (1 - out))
    usual = ((whole[_FITTING] + 1) / (named + 4) - caused * _NAMED_RIGHT) / (1 - caused)
    usual = min(max(usual, 0.05), 0.5)
    excess = out - here
    there = (
        here,
        (1 - here) * (1 - naming),
        naming * (excess * _NAMED_RIGHT + (1 - out) * usual),
        naming * (excess * (1 - _NAMED_RIGHT) + (1 - out) * (1 - usual)),
    )
    return there, (out, (1 - out) * (1 - naming), naming * (1 - out) * usual, naming * (1 - out) * (1 - usual))


def _spread(tries: Sequence[Tried], members: frozenset[int]) -> float:
    """How many times as much the cards' counts vary as chance lets them, 1 or more, inside and outside a group."""
    cards: dict[tuple[bool, str], list[int]] = {}
    sides = {True: [0, 0], False: [0, 0]}
    for number, one in enumerate(tries):
        side = number in members
        for count in (cards.setdefault((side, one.card), [0, 0]), sides[side]):
            count[0] += one.clean
            count[1] += 1
    found = 0.0
    for (side, _), (clean, tried) in cards.items():
        share = (sides[side][0] + 0.5) / (sides[side][1] + 1)
        found += (clean - tried * share) ** 2 / (tried * share * (1 - share))
    return max(1.0, found / max(1, len(cards) - 2))


def _logit(share: float) -> float:
    return math.log(share / (1 - share))


def _expit(number: float) -> float:
    return 1 / (1 + math.exp(-number))
