"""Lays the notes heard along the notes asked for: the cheapest way through both, by dynamic programming."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.listening.heard_notes import HeardNote

__all__ = ["REACH", "aligned"]

REACH = 14
"""Semitones outside the range asked for beyond which a note is taken for something else that sounded."""

_MISSING = 0.9
_UNPITCHED_THERE, _UNPITCHED_BESIDES = 0.45, 0.12
_FAINT_THERE = 0.2
"""The price of a pitch that was heard only faintly and is the one asked for."""


def _in_place(note: HeardNote, asked: int) -> float:
    """The price of taking a note for the one asked for."""
    if note.midi is None:
        return _FAINT_THERE if note.faint == asked else _UNPITCHED_THERE
    return 0.0 if note.midi == asked else 0.75 + 0.25 * note.sure


def _besides(note: HeardNote) -> float:
    """The price of taking a note for one that was not asked for."""
    return _UNPITCHED_BESIDES if note.midi is None else 0.25 + 0.5 * note.sure


def aligned(
    notes: Sequence[HeardNote], asked: Sequence[int], away: Callable[[int, int], float] | None = None
) -> tuple[tuple[int | None, ...], tuple[int, ...]]:
    """For each note asked for the index of what was played for it, or None; and the indices of what came besides.

    Only the first pass counts: what comes after the last note that was taken is nobody's business. Prices: a right
    note nothing, a wrong one .75 to 1, a missing one .9, one besides .25 to .75, the surer the dearer. away: what it
    costs more to take a note for one asked for, by their indices, where it is known when each was due.
    """
    low, high = min(asked) - REACH, max(asked) + REACH
    inside = [i for i, note in enumerate(notes) if note.midi is None or low <= note.midi <= high]
    rows, columns = len(inside), len(asked)
    # best[i][j]: i notes and j asked are dealt with. The way there: 0 both, 1 besides, 2 missing.
    best = [[0.0] * (columns + 1) for _ in range(rows + 1)]
    way = [[0] * (columns + 1) for _ in range(rows + 1)]
    for i in range(rows + 1):
        for j in range(columns + 1):
            choices: list[tuple[float, int]] = []
            if i and j:
                price = _in_place(notes[inside[i - 1]], asked[j - 1])
                price += away(inside[i - 1], j - 1) if away is not None else 0.0
                choices.append((best[i - 1][j - 1] + price, 0))
            if i:
                choices.append((best[i - 1][j] + _besides(notes[inside[i - 1]]), 1))
            if j:
                choices.append((best[i][j - 1] + _MISSING, 2))
            if choices:
                best[i][j], way[i][j] = min(choices)
    end = min(range(rows + 1), key=lambda i: best[i][columns])
    taken: list[int | None] = [None] * columns
    besides: list[int] = []
    i, j = end, columns
    while i or j:
        step = way[i][j]
        if step == 0:
            taken[j - 1] = inside[i - 1]
            i, j = i - 1, j - 1
        elif step == 1:
            besides.append(inside[i - 1])
            i -= 1
        else:
            j -= 1
    return tuple(taken), tuple(reversed(besides))
