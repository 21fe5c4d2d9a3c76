"""The policies that the planner is compared with: plain ones, and one that sees the true memory."""

from __future__ import annotations

import numpy as np

from scheduler.evaluate.figures import Floats
from scheduler.evaluate.simulated_deck import SimulatedDeck
from scheduler.evaluate.simulated_players import SimulatedPlayer

__all__ = ["RIVALS", "Boxes", "Clairvoyant", "LowestRecall", "OneMemory", "Rival", "Rotation", "Shuffle"]

_BETWEEN = 3


class Rival:
    """A policy: `next(at)` gives a card's number, `record` tells how it went.

    closed: numbers of cards that may not be asked now, e.g. for a limit on new material.
    """

    def __init__(self, deck: SimulatedDeck, seed: int) -> None:
        self.count = deck.count
        self.closed: frozenset[int] = frozenset()
        self.rng = np.random.default_rng(seed)
        self.recent: list[int] = []

    def next(self, at: float) -> int:
        """The number of the card to ask at a moment, in days."""
        raise NotImplementedError

    def record(self, card: int, clean: bool, at: float) -> None:
        """How a card went."""
        self.recent = [*self.recent, card][-_BETWEEN:]
        self.learn(card, clean, at)

    def shut(self) -> list[int]:
        """Cards that are not asked now: the last few, and what is closed. A deck of less than that opens all."""
        both = self.closed.union(self.recent)
        return sorted(both if len(both) < self.count else self.closed)

    def learn(self, card: int, clean: bool, at: float) -> None:
        """Take in the outcome."""


class Rotation(Rival):
    """Every card in turn, in one shuffled order; what is closed waits at the front until it opens."""

    def __init__(self, deck: SimulatedDeck, seed: int) -> None:
        super().__init__(deck, seed)
        self.order = [int(card) for card in self.rng.permutation(self.count)]

    def next(self, at: float) -> int:
        return next(card for card in self.order if card not in self.closed)

    def learn(self, card: int, clean: bool, at: float) -> None:
        self.order.remove(card)
        self.order.append(card)


class Shuffle(Rival):
    """Any card but the last few."""

    def next(self, at: float) -> int:
        self.draw = getattr(self, "draw", None)
        if self.draw is None:
            free = [c for c in range(self.count) if c not in self.recent and c not in self.closed]
            self.draw = int(self.rng.choice(free))
        return self.draw

    def learn(self, card: int, clean: bool, at: float) -> None:
        self.draw = None


class Boxes(Rival):
    """Gaps doubling from half a day with each success, back to the first after a miss.

    A card whose gap is over is asked, most overdue first; else a new card,
    in order; else the one nearest its time.
    """

    def __init__(self, deck: SimulatedDeck, seed: int) -> None:
        super().__init__(deck, seed)
        self.box = np.zeros(self.count)
        self.last = np.full(self.count, np.nan)

    def next(self, at: float) -> int:
        gap = 0.5 * 2.0**self.box
        over = (at - self.last) / gap
        over[self.shut()] = np.nan
        if np.nanmax(np.append(over, -1.0)) >= 1.0:
            return int(np.nanargmax(over))
        new = [card for card in np.flatnonzero(np.isnan(self.last)) if card not in self.closed]
        if new:
            return int(new[0])
        return int(np.nanargmax(over)) if not np.isnan(over).all() else self.recent[0]

    def learn(self, card: int, clean: bool, at: float) -> None:
        self.box[card] = self.box[card] + 1 if clean else 0
        self.last[card] = at


class OneMemory(Rival):
    """One memory a card, asked below a recall of .85: lowest first, else a new card."""

    ASK_BELOW = 0.85

    def __init__(self, deck: SimulatedDeck, seed: int) -> None:
        super().__init__(deck, seed)
        self.half = np.full(self.count, 1.0)
        self.last = np.full(self.count, np.nan)

    def recalls(self, at: float) -> Floats:
        recalls: Floats = np.exp2(-(at - self.last) / self.half)
        return recalls

    def next(self, at: float) -> int:
        r = self.recalls(at)
        r[self.shut()] = np.nan
        low = np.nanmin(np.append(r, 2.0))
        if low < self.ASK_BELOW:
            return int(np.nanargmin(r))
        new = [card for card in np.flatnonzero(np.isnan(self.last)) if card not in self.closed]
        if new:
            return int(new[0])
        return int(np.nanargmin(r)) if not np.isnan(r).all() else self.recent[0]

    def learn(self, card: int, clean: bool, at: float) -> None:
        if not np.isnan(self.last[card]):
            r = self.recalls(at)[card]
            if clean:
                self.half[card] *= 1.0 + 1.6 * (1.0 - r) ** 0.8
            else:
                self.half[card] = max(0.3, 0.5 * self.half[card])
        self.last[card] = at


class LowestRecall(OneMemory):
    """The card least likely to be recalled, new cards (recall 0) included."""

    def next(self, at: float) -> int:
        r = np.nan_to_num(self.recalls(at), nan=0.0)
        r[self.shut()] = 9.0
        return int(np.argmin(r))


class Clairvoyant(Rival):
    """Sees the true memory and takes the best gain in log recall per second, over several horizons."""

    HORIZONS = (0.5, 1.5, 4.0, 12.0)
    FLOOR = 0.02

    def __init__(self, deck: SimulatedDeck, seed: int, player: SimulatedPlayer) -> None:
        super().__init__(deck, seed)
        self.player = player
        skill_of = deck.skill_of
        users: dict[int, list[int]] = {}
        for card, row in enumerate(skill_of):
            for skill in row:
                users.setdefault(int(skill), []).append(card)
        near = [sorted({c for s in row for c in users[int(s)]}) for row in skill_of]
        width = max(map(len, near))
        self.near = np.array([n + [n[0]] * (width - len(n)) for n in near])
        real = np.array([[1.0] * len(n) + [0.0] * (width - len(n)) for n in near])
        self.real = real
        theirs = skill_of[self.near]
        self.same = (theirs[:, :, :, None] == skill_of[:, None, None, :]).any(-1)

    def next(self, at: float) -> int:
        player = self.player
        p = player.recalls(at)
        gain = np.zeros(self.count)
        for horizon in self.HORIZONS:
            base, good, bad = player.ahead(at, horizon)
            skills = player.skill_of[self.near]
            before = np.log(player.chance(base[player.skill_of]) + self.FLOOR)[self.near]
            for chance, values in ((p, good), (1.0 - p, bad)):
                mixed = np.where(self.same, values[skills], base[skills])
                after = np.log(player.chance(mixed) + self.FLOOR)
                gain += chance * ((after - before) * self.real).sum(1)
        gain /= p * player.clean_seconds + (1.0 - p) * player.miss_seconds
        gain[self.shut()] = -np.inf
        return int(np.argmax(gain))


RIVALS: dict[str, type[Rival]] = {
    "rotation": Rotation,
    "random": Shuffle,
    "boxes": Boxes,
    "one memory a card": OneMemory,
    "lowest recall": LowestRecall,
}
"""The rivals that see only grades."""
