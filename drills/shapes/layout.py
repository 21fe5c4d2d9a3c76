"""Layouts: which string each note of a rising line falls on; the frets follow from the pitches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

__all__ = ["Layout", "layouts"]


@dataclass(frozen=True, slots=True)
class Layout:
    """One way to lay a rising line on strings.

    strings: for each note the index into the string set, 0 the lowest, never falling.
    offsets: for each note its fret minus the fret of the first note.
    """

    strings: tuple[int, ...]
    offsets: tuple[int, ...]

    @property
    def span(self) -> int:
        """Frets between the lowest and the highest note."""
        return max(self.offsets) - min(self.offsets)

    @property
    def counts(self) -> tuple[int, ...]:
        """Notes on each string, e.g. 1-2-2."""
        return tuple(self.strings.count(index) for index in range(self.strings[-1] + 1))


def layouts(
    semitones: Sequence[int],
    gaps: Sequence[int],
    widest: int,
    fixed: dict[int, int] | None = None,
    per_string: int = 0,
) -> list[Layout]:
    """Every layout of a rising line that uses each string of a set, narrowest first.

    semitones: the notes above the first. gaps: semitones from each string to the next.
    widest: largest span in frets to keep. fixed: string index for some note indices
    (a scale laid over an arpeggio keeps the arpeggio's places). per_string: exact
    number of notes on each string, the line having as many as that makes.

    Equal spans are ordered by notes per string, fewest on the lowest string first.
    """
    count, strings = len(semitones), len(gaps) + 1
    opens = [sum(gaps[:index]) for index in range(strings)]
    found = []
    cut = [tuple(range(per_string, count, per_string))] if per_string else combinations(range(1, count), strings - 1)
    for cuts in cut:
        bounds = (0, *cuts, count)
        on = tuple(index for index in range(strings) for _ in range(bounds[index], bounds[index + 1]))
        if fixed and any(on[note] != string for note, string in fixed.items()):
            continue
        offsets = tuple(note - opens[index] for note, index in zip(semitones, on, strict=True))
        if max(offsets) - min(offsets) <= widest:
            found.append(Layout(on, offsets))
    return sorted(found, key=lambda layout: (layout.span, layout.counts))
