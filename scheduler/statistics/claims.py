"""When one group of cards is said to go better or worse than others, or than before: each claim by a written rule.

Every claim is judged by first tries of the running period of four weeks and the one before
(`scheduler.statistics.recent_tries`), and a player who looks every day of a period, and whose chance of a clean try is
the same everywhere and never changes, meets any false one with a probability of about ERROR at most.

to watch      The share of a group surely lies below that of the rest of its family, taken together.
weakest       To watch, and surely below each other group of its family as well.
stronger      The share of a group in this period surely lies above its share in the period before.
going well    The chance behind a group's count surely lies above MARK.
not yet       It surely lies below MARK.
firm          Going well, and the memory expects it to last (`scheduler.memory.states`).
disagree      The memory calls a group firm and the count says not yet, or the count says going well and the memory
              does not call it firm. The two are told side by side; neither is chosen.

Sample size and interval: two shares are compared when there are tries enough to name a difference of .75 against .45
four times of five (`scheduler.statistics.difference.information_needed`), which is forty tries a side where two
groups are all there is, and again whenever that has doubled. Between two such looks a verdict stands, and is
withheld while today's counts no longer show it at 95 %. Each look spends a part of the error, nearly all at the
first: K. K. G. Lan and D. L. DeMets (1983), "Discrete sequential boundaries for clinical trials", Biometrika 70,
659-663, with the looks added up by Bonferroni's inequality. By the same inequality the error is shared among
all groups that can be named, and among the kinds of comparison; what all looks of a period have spent together never
passes the whole. A chance is
set against MARK by a bound that holds at every look (`scheduler.statistics.mark`) and needs no looks apart.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from math import ceil
from statistics import NormalDist
from typing import TypeVar

from scheduler.statistics.counts import Count
from scheduler.statistics.difference import information, information_needed, lowest_difference
from scheduler.statistics.mark import side_of

__all__ = ["ERROR", "MARK", "Claim", "ClaimWord", "Families", "Judgement", "Missing", "judge", "not_there_yet"]

ERROR = 0.05
"""The chance that a player who is the same everywhere and never changes meets a false claim in a period."""

MARK = 0.75
"""Three tries of four clean, what going well and not yet are judged against (common practice)."""

_COMPARED, _CHANGED, _MARKED = 0.0275, 0.0125, 0.01
"""How ERROR is shared among comparisons with others, with the time before, and with MARK."""

_PAIR_COMPARED, _PAIR_CHANGED, _PAIR_MARKED = 0.045, 0.003, 0.002
"""The same where two groups are all that can be compared: of 40 tries a side no larger a share would keep ERROR. The
next outcome that it would let pass makes a false claim of 5.5 in 100 players whose chance is .45 (summed exactly)."""

_FIRST_SHARE = 0.96
_Z_NOW = 1.6448536269514722  # the 95 % quantile of the normal distribution

_Key = TypeVar("_Key")

Days = Mapping[int, Count]
"""First tries by practice day."""

Families = Mapping[str, Mapping[Hashable, Days]]
"""Groups of cards that may be compared with one another, by the name of their family."""


class ClaimWord(Enum):
    """What is claimed of a group."""

    WEAKEST = "weakest"
    TO_WATCH = "to watch"
    STRONGER = "stronger"
    FIRM = "firm"
    GOING_WELL = "going well"
    NOT_YET = "not yet"
    DISAGREE = "disagree"


@dataclass(frozen=True, slots=True)
class Claim:
    """One claim. count: the group's own. other: the rest of its family, or the period before, or None.

    memory: the memory's word for the group, or ``""``.
    """

    word: ClaimWord
    family: str
    group: Hashable
    count: Count
    other: Count | None = None
    memory: str = ""


@dataclass(frozen=True, slots=True)
class Missing:
    """The group that is soonest to be compared with the rest of its family, and how many more tries it needs."""

    family: str
    group: Hashable
    tries: int


@dataclass(frozen=True, slots=True)
class Judgement:
    """All that may be claimed, the most useful first, and what is missing to say more, or None."""

    claims: tuple[Claim, ...] = ()
    missing: Missing | None = None


def judge(families: Families, period: int, memory: Mapping[tuple[str, Hashable], str] | None = None) -> Judgement:
    """What may be claimed of first tries in the days that count.

    period: first day of the running period. memory: the memory's word for groups, by family and group, where it was
    asked: unmet, forming, firm or fading.
    """
    marked = list(_marked(families, memory or {}))
    # What surely lies above the mark is not to be watched, however well the rest goes.
    well = {(one.family, one.group) for one in marked if one.word in (ClaimWord.GOING_WELL, ClaimWord.FIRM)}
    compared = [one for one in _compared(families, period) if (one.family, one.group) not in well]
    claims = [*compared, *_changed(families, period), *marked]
    rank = {word: number for number, word in enumerate(ClaimWord)}
    claims.sort(key=lambda claim: rank[claim.word])
    return Judgement(tuple(claims), _missing(families))


# -- a group against the rest of its family, and against itself before ---------------------------------------------


@dataclass(slots=True)
class _Standing:
    """How a group of a family stands: the looks so far, and what the last one showed."""

    looks: _Looks
    named: bool = False
    worst: bool = False


def _compared(families: Families, period: int) -> Iterator[Claim]:
    families = {family: groups for family, groups in families.items() if len(groups) > 1}
    met = _met_on(families)
    # What lies before the running period is looked at once, on its first day.
    looked_on = sorted({period, *(day for groups in families.values() for own in groups.values() for day in own)})
    looked_on = looked_on[looked_on.index(period) :]
    grown = {
        family: {group: _grown(own, looked_on) for group, own in groups.items()} for family, groups in families.items()
    }
    total = {
        family: [_sum(counts) for counts in zip(*groups.values(), strict=True)] for family, groups in grown.items()
    }
    standing = {(family, group): _Standing(_Looks()) for family, groups in grown.items() for group in groups}
    left = _PAIR_COMPARED  # what all looks of the period may spend, however the number of groups grew
    for number, day in enumerate(looked_on):
        count = sum(on <= day for on in met)
        for (family, group), one in standing.items():
            here = grown[family][group][number]
            rest = _less(total[family][number], here)
            spent = min(left, one.looks.spent(information(here.tries, rest.tries), *_of_family(count)))
            if spent <= 0:
                continue
            left -= spent
            z = _z(spent)
            one.named = lowest_difference(rest, here, z) > 0
            others = (counts[number] for name, counts in grown[family].items() if name != group)
            # To lie below each of them needs no correction for their number: all have to be passed.
            one.worst = one.named and all(lowest_difference(other, here, z) > 0 for other in others if other.tries)
    for (family, group), one in standing.items():
        here = grown[family][group][-1]
        rest = _less(total[family][-1], here)
        if one.named and lowest_difference(rest, here, _Z_NOW) > 0:
            yield Claim(ClaimWord.WEAKEST if one.worst else ClaimWord.TO_WATCH, family, group, here, rest)


def _changed(families: Families, period: int) -> Iterator[Claim]:
    before = {
        (family, group): count
        for family, groups in families.items()
        for group, own in groups.items()
        if (count := _sum(count for day, count in own.items() if day < period)).tries
    }
    error = _PAIR_CHANGED if len(_met_on(families)) == 2 else _CHANGED
    for (family, group), earlier in before.items():
        own = {day: count for day, count in families[family][group].items() if day >= period}
        looks, named = _Looks(), False
        grown = _grown(own, sorted(own))
        for count in grown:
            if spent := looks.spent(information(count.tries, earlier.tries), error, len(before)):
                named = lowest_difference(count, earlier, _z(spent)) > 0
        if named and lowest_difference(grown[-1], earlier, _Z_NOW) > 0:
            yield Claim(ClaimWord.STRONGER, family, group, grown[-1], earlier)


def _marked(families: Families, memory: Mapping[tuple[str, Hashable], str]) -> Iterator[Claim]:
    groups = {
        (family, group): _sum(own.values()) for family, groups in families.items() for group, own in groups.items()
    }
    error = _PAIR_MARKED if len(_met_on(families)) == 2 else _MARKED
    for (family, group), count in groups.items():
        side, word = side_of(count, MARK, error / len(groups)), memory.get((family, group), "")
        if side > 0:
            kept = word in ("", "firm")
            found = ClaimWord.DISAGREE if not kept else ClaimWord.FIRM if word else ClaimWord.GOING_WELL
        elif side < 0:
            found = ClaimWord.DISAGREE if word == "firm" else ClaimWord.NOT_YET
        else:
            continue
        yield Claim(found, family, group, count, memory=word)


def not_there_yet(counts: Mapping[_Key, Count]) -> list[_Key]:
    """Those of some counts by which `not yet` may be claimed, the lowest share first; counts are of all time."""
    found = [key for key, count in counts.items() if side_of(count, MARK, _MARKED / len(counts)) < 0]
    return sorted(found, key=lambda key: counts[key].clean / counts[key].tries)


class _Looks:
    """When two counts are compared, and how sure the comparison has to be."""

    def __init__(self) -> None:
        self._made = 0
        self._first = 0

    def spent(self, told: float, error: float, groups: int) -> float:
        """The error that a look at the information `told` may spend, 0 where it is too early for the next look.

        error: shared by so many `groups`.
        """
        if not told:
            return 0.0
        if not self._made:
            self._first = information_needed(_z(error * _FIRST_SHARE / groups))
        made = self._made
        while told >= self._first * 2**self._made:
            self._made += 1
        return sum(_share(number) for number in range(made, self._made)) * error / groups


def _z(error: float) -> float:
    """The normal quantile of a bound that errs with that probability."""
    return NormalDist().inv_cdf(1 - error)


def _share(look: int) -> float:
    """The part of the error that a look spends, from 0; all of them add up to 1."""
    return _FIRST_SHARE if look == 0 else (1 - _FIRST_SHARE) / 2**look


def _of_family(groups: int) -> tuple[float, int]:
    """The error for so many groups that can be named, and their number."""
    return (_PAIR_COMPARED if groups <= 2 else _COMPARED), groups


def _missing(families: Families) -> Missing | None:
    """Of the groups never compared yet the one that is nearest to it."""
    met = len(_met_on(families))
    needed = information_needed(_z(_of_family(met)[0] * _FIRST_SHARE / met)) if met else 0
    found: list[Missing] = []
    for family, groups in families.items():
        total = _sum(count for own in groups.values() for count in own.values())
        for group, own in groups.items() if len(groups) > 1 else ():
            mine = _sum(own.values())
            rest = total.tries - mine.tries
            # Where the rest is too small as well, both sides have to grow, and to be equal is the least.
            wanted = needed * rest / (rest - needed) if rest > 2 * needed else 2 * needed
            if mine.tries < wanted:
                found.append(Missing(family, group, ceil(wanted - mine.tries)))
    return min(found, key=lambda one: one.tries, default=None)


def _met_on(families: Families) -> list[int]:
    """The first day of each group that has others to be compared with."""
    return [min(own) for groups in families.values() if len(groups) > 1 for own in groups.values()]


def _grown(own: Days, looked_on: Iterable[int]) -> list[Count]:
    """A count as it stood at the end of each of the days, which are in order."""
    days, grown, at = sorted(own), Count(), 0
    found = []
    for day in looked_on:
        while at < len(days) and days[at] <= day:
            grown, at = grown + own[days[at]], at + 1
        found.append(grown)
    return found


def _sum(counts: Iterable[Count]) -> Count:
    return sum(counts, Count())


def _less(whole: Count, part: Count) -> Count:
    return Count(whole.clean - part.clean, whole.tries - part.tries)
