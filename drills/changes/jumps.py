"""Follows the jumps of a lead sheet: da capo and dal segno, to the coda, to the fine.

As common practice has it: the jump is made when its bar is played for the last time; after it repeats are not taken
again, of endings the last is played, and only then do the marks to the coda and the fine count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

__all__ = ["JUMPS", "Jumps", "followed", "runs"]

JUMPS = ("dacapo", "dalsegno", "tocoda", "fine")
"""What may be marked where a line of music is left."""


@dataclass
class Jumps:
    """The marks of a page, by index of the bar.

    segno, coda: bars that begin with the sign. left: (index of the bar, which of `JUMPS`, whether it stands at the
    bar's beginning, so that the bar itself is no longer played), in written order.
    """

    segno: int | None = None
    coda: int | None = None
    left: list[tuple[int, str, bool]] = field(default_factory=list)

    def marked(self, *kinds: str) -> list[tuple[int, str, bool]]:
        """The marks of these kinds."""
        return [mark for mark in self.left if mark[1] in kinds]


def _once(order: Sequence[int]) -> list[int]:
    """Each bar once, as on the last time through: repeats not taken, of endings the last."""
    last = {index: place for place, index in enumerate(order)}
    kept: list[int] = []
    latest = -1
    for index in sorted(last):
        if last[index] > latest:
            kept.append(index)
            latest = last[index]
    return kept


def followed(jumps: Jumps, order: Sequence[int]) -> list[int] | str:
    """The bars as played with the jump, or why it is not followed.

    order: indices of the bars as played with repeats and without jumps.
    """
    backs = jumps.marked("dacapo", "dalsegno")
    if not backs:
        names = {"tocoda": "a mark to the coda", "fine": "a fine"}
        return f"{names[jumps.left[0][1]]} without a jump back is passed over"
    if len({(index, kind) for index, kind, _ in backs}) > 1:
        return "more than one jump back; none is followed, and the bars are read in written order"
    index, kind, _ = backs[0]
    if kind == "dalsegno" and jumps.segno is None:
        return "a jump to the sign, and no sign; the bars are read in written order"
    to_coda = jumps.marked("tocoda")
    if to_coda and jumps.coda is None:
        return "a mark to the coda, and no coda; the bars are read in written order"
    target = 0 if kind == "dacapo" else jumps.segno or 0
    until = max(place for place, bar in enumerate(order) if bar == index) + 1
    played = list(order[:until])
    way = [bar for bar in _once(order) if bar >= target]
    for bar in way:
        here = [mark for mark in jumps.marked("tocoda", "fine") if mark[0] == bar]
        if not any(at_start for _, _, at_start in here):
            played.append(bar)
        if any(mark[1] == "fine" for mark in here):
            return played
        if here and jumps.coda is not None:
            return [*played, *(later for later in _once(order) if later >= jumps.coda)]
    return played


def runs(order: Sequence[int]) -> list[tuple[int, int]]:
    """The stretches that are played on without a jump, as (first, last) index of a bar."""
    found: list[list[int]] = [[order[0], order[0]]]
    for before, after in pairwise(order):
        if after == before + 1:
            found[-1][1] = after
        else:
            found.append([after, after])
    return [(first, last) for first, last in found]
