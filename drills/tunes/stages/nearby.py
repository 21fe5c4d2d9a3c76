"""Etude lines near the path of roots, so that the hand stays where the stages before have put it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from drills.changes.changes_errors import EtudeError
from drills.lines.etude_options import EtudeOptions
from drills.tunes.stages.stage_ground import StageGround

__all__ = ["frets_of_walk", "near_the_path"]

_LEAST = 6
"""Frets a window holds at least: a hand and a stretch to either side."""

Found = TypeVar("Found")


def frets_of_walk(given: StageGround) -> tuple[int, int]:
    """Lowest and highest fret of the arpeggios along a path, six frets or more, inside the neck."""
    frets = [place.fret for shape in given.shapes for place in shape.notes if place.fret]
    low, high = min(frets, default=1), max(frets, default=1)
    highest = given.neck.highest
    while high - low + 1 < _LEAST and (low > 1 or high < highest):
        low = max(1, low - 1)
        if high - low + 1 < _LEAST:
            high = min(highest, high + 1)
    return low, high


def near_the_path(find: Callable[[EtudeOptions], Found], given: StageGround, options: EtudeOptions) -> Found:
    """What `find` makes within the frets of the path, or on the whole neck where nothing is found there.

    Options that say frets, pitches or places are taken as they are. Raises what `find` raises on the whole neck.
    """
    if options.frets or options.pitches or options.places is not None:
        return find(options)
    try:
        return find(replace(options, frets=frets_of_walk(given)))
    except EtudeError:
        return find(options)
