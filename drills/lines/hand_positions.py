"""Every way to hold one note in one position of the hand, as arrays for the search of lines.

A hand stands over five neighbouring frets, one finger a fret, with the fifth fret reached
by the first finger (backwards) or the fourth (upwards): the outward stretches of the
drills/RULES.md, C2, 3. Two notes at one fret may take two neighbouring fingers instead
of a roll, so each place can be held by the next finger too.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from drills.neck.neck import Neck
from drills.shapes.hand import FOURTH_FINGER, OUT_OF_REACH, pair_cost, shift_cost

if TYPE_CHECKING:
    from typing import Any

    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.integer[Any]]
    """An array of whole numbers."""
    Flags = NDArray[np.bool_]
    """An array of yes and no."""

__all__ = ["NEVER", "Hands", "hands_of"]

NEVER = 2_000_000
"""Cost of what cannot be: above any sum of costs, low enough for three of them and an index to share 32 bits."""

_UP, _BACK, _OPEN = (1, 2, 3, 4, 4), (1, 1, 2, 3, 4), (0, 1, 2, 3, 4)


@dataclass(frozen=True, eq=False)
class Hands:
    """Holds of all hand positions; arrays have a row for each hand and a column for each hold.

    string, fret, finger, midi: of the hold. valid: whether the hold exists there.
    pair[h, i, j]: cost of hold j after hold i without moving, NEVER when it cannot be.
    moved[h, k]: frets from hand h to hand k. shift[h, k, f]: cost of moving there and then
        playing with finger f.
    """

    string: Numbers
    fret: Numbers
    finger: Numbers
    midi: Numbers
    valid: Flags
    pair: Numbers
    moved: Numbers
    shift: Numbers


@cache
def _template(fingers: tuple[int, ...], strings: tuple[int, ...]) -> tuple[tuple[int, int, int], ...]:
    """(string, fret above the lowest, finger) of every hold of a kind of hand."""
    holds = []
    for string in strings:
        for offset, finger in enumerate(fingers):
            holds.append((string, offset, finger))
            if 0 < finger < 4 and fingers[offset + 1 : offset + 2] != (finger,):
                holds.append((string, offset, finger + 1))
    return tuple(holds)


@lru_cache(maxsize=32)
def hands_of(neck: Neck, frets: tuple[int, int], on: tuple[int, ...] | None = None) -> Hands:
    """The hands that fit within a fret window, both ends included; the arrays are shared and not to be changed.

    on: the strings that may be played, lowest-sounding first, all when None. Raises TuningError for one that is not.
    """
    import numpy as np

    low, high = frets
    strings = on or tuple(range(neck.tuning.strings, 0, -1))
    kinds: list[tuple[int, tuple[int, ...], int]] = []  # lowest fret, fingers, fret of the first finger
    for lowest in range(max(1, low), high - 2):
        kinds.append((lowest, _UP, lowest))
        if lowest + 4 <= high:
            kinds.append((lowest, _BACK, lowest + 1))
    if low == 0:
        kinds.append((0, _OPEN, 1))
    templates = {kind: _template(kind, strings) for kind in {kind for _, kind, _ in kinds}}
    most = max(map(len, templates.values()))
    shape = (len(kinds), most)
    string, fret, finger, midi = (np.zeros(shape, np.int32) for _ in range(4))
    valid = np.zeros(shape, bool)
    opens = {number: neck.sounding.midi(number, 0) for number in strings}
    for row, (lowest, kind, _) in enumerate(kinds):
        for column, (number, offset, held) in enumerate(templates[kind]):
            string[row, column], fret[row, column], finger[row, column] = number, lowest + offset, held
            midi[row, column] = opens[number] + lowest + offset
            valid[row, column] = low <= lowest + offset <= high and 0 <= midi[row, column] <= 127
    pair = np.full((*shape, most), NEVER, np.int32)
    tables = {kind: _pairs(holds) for kind, holds in templates.items()}
    for row, (_, kind, _) in enumerate(kinds):
        size = len(templates[kind])
        pair[row, :size, :size] = tables[kind]
    reach = np.array([[neck.reach_mm(a, b) for b in range(high + 6)] for a in range(high + 6)])
    apart = reach[fret[:, :, None], fret[:, None, :]] > neck.reach_limit_mm
    apart &= (fret[:, :, None] > 0) & (fret[:, None, :] > 0)
    pair[apart | ~valid[:, :, None] | ~valid[:, None, :]] = NEVER
    first = np.array([position for _, _, position in kinds])
    moved = first[None, :] - first[:, None]
    shift = np.zeros((len(kinds), len(kinds), 5), np.int32)
    for there in np.unique(moved):
        for held in range(1, 5):
            # The same position with the stretch on the other side is hardly a move.
            shift[moved == there, held] = shift_cost(held, int(there), False) if there else 1
    return Hands(string, fret, finger, midi, valid, pair, moved, shift)


@lru_cache(maxsize=32)
def _pairs(holds: tuple[tuple[int, int, int], ...]) -> list[list[int]]:
    """Cost of each hold after each other in one hand."""
    rows = []
    for string, offset, finger in holds:
        row = []
        for other, there, second in holds:
            cost = FOURTH_FINGER * (second == 4)
            if finger and second:
                cost += pair_cost(finger, second, there - offset, string - other)
            cost += 2 * max(0, abs(string - other) - 1)  # skipping strings is harder for the picking hand
            row.append(cost if cost < OUT_OF_REACH else NEVER)
        rows.append(row)
    return rows
