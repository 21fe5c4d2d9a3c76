"""The expected gain of a card is what playing it now would add to the recall of the whole deck."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np

from scheduler.card import CARD_KIND, CardSpec
from scheduler.memory import Memory
from scheduler.memory.growth import grown, shrunk
from scheduler.planning.even_turns import FAST_BELOW_DAYS, held_back, own_gaps_waited, turns_waited

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = ["Floats", "Gains", "WorthsAsked"]

Floats: TypeAlias = "npt.NDArray[np.float64]"

_LEAVE_OUT_BELOW = 0.03
"""Members of less weight than this part of the heaviest are left out of planning."""

_MOST = 8
"""Most members planned with, the heaviest."""

_MAY_BE_TRUE = 0.1
"""A member of at least this part of the heaviest weight has not been ruled out yet."""

_LEAST_VOTE = 1e-3
"""A vote for a card counts at least this part of the highest one for it, so that no member forbids a card alone."""

_SOON = 1
"""The horizon at which the recall of what was met says whether new cards are held back: the second."""

_AT_ONCE = 256
"""Cards worked out at a time, so that the numbers stay in the processor's cache."""


class WorthsAsked(NamedTuple):
    """When, and for which player, the worths of cards are asked.

    at_days: days since 1970-01-01 UTC. paces: what a card's usual seconds are multiplied by when clean, and when
    not. every_days: days from one practice day to the next, in which the horizons are counted. own_discounts: whether
    each member discounts new skills as it would itself, and not as the most careful one not ruled out.
    """

    at_days: float
    paces: tuple[float, float] = (1.0, 1.0)
    every_days: float = 1.0
    own_discounts: bool = False


class Gains:
    """The deck as arrays, kept in step with a memory.

    The utility of a card is weight x log(recall + floor). The worth of playing
    a card, to one member of the committee, is how much utility it adds: summed
    over the horizons, and averaged over the outcomes by their chances. For
    each skill of the card it is the utility added to all cards that need the
    skill, when that skill alone moves. The card itself is also credited with
    what its skills add to it when they move together.

    A skill never met counts only a part of its worth
    (`Constants.new_skill_discount`): in the first days the least part of all
    members not ruled out, later each member's own in its vote. Members vote. Each
    one's worths are divided by its best card's worth per second. The gain of a
    card is the geometric mean of the votes by the members' weights: a card that
    one member would rather not see needs more from the others.
    """

    def __init__(self, cards: Sequence[CardSpec], memory: Memory) -> None:
        self.memory = memory
        self.index: dict[str, int] = {}
        skills = [(*card.skills, f"{CARD_KIND}:{card.id}") for card in cards]
        rows = [[self.index.setdefault(skill, len(self.index)) for skill in each] for each in skills]
        widest = max((len(r) for r in rows), default=1)
        pad = len(self.index)
        table = [r[:-1] + [pad] * (widest - len(r)) + r[-1:] for r in rows]
        self.skill_of = np.array(table, dtype=np.intp).reshape(len(rows), widest)
        self.columns = [np.ascontiguousarray(column) for column in self.skill_of.T]
        self.has_one_skill = np.array([len(r) == 1 for r in rows], dtype=bool)
        self.weight = np.array([card.weight for card in cards])
        self.seconds = np.array([card.seconds for card in cards])
        self.sharing = np.array([e.sharing for e in memory.experts])
        self.first_half = np.array([e.first_half_life_days for e in memory.experts])
        self.discount = np.array([memory.constants.new_skill_discount(e) for e in memory.experts])
        self.utility_floor = np.array([memory.constants.utility_floors[e.power] for e in memory.experts])
        count = pad + 1
        self.last = np.full(count, np.nan)
        self.floor = np.zeros(count)
        self.half = np.tile(self.first_half[:, None], count)
        for skill in self.index:
            self.touch(skill)

    def touch(self, skill: str) -> None:
        """Bring one skill's arrays in step with the memory."""
        i = self.index.get(skill)
        if i is None:
            return
        kept = self.memory.skills.get(skill)
        if kept is None:
            self.last[i] = np.nan
            self.half[:, i] = self.first_half
            self.floor[i] = 0.0
        else:
            self.last[i] = kept.last_days
            self.half[:, i] = kept.half_lives_days
            self.floor[i] = kept.floor

    def copy_for(self, memory: Memory) -> Gains:
        """The same deck beside a copy of the memory."""
        other = copy.copy(self)
        other.memory = memory
        other.last, other.half, other.floor = self.last.copy(), self.half.copy(), self.floor.copy()
        return other

    def per_card(self, now: WorthsAsked) -> tuple[Floats, Floats]:
        """(gain of each card's skills [cards, skills], the committee's recall of each card now).

        The gain per second of the best card is at most 1, and is 1 when all members agree.
        """
        memory, c = self.memory, self.memory.constants
        weights = np.array(memory.weights())
        heavy = np.argsort(-weights, kind="stable")[:_MOST]
        used = np.sort(heavy[weights[heavy] >= _LEAVE_OUT_BELOW * weights.max()])
        careful = used if now.own_discounts else np.flatnonzero(weights >= _MAY_BE_TRUE * weights.max())
        discounts = self.discount[careful]
        discount = discounts[:, None, None] if now.own_discounts else discounts.min()
        weights = weights[used] / weights[used].sum()
        powers_from = int((used < memory.powers_from).sum())
        utility_floor = self.utility_floor[used][:, None, None]

        # All skills not met have the same values, worked out once in the place before the last. The last place is
        # for the filling of cards with few skills, which are never forgotten.
        never = np.isnan(self.last)
        met = np.flatnonzero(~never)
        count = len(met)
        stands = np.full(len(self.last), count)
        stands[met] = np.arange(count)
        stands[-1] = count + 1
        columns = [stands[column] for column in self.columns]
        unmet = memory.unmet_recall()
        past = np.maximum(0.0, now.at_days - self.last[met])
        half = self.half[np.ix_(used, met)]
        floor = self.floor[met]

        # Values of skills [members, horizons, skills]: as they would be, after a clean try now, after a miss.
        horizons = now.every_days * np.array(c.horizons_days)[:, None]
        start = self.first_half[used][:, None]
        ends = np.tile([unmet, 1.0], (len(used), 1))
        recall_now = np.concatenate([floor + (1.0 - floor) * _retention(past / half, powers_from), ends], axis=1)
        half = np.concatenate([half, start, start], axis=1)
        longer = grown(half, recall_now, c.growth, c.growth_exponent)
        shorter = shrunk(half, 1.0 - recall_now, c.shrink)
        shorter[:, count] = start[:, 0]
        bottom = np.concatenate([floor, [unmet, 1.0]])
        later = np.empty((len(used), len(horizons), count + 2))
        later[:, :, :count] = floor + (1.0 - floor) * _retention((past + horizons) / half[:, None, :count], powers_from)
        later[:, :, count] = unmet
        later[:, :, count + 1] = 1.0
        clean = np.maximum(bottom + (1.0 - bottom) * _retention(horizons / longer[:, None], powers_from), later)
        bottom[count] = 0.0
        missed = np.maximum(bottom + (1.0 - bottom) * _retention(horizons / shorter[:, None], powers_from), later)

        sharing = np.where(self.has_one_skill, 0.0, self.sharing[used][:, None])

        def utility(shared: Floats, missing: Floats) -> Floats:
            # The sum of the logs over horizons is one log of a product, which is much quicker.
            logs: Floats = np.log((1.0 - (1.0 - shared) * missing + utility_floor).prod(1))
            return logs

        whole = sharing
        for column in columns[:-1]:
            whole = whole * recall_now[:, column]
        chance = 1.0 - (1.0 - whole) * (1.0 - recall_now[:, columns[-1]])
        width, size = len(columns), len(self.last)
        # What each card gains, summed over horizons [outcomes, members, cards]: all its skills moved, and each alone.
        # Products of the skills before the one that moves are kept: they are the same for each that comes after.
        together = np.empty((2, len(used), len(self.skill_of)))
        alone = np.empty((width, *together.shape))
        for begins in range(0, len(self.skill_of), _AT_ONCE):
            rows = slice(begins, begins + _AT_ONCE)
            near = [column[rows] for column in columns]
            *base, own = [later.take(column, 2) for column in near]
            shared = [sharing[:, None, rows]]
            for part in base:
                shared.append(shared[-1] * part)
            missing = 1.0 - own
            as_is = utility(shared[-1], missing)
            for outcome, after in enumerate((clean, missed)):
                *new, own = [after.take(column, 2) for column in near]
                missing_then = 1.0 - own
                moved = shared[0]
                for k, part in enumerate(new):
                    moved = moved * part
                    whole = shared[k] * part
                    for other in base[k + 1 :]:
                        whole *= other
                    alone[k, outcome, :, rows] = utility(whole, missing) - as_is
                alone[-1, outcome, :, rows] = utility(shared[-1], missing_then) - as_is
                together[outcome, :, rows] = utility(moved, missing_then) - as_is
        together *= self.weight
        alone *= self.weight
        worth = np.empty((len(used), *self.skill_of.shape))
        shares = np.stack([chance, 1.0 - chance])
        for k, column in enumerate(self.columns):
            places = column + size * np.arange(2 * len(used))[:, None]
            total = np.bincount(places.ravel(), alone[k].ravel(), 2 * size * len(used)).reshape(2, len(used), size)
            total[:, :, -1] = 0.0
            worth[:, :, k] = (shares * total[:, :, column]).sum(0)
        worth[:, :, -1] += (shares * (together - alone.sum(0))).sum(0)
        worth *= np.where(never[self.skill_of], discount, 1.0)
        ages = now.at_days - self.last[self.columns[-1]]
        begun = ~never[self.columns[-1]]
        if begun.any():
            fast = powers_from + np.flatnonzero(self.first_half[used[powers_from:]] < FAST_BELOW_DAYS)
            slow = np.setdiff1d(np.arange(powers_from, len(used)), fast)
            worth[slow] *= turns_waited(ages, now.every_days)[:, None]
            worth[fast] *= own_gaps_waited(ages, half[fast][:, columns[-1]], now.every_days)[:, :, None]
            alone_from = powers_from + np.flatnonzero(self.sharing[used[powers_from:]] == 0.0)
            # To a member that shares nothing a card is as well kept as its own skill.
            own_soon = later[alone_from, min(_SOON, len(horizons) - 1)][:, columns[-1][begun]]
            soon = (1.0 - (1.0 - own_soon)).mean(1)
            worth[np.ix_(alone_from, ~begun)] *= held_back(soon)[:, None, None]
        seconds = self.seconds * (shares[0] * now.paces[0] + shares[1] * now.paces[1])
        gains = worth.sum(2) / seconds
        best = gains.max(1, initial=0.0)
        best[best <= 0.0] = 1.0
        worth /= best[:, None, None]
        gains /= best[:, None]
        mean, top = weights @ gains, gains.max(0)
        agreed = np.exp(weights @ np.log(np.maximum(gains, _LEAST_VOTE * np.where(top > 0.0, top, 1.0))))
        scale = np.divide(agreed, mean, out=np.ones_like(mean), where=mean > 0.0)
        return np.tensordot(weights, worth, 1) * scale[:, None], weights @ chance


def _retention(x: Floats, powers_from: int) -> Floats:
    """What is left after x half-lives, 0 to 1; members along the first axis. powers_from: as in `retained`."""
    left = np.empty_like(x)
    left[:powers_from] = np.exp2(-x[:powers_from])
    left[powers_from:] = 1.0 / np.sqrt(1.0 + 3.0 * x[powers_from:])
    return left
