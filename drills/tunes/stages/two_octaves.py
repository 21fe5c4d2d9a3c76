"""The stage `octaves`: the arpeggio of each chord in two octaves over changes, up, then up and down in turns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from drills.errors import NotPlayableError
from drills.harmony.chord_timeline import Span
from drills.lines.line import Line, LineNote
from drills.neck.strings import StringSet
from drills.shapes.form import Form
from drills.shapes.shape import Placement, Shape
from drills.tunes.stages.stage_material import StageMaterial, note_at

__all__ = ["two_octaves"]

_TWO_OCTAVES = Form(octaves=2)
_FEWEST = 5
"""Strings that two octaves need in one or two places of the hand: four of them a fourth apart span an octave and a
seventh."""


def two_octaves(given: StageMaterial) -> tuple[Line, ...]:
    """Eighths from the lowest string to the highest: R 3 5 7 8 10 12 14 fill a bar of four (drills/RULES.md, B3, 3).

    A chord that is shorter is begun and left; one that is longer comes back. A chord whose two octaves do not fit the
    neck is played in one, and the line says so.
    """
    up = _line(given, "Two octaves, up", lambda index: False)
    return up, _line(given, "Two octaves, up and down in turns", lambda index: index % 2 == 1)


def _line(given: StageMaterial, title: str, down: Callable[[int], bool]) -> Line:
    notes: list[LineNote] = []
    missing: list[str] = []
    for index, (span, shape) in enumerate(zip(given.spans, given.shapes, strict=True)):
        whole = _shape(given, span)
        if whole is None:
            missing.append(f"{span.sounding.name}: two octaves do not fit here, one is played")
            whole = shape
        beats, parts = given.beats(span), 2 if span.bar.metre.unit <= 4 else 1
        strokes = [(start + part * length / parts, length / parts) for start, length in beats
                   for part in range(parts)]  # fmt: skip
        places = _there_and_back(whole, len(strokes), down(index))
        for (start, length), place in zip(strokes, places, strict=True):
            notes.append(note_at(span, start, length, place, f"{place.degree} of {span.slot.text}, over two octaves"))
    line = given.line(title, notes, "octaves")
    return replace(line, remarks=tuple(dict.fromkeys([*missing, *given.altered])))


def _shape(given: StageMaterial, span: Span) -> Shape | None:
    """The chord in two octaves, on the strings asked for or on all six (all there are) from the lowest.

    None where it does not fit. Raises NotPlayableError for a set of so few strings that it never would.
    """
    if given.on is not None and len(given.on.numbers) < _FEWEST:
        raise NotPlayableError(f"two octaves on strings {given.on}: they need {_FEWEST} strings or more; leave it out")
    top = min(6, given.neck.tuning.strings)
    strings = given.on or StringSet(tuple(range(top, 0, -1)))
    try:
        return given.finder.find(span.spelled, _TWO_OCTAVES, strings)
    except NotPlayableError:
        return None


def _there_and_back(shape: Shape, count: int, down: bool) -> list[Placement]:
    places = shape.notes
    if count < len(places):  # the octave that ends it belongs to the next bar
        places = places[: max(count, 1)]
    way = [*places, *places[-2:0:-1]] if len(places) > 2 else list(places)
    if down:
        way = [*places[::-1], *places[1:-1]] if len(places) > 2 else way[::-1]
    return [way[number % len(way)] for number in range(count)]
