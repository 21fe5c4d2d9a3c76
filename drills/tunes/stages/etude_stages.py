"""Stages 7 to 10: the mode, chromatic approaches, rhythm and space, and playing.

The lines of stages 7 to 9 are found by search near the path of roots, so that the hand stays where the
stages before have put it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from drills.errors import EtudeError
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import WITH_CHROMATICS, WITH_MODE, EtudeOptions
from drills.lines.line import Line
from drills.tunes.stages.stage_material import StageMaterial

__all__ = ["add_chromatics", "add_mode", "frets_of_most", "frets_of_path", "near_the_path", "play", "rhythm_and_space"]


def _etude(
    given: StageMaterial, options: EtudeOptions, title: str, *, difficulty: int, density: str
) -> tuple[Line, ...]:
    etude = near_the_path(
        lambda near: etude_line(given.changes, given.neck, near),
        given,
        replace(options, difficulty=difficulty, density=density),
    )
    line = etude.line
    return (replace(line, title=title, remarks=given.remarks),)


def add_mode(given: StageMaterial, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 7: eighths, chord tones on the beats, notes of the chord's mode between them."""
    return _etude(given, options, "With the mode", difficulty=WITH_MODE, density="eighths")


def add_chromatics(given: StageMaterial, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 8: approaches from a semitone below, enclosures, and the passing tone."""
    return _etude(given, options, "With chromatics", difficulty=WITH_CHROMATICS, density="eighths")


def rhythm_and_space(given: StageMaterial, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 9: phrases that start off the beat and leave rests; then in mixed rhythm, with beats struck early."""
    return (
        *_etude(given, options, "Rhythm and space", difficulty=WITH_MODE, density="space"),
        *_etude(given, options, "Mixed rhythm, beats anticipated", difficulty=WITH_MODE, density="phrases"),
    )


def play(given: StageMaterial, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 10: nothing written; play over the track, record it, listen."""
    return ()


_LEAST = 6
"""Frets a window holds at least: a hand and a stretch to either side."""
_WIDE, _PLACE = 8, 7
"""From so many frets a path wanders; one place of the hand with room to either side holds so many."""

Found = TypeVar("Found")


def frets_of_path(given: StageMaterial) -> tuple[int, int]:
    """Lowest and highest fret of the arpeggios along a path, six frets or more, inside the neck."""
    frets = [place.fret for shape in given.shapes for place in shape.notes if place.fret]
    low, high = min(frets, default=1), max(frets, default=1)
    highest = given.neck.highest
    while high - low + 1 < _LEAST and (low > 1 or high < highest):
        low = max(1, low - 1)
        if high - low + 1 < _LEAST:
            high = min(highest, high + 1)
    return low, high


def frets_of_most(given: StageMaterial) -> tuple[int, int]:
    """The frets one hand keeps to where a path wanders: those that hold most notes of its arpeggios, the first chord's
    among equals, then the lower."""
    low, high = frets_of_path(given)
    notes = [place.fret for shape in given.shapes for place in shape.notes if place.fret]
    first = given.shapes[0].root.fret
    windows = [(start, start + _PLACE - 1) for start in range(low, max(low, high - _PLACE + 1) + 1)]
    return max(windows, key=lambda window: (
        sum(window[0] <= fret <= window[1] for fret in notes), window[0] <= first <= window[1], -window[0]
    ))  # fmt: skip


def near_the_path(find: Callable[[EtudeOptions], Found], given: StageMaterial, options: EtudeOptions) -> Found:
    """What `find` makes within the frets of the path, or on the whole neck where nothing is found there.

    A path of more frets than a hand and its stretches hold is narrowed first to where most of it lies.

    Options that say frets, pitches or places are taken as they are. Raises what `find` raises on the whole neck.
    """
    if options.frets or options.pitches or options.places is not None:
        return find(options)
    path = frets_of_path(given)
    windows = [path] if path[1] - path[0] < _WIDE else [frets_of_most(given), path]
    for window in windows:
        try:
            return find(replace(options, frets=window))
        except EtudeError:
            continue
    return find(options)
