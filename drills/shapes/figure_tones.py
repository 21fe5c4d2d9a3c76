"""The notes of a figure of vocabulary over a chord, in the order played, as intervals above its root.

The figures are those of drills/RULES.md, D6 (common practice).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from drills.errors import NotPlayableError
from drills.shapes.form import Form
from drills.shapes.tones import degree_label, scale_tones
from drills.theory.interval import OCTAVE, Interval
from drills.theory.quality import Quality

__all__ = ["figure_label", "figure_tones", "notes_together"]

_SEMITONE_BELOW = Interval(-1, -1)
_SAME_LETTER = Interval(0, -1)


@dataclass(frozen=True, slots=True)
class _Over:
    """A chord and its mode: the tones of the chord from the root up, and the mode's from its first note."""

    quality: Quality
    chord: tuple[Interval, ...]
    scale: tuple[Interval, ...]

    def above(self, tone: Interval) -> Interval:
        """The mode's note next above a tone, no farther than an augmented second; without a mode, a whole tone."""
        octave, within = divmod(tone.semitones, 12)
        for scale_tone in (*self.scale, OCTAVE, *(one + OCTAVE for one in self.scale[:1])):
            if 0 < scale_tone.semitones - within <= 3:
                return scale_tone + Interval(7 * octave, 12 * octave)
        return tone + Interval(1, 2)

    def below(self, tone: Interval) -> Interval:
        """The semitone below a tone: by the chord's or the mode's name where it has one, else by the letter below."""
        key = tone.semitones - 1
        octave, within = divmod(key, 12)
        for known in (*self.chord, *self.scale):
            if known.semitones == within:
                return known + Interval(7 * octave, 12 * octave)
        named = tone + _SEMITONE_BELOW
        plain = len(named.simple.degree) <= 2
        return named if plain else tone + _SAME_LETTER

    def numbered(self, number: int) -> Interval:
        """The tone of that number, counted from the root, 9 an octave above 2; the chord's own first."""
        octave, place = divmod(number - 1, 7)
        for tone in (*self.chord, *self.scale):
            if tone.steps == place:
                return tone + Interval(7 * octave, 12 * octave)
        raise NotPlayableError(f"{self.quality.name}: its scale has no {number} to play")

    @property
    def guides(self) -> tuple[Interval, Interval]:
        """The two tones that tell the chord: third and seventh, or what stands for them."""
        by_step = {tone.steps: tone for tone in self.chord}
        third = next((by_step[step] for step in (2, 3, 1) if step in by_step), self.chord[1])
        return third, next((by_step[step] for step in (6, 5, 4) if step in by_step), self.chord[-1])


def _enclosures(over: _Over) -> Sequence[Interval]:
    """Each chord tone upward, after the mode's note above it and the semitone below it."""
    return [one for tone in over.chord for one in (over.above(tone), over.below(tone), tone)]


def _approaches(over: _Over) -> Sequence[Interval]:
    """Each chord tone upward to the octave from a semitone below, then downward from the mode's note above."""
    up = [one for tone in (*over.chord, OCTAVE) for one in (over.below(tone), tone)]
    return [*up, *(one for tone in reversed(over.chord) for one in (over.above(tone), tone))]


def _passing(over: _Over) -> Sequence[Interval]:
    """Up the arpeggio, then from the octave down to a seventh a whole tone below it, by the semitone between."""
    *_, fifth, seventh = over.chord
    if seventh.semitones != 10:
        raise NotPlayableError(f"{over.quality.name}: no seventh lies a whole tone under its root, so nothing passes")
    return [*over.chord, OCTAVE, Interval(6, 11), seventh, fifth]


def _cells(over: _Over) -> Sequence[Interval]:
    """1 2 3 5, then 3 4 5 7."""
    return [over.numbered(number) for number in (1, 2, 3, 5, 3, 4, 5, 7)]


def _ninths(over: _Over) -> Sequence[Interval]:
    """3 5 7 9, and back by the root."""
    return [over.numbered(number) for number in (3, 5, 7, 9, 8, 7, 5, 3)]


def _guides(over: _Over) -> Sequence[Interval]:
    """Third and seventh from a semitone below, then seventh and third from the mode's note above."""
    up = [one for tone in over.guides for one in (over.below(tone), tone)]
    return [*up, *(one for tone in reversed(over.guides) for one in (over.above(tone), tone))]


_ROWS: dict[str, Callable[[_Over], Sequence[Interval]]] = {
    "enclosures": _enclosures, "approaches": _approaches, "passing": _passing, "cells": _cells, "ninths": _ninths,
    "guides": _guides,
}  # fmt: skip

_TOGETHER = {"enclosures": 3, "approaches": 2, "guides": 2}


def notes_together(form: Form) -> int:
    """How many notes of a figure make one of its units: 3 of enclosures, 2 of what leads into a tone, else 4."""
    return _TOGETHER.get(form.figure, 4)


def figure_label(tone: Interval) -> str:
    """The label of a note of a figure: what lies above the octave keeps its number, ``9``."""
    return tone.degree if tone.steps > OCTAVE.steps else degree_label(tone)


@lru_cache(maxsize=1024)
def figure_tones(quality: Quality, form: Form) -> tuple[Interval, ...]:
    """The notes of a figure in the order played, above the chord's root; a note below the root is negative.

    Raises NotPlayableError when the chord has not the tones the figure needs, or its mode does not hold the chord.
    """
    scale = scale_tones(quality, Form("scale", closed=False, mode=form.mode), 1) if form.mode else ()
    return tuple(_ROWS[form.figure](_Over(quality, quality.intervals, scale)))
