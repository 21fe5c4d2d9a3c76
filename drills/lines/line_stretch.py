"""The widest stretch of the fretting hand in a line, said as it is said beside a shape."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from drills.diagrams.answer import COMFORTABLE_MM, stretch_advice
from drills.lines.line import Line, LineNote
from drills.neck.neck import Neck

__all__ = ["stretch_words", "with_stretch"]

_REACHED = 2
"""So many frets beyond its own a finger is reached out; farther on the hand has moved (drills/RULES.md, D4, 8)."""


def stretch_words(line: Line, neck: Neck) -> str:
    """Where the hand stretches farthest in a line, without a full stop; ``""`` where it never leaves what is easy.

    Two notes make a stretch when they are struck together, or one straight after the other under one hand.
    """
    pairs = [(neck.reach_mm(one.fret, other.fret), one, other) for one, other in _under_one_hand(line)]
    wide = [pair for pair in pairs if pair[0] > COMFORTABLE_MM]
    if not wide:
        return ""
    reach, one, other = max(wide, key=lambda pair: pair[0])
    low, high = sorted((one.fret, other.fret))
    return stretch_advice(reach, f" in bar {other.bar}, frets {low} to {high}")


def with_stretch(line: Line, neck: Neck) -> Line:
    """The line with its widest stretch among its remarks, where it has one."""
    words = stretch_words(line, neck)
    return replace(line, remarks=(*line.remarks, words)) if words else line


def _under_one_hand(line: Line) -> Iterator[tuple[LineNote, LineNote]]:
    groups = line.struck()
    for group in groups:
        fretted = sorted((note for note in group if note.fret), key=lambda note: note.fret)
        if len(fretted) > 1:
            yield fretted[0], fretted[-1]
    for before, after in pairwise(groups):
        one, other = before[-1], after[0]
        if len(before) == len(after) == 1 and one.fret and other.fret and other.start <= one.end:
            low, high = sorted((one, other), key=lambda note: note.fret)
            fingers = high.finger - low.finger
            if fingers > 0 and high.fret - low.fret - fingers <= _REACHED:
                yield one, other
