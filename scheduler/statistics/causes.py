"""Which one group of skills explains a learner's misses, if any: the cause, and not the place where it shows.

Each first try needs some skills, which belong to groups: one kind of thing to know or to do. Where one group is the
trouble, the chance of a clean try falls wherever the group is needed, and the misses there are named accordingly by
a learner who names slips. `cause_sign` weighs the two together for every group. A group is named only when so strong a
sign of any of them is a rare chance; it is the one under which all tries are likeliest, but one where most of the slips
surely say something else is passed over, however the counts stand.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from scheduler.statistics.cause_sign import CLEAN, FIRST_SLIP, UNNAMED, sign_of
from scheduler.statistics.counts import Count
from scheduler.statistics.mark import side_of

__all__ = ["CLASS_ERROR", "CLASS_SIZE", "Cause", "Group", "Tried", "found_cause", "named_mostly"]

CLASS_ERROR = 0.05
"""The chance that anybody of a class without any cause is named falsely on a day."""

CLASS_SIZE = 20
"""So many learners make a class (common practice)."""

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
    it, and how many there are. chance: at most how likely so strong a sign of any group is where there is no cause.
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
    if not members:
        return None
    fitting = [{word for group in groups for word in words[group]} for groups in members.values()]
    records, cards, slips = _records(tries, set().union(*fitting))
    sign = sign_of(
        records,
        [[not inside.isdisjoint(numbers) for numbers in cards] for inside in members],
        [[FIRST_SLIP + slips.index(word) for word in sorted(some)] for some in fitting],
        error,
    )
    if sign.chance > error:
        return None
    weighed = zip(sign.scores, members.items(), fitting, strict=True)
    for score, (inside, groups), fits in sorted(weighed, key=lambda one: -one[0]):
        told = _told([tries[number] for number in inside], tries, groups, fits, sign.chance)
        if score > 0 and side_of(Count(told.named, told.slips), _MOSTLY, error) >= 0:
            return told
    return None


def _records(tries: Sequence[Tried], slips: Collection[str]) -> tuple[list[list[int]], list[frozenset[int]], list[str]]:
    """A record for each card, the numbers of its tries, and the slips in the order of the records' columns.

    slips: those that have a column even where nobody named them.
    """
    names = sorted({*slips, *(one.slip for one in tries if one.slip is not None and not one.clean)})
    of_card: dict[tuple[str, tuple[Group, ...]], list[int]] = {}
    for number, one in enumerate(tries):
        # A card that came to need something else is another card from then on.
        of_card.setdefault((one.card, tuple(sorted(one.groups))), []).append(number)
    records = []
    for _, numbers in sorted(of_card.items()):
        record = [0] * (FIRST_SLIP + len(names))
        for one in (tries[number] for number in numbers):
            record[CLEAN if one.clean else UNNAMED if one.slip is None else FIRST_SLIP + names.index(one.slip)] += 1
        records.append(record)
    return records, [frozenset(numbers) for _, numbers in sorted(of_card.items())], names


def _told(
    inside: Sequence[Tried], tries: Sequence[Tried], groups: tuple[Group, ...], fits: Collection[str], chance: float
) -> Cause:
    """What is told of a group."""
    here = Count(sum(one.clean for one in inside), len(inside))
    slips = [one.slip for one in inside if one.slip is not None and not one.clean]
    elsewhere = Count(sum(one.clean for one in tries) - here.clean, len(tries) - here.tries)
    return Cause(groups, here, elsewhere, sum(slip in fits for slip in slips), len(slips), chance)


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
