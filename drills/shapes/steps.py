"""Lays the notes of a form on a string set, counted in frets from the first note, once for all roots."""

from __future__ import annotations

from collections.abc import Hashable
from itertools import product
from typing import Any

from drills.errors import NotPlayableError, TuningError
from drills.neck.strings import StringSet
from drills.neck.tuning import Tuning
from drills.shapes.figure_tones import figure_tones
from drills.shapes.fingering import line_fingerings
from drills.shapes.form import ARPEGGIO, Form
from drills.shapes.hand import OUT_OF_REACH
from drills.shapes.layout import Layout, layouts
from drills.shapes.tones import rising_tones, voicing_tones
from drills.theory.quality import Quality

__all__ = ["WIDEST", "Places", "Steps"]

WIDEST = {1: 5, 2: 9}
"""Widest layout considered, in frets, by octaves: what a hand covers, with a shift in two octaves."""

WIDEST_COUNTED = 9
"""Widest scale of so many notes a string, in frets: the hand moves up with every step of the tuning."""

WIDEST_FIGURE = 6
"""Widest figure considered, in frets: an arpeggio's five, and one to lead into its ends."""

MOST_FIGURES = 4
"""So many layouts of a figure are tried at a place."""

Places = tuple[tuple[int, int], ...]
"""(string, fret) of each note in playing order; in `Steps` the fret is counted from the first note's."""


class Steps:
    """The layouts of forms on a tuning as it sounds; worked out once, sets tuned alike sharing them."""

    def __init__(self, tuning: Tuning):
        self._tuning = tuning
        self._checked: dict[StringSet, tuple[int, ...]] = {}
        self._layouts: dict[tuple[Hashable, ...], tuple[Layout, ...]] = {}  # by tuning of the strings
        self._lines: dict[
            tuple[Hashable, ...], tuple[Places, ...]
        ] = {}  # the same, written out for a set's own strings

    def lines(self, quality: Quality, form: Form, strings: StringSet) -> tuple[Places, ...]:
        """(string, fret offset from the first note) of each layout, the usual one first, rising.

        The smallest stretch comes first; `_rank` says how ties are broken. A figure comes in the order played, counted
        from the root.
        """
        form = form.upward
        asked = (quality, form, strings)
        if asked in self._lines:
            return self._lines[asked]
        gaps = self.gaps(strings)
        key = (quality, form, gaps)
        if form.kind == "figure":
            if asked not in self._lines:
                self._lines[asked] = self._figure(quality, form, strings)
            return self._lines[asked]
        if key not in self._layouts:
            tones = rising_tones(quality, form, len(strings.numbers))
            rise = [tone.semitones - tones[0].semitones for tone in tones]
            if len(rise) < len(strings.numbers):
                raise NotPlayableError(f"{quality.name} has too few notes for the strings {strings}")
            over = form.kind == "scale" and not form.per_string
            fixed = self._arpeggio_inside(quality, form, strings) if over else None
            widest = WIDEST_COUNTED if form.per_string else WIDEST[form.octaves]
            options = layouts(rise, gaps, widest, fixed, form.per_string)
            self._layouts[key] = tuple(sorted(options, key=lambda option: _rank(option, rise, form)))
        numbers = strings.numbers
        self._lines[asked] = tuple(
            tuple((numbers[index], offset) for index, offset in zip(option.strings, option.offsets, strict=True))
            for option in self._layouts[key]
        )
        return self._lines[asked]

    def _figure(self, quality: Quality, form: Form, strings: StringSet) -> tuple[Places, ...]:
        """A figure laid over the chord's own arpeggio: its tones keep their places, every other note lies near.

        The narrowest layouts come first, then those in which the hand moves least; there are a few at most.
        """
        keys = [tone.semitones for tone in figure_tones(quality, form)]
        numbers, gaps = strings.numbers, self.gaps(strings)
        opens = [sum(gaps[:place]) for place in range(len(numbers))]
        arpeggio = self.lines(quality, ARPEGGIO, strings)
        if not arpeggio:
            return ()
        tones = [tone.semitones for tone in rising_tones(quality, ARPEGGIO)]
        kept = {
            tone: (numbers.index(string), offset) for tone, (string, offset) in zip(tones, arpeggio[0], strict=True)
        }
        free = [key for key in dict.fromkeys(keys) if key not in kept]
        inside = [kept[key][1] for key in keys if key in kept]
        near = [
            [
                (place, key - opens[place])
                for place in range(len(numbers))
                if max(*inside, key - opens[place]) - min(*inside, key - opens[place]) <= WIDEST_FIGURE
            ]
            for key in free
        ]
        found = []
        for chosen in product(*near):
            at = kept | dict(zip(free, chosen, strict=True))
            row = [at[key] for key in keys]
            frets = [fret for _, fret in row]
            moved = sum(
                abs(fret - before) + abs(string - last)
                for (last, before), (string, fret) in zip(row, row[1:], strict=False)
            )
            found.append((max(frets) - min(frets), moved, tuple((numbers[place], fret) for place, fret in row)))
        return tuple(places for _, _, places in sorted(found)[:MOST_FIGURES])

    def grip(self, quality: Quality, form: Form, strings: StringSet) -> Places:
        """(string, fret offset from the bass) of a grip, one note a string."""
        tones = voicing_tones(quality, form)
        gaps = self.gaps(strings)
        if len(tones) != len(strings.numbers):
            raise NotPlayableError(f"a {form.title} of {quality.name} needs {len(tones)} strings, got {strings}")
        return tuple(
            (string, tone.semitones - tones[0].semitones - sum(gaps[:place]))
            for place, (string, tone) in enumerate(zip(strings.numbers, tones, strict=True))
        )

    def gaps(self, strings: StringSet) -> tuple[int, ...]:
        """Semitones from each string to the next; raises NotPlayableError when the set does not rise here."""
        if strings not in self._checked:
            try:
                strings.check(self._tuning)
            except TuningError as error:
                raise NotPlayableError(str(error)) from error
            self._checked[strings] = strings.gaps(self._tuning)
        return self._checked[strings]

    def _arpeggio_inside(self, quality: Quality, form: Form, strings: StringSet) -> dict[int, int]:
        """String index of each scale note that is a chord tone, as the chord's own arpeggio lays it."""
        arpeggio = Form(octaves=form.octaves, closed=form.closed)
        lines = self.lines(quality, arpeggio, strings)
        if not lines:
            return {}
        tones = [tone.semitones for tone in rising_tones(quality, arpeggio)]
        scale = [tone.semitones for tone in rising_tones(quality, form)]
        index = {string: place for place, string in enumerate(strings.numbers)}
        return {scale.index(tone): index[string] for tone, (string, _) in zip(tones, lines[0], strict=True)}


def _rank(layout: Layout, rise: list[int], form: Form) -> tuple[Any, ...]:
    """Order of layouts: the smallest stretch in frets first.

    Ties from the root in one octave: a third of three semitones stays on its
    string, a wider one goes to the next (a hand covers four frets), and there is not
    left alone while the note after it is in reach; that makes major-third chords 1-2-2
    and minor-third chords 2-1-2 (drills/RULES.md, C1), the augmented triad among them, which
    so lies one fret below its root at most and fits at the nut (C5).
    Ties from another chord tone: the easiest fingering. What is still equal, and
    two octaves: even use of the strings, the low ones sparing.
    """
    if form.start:
        return layout.span, _easiest(layout), layout.counts
    misplaced = form.octaves == 1 and (rise[1] <= 3) != (layout.strings[1] == 0)
    lone = form.octaves == 1 and rise[1] > 3 and layout.counts[1] < 2
    return layout.span, misplaced, lone, max(layout.counts), layout.counts


def _easiest(layout: Layout) -> int:
    # High on the neck nothing is out of reach, so the order of layouts is the same on every root.
    places = tuple((-index, 20 + offset) for index, offset in zip(layout.strings, layout.offsets, strict=True))
    best = line_fingerings(places)
    return best[0][0] if best else OUT_OF_REACH
