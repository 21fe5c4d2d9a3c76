"""Stages 1 to 4: roots, grips, spelling up, spelling down and in turns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from drills.errors import NotPlayableError
from drills.harmony.root_path import start_places
from drills.lines.line import Line, LineNote
from drills.shapes.form import Form
from drills.shapes.same_place import grip_inside
from drills.shapes.shape import Placement, Shape
from drills.theory.note import pitch_of
from drills.tunes.stages.stage_material import StageMaterial, note_at, stage_material

__all__ = ["grips", "roots", "spell_down_and_alternate", "spell_up"]

_WITHOUT_OCTAVE = Form(closed=False)


def roots(given: StageMaterial) -> tuple[Line, ...]:
    """Stage 1: one root a chord, held, on the path; then from the other root strings."""
    first = given.path.steps[0].string
    materials = [given]
    for string in given.path.strings:
        if string == first:
            continue
        try:
            start_places(given.neck, given.spans[0].sounding, given.path.strings, string)
            materials.append(stage_material(given.changes, given.finder, start=string, method=given.path.method,
                              strings=given.path.strings))  # fmt: skip
        except NotPlayableError:
            continue
    return tuple(_roots(each) for each in materials)


def _roots(given: StageMaterial) -> Line:
    notes = []
    for span, step in zip(given.spans, given.path.steps, strict=True):
        key = given.neck.sounding.midi(step.string, step.fret)
        root = span.sounding.root
        place = Placement(step.string, step.fret, pitch_of(root, key), "1", 2 if step.fret else 0)
        notes.append(note_at(span, span.start, span.length, place, f"root of {span.slot.text}: say its name"))
    title = f"Roots, {given.path.method}, from string {given.path.steps[0].string}"
    return given.line(title, notes, "roots")


def grips(given: StageMaterial) -> tuple[Line, ...]:
    """Stage 2: the grip that lies over each root, held."""
    notes: list[LineNote] = []
    missing: list[str] = []
    for span, shape in zip(given.spans, given.shapes, strict=True):
        grip = grip_inside(given.finder, shape, given.on)
        if grip is None:
            missing.append(f"{span.sounding.name}: no grip lies over its root here; the root alone is shown")
            grip = replace(shape, notes=(shape.root,))
        for place in grip.notes:
            why = f"{place.degree} of the grip of {span.slot.text}"
            notes.append(note_at(span, span.start, span.length, place, why))
    line = given.line("Grips", notes, "grips")
    return (replace(line, remarks=(*line.remarks, *dict.fromkeys(missing))),)


def _tones(shape: Shape) -> tuple[Placement, ...]:
    """The chord tones of an arpeggio without its octave."""
    return tuple(place for place in shape.notes if place.degree != "8")


def _sequence(shape: Shape, count: int, down: bool) -> list[Placement]:
    """As many notes of an arpeggio as there are beats: up from the root or down from the 7th, then back."""
    tones = _tones(shape)
    whole = shape.notes if count > len(tones) else tones
    if down:
        there, back = tones[::-1], tones[1:]
    else:
        there, back = whole, whole[-2:0:-1]
    found: list[Placement] = []
    while len(found) < count:
        found += [*there, *back]
    return found[:count]


def _played(given: StageMaterial, shape: Shape, count: int, down: bool) -> Shape:
    """The shape with the fingers of what is played of it: several change when the octave is left off (rule C1)."""
    if not down and count > len(_tones(shape)):
        return shape
    try:
        places = tuple((place.string, place.fret) for place in _tones(shape))
        return given.finder.shape_from(shape.chord, _WITHOUT_OCTAVE, shape.strings, places)
    except NotPlayableError:
        return shape


def _spelled(given: StageMaterial, title: str, kind: str, down: Callable[[int], bool]) -> Line:
    """One note a beat, or two where the chord is too short for its tones, or three.

    down: from a chord's number (0 the first) to whether it is played downward.
    """
    notes = []
    for index, (span, shape) in enumerate(zip(given.spans, given.shapes, strict=True)):
        tones = _tones(shape)
        strokes = given.strokes(span, len(tones))
        falling = down(index)
        way = "down" if falling else "up"
        if len(strokes) < len(tones):
            places = _telling_tones(tones, len(strokes), falling)
        else:
            places = _sequence(_played(given, shape, len(strokes), falling), len(strokes), falling)
        for (start, length), place in zip(strokes, places, strict=True):
            notes.append(note_at(span, start, length, place, f"{place.degree} of {span.slot.text}, spelled {way}"))
    return given.line(title, notes, kind)


def _telling_tones(tones: tuple[Placement, ...], count: int, down: bool) -> list[Placement]:
    """Of a chord too short for all its tones those that tell it: root, third and seventh; the fifth is left out."""
    kept = [tones[0], tones[1], tones[-1]][:count]
    return kept[::-1] if down else kept


def spell_up(given: StageMaterial) -> tuple[Line, ...]:
    """Stage 3: R 3 5 7, a note a beat; in eighths where two chords share a bar, R 3 7 where a chord has one beat."""
    return (_spelled(given, "Spell up", "spell up", lambda index: False),)


def spell_down_and_alternate(given: StageMaterial) -> tuple[Line, ...]:
    """Stage 4: down from the 7th; then one chord up, the next down."""
    down = _spelled(given, "Spell down", "spell down", lambda index: True)
    turns = _spelled(given, "Up and down in turns", "spell down", lambda index: index % 2 == 1)
    return down, turns
