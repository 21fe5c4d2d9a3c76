"""The whole answer to a prompt: heading, drawing, table of notes and what to watch for."""

from __future__ import annotations

from collections.abc import Collection
from textwrap import wrap

from drills.diagrams.grid import grid_of
from drills.diagrams.speech import say_chord, say_shape
from drills.diagrams.text import PLAIN, UNICODE, box_lines, neck_lines, note_table, position_name
from drills.shapes.form import ARPEGGIO
from drills.shapes.shape import Shape
from drills.theory.altered_dominant import altered_fifth_words, with_altered_fifth
from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.spelling import simple_twin

__all__ = ["COMFORTABLE_MM", "answer_lines", "heading", "reduced_words", "remarks", "stretch_advice"]

COMFORTABLE_MM = 100.0
"""Beyond this a shape asks for a stretch (common practice, no published table of guitar hands)."""


def heading(shape: Shape) -> str:
    """``Cmaj7, strings 6-5-4, position VII``, with the form when it is not the plain arpeggio."""
    said = shape.form.detail if shape.form.kind == "scale" or shape.form == ARPEGGIO else shape.form.title
    form = f", {said}" if said else ""
    return f"{shape.name}{form}, strings {shape.strings}, position {position_name(shape.position)}"


def reduced_words(chord: Chord, sounding: Collection[int] = ()) -> str:
    """What an extended chord's shape leaves out, or ``""``: ``9 and 13 are left out: the shape is C7.``

    sounding: pitch classes of the shape, where it has more notes than the chord inside; a tension among them stays.
    """
    root = chord.root.pitch_class
    out = [one for one in chord.tensions if (root + Interval.from_degree(one).semitones) % 12 not in sounding]
    if not out:
        return ""
    *most, last = out
    named = f"{', '.join(most)} and {last} are" if most else f"{last} is"
    return f"{named} left out: the shape is {chord.root}{chord.quality.symbol}."


def stretch_advice(reach_mm: float, where: str = "") -> str:
    """What is said of a stretch over `COMFORTABLE_MM`, without a full stop. where: such as `` in bar 2``."""
    return f"A stretch of {reach_mm:.0f} mm{where}: learn it higher up first, and stop if it hurts"


def remarks(shape: Shape) -> list[str]:
    """What a teacher would say beside the diagram: rolls, stretches, strict spellings, open strings."""
    found = []
    if shape.has_roll:
        found.append("Roll the finger across the two strings.")
    if shape.reach_mm > COMFORTABLE_MM and (
        shape.form.octaves == 2 or shape.form.per_string or shape.form.kind == "figure"
    ):
        low, high = min(fret for fret in shape.frets if fret), max(shape.frets)
        found.append(
            f"The hand moves between frets {low} and {high}: learn it slowly, higher up first, and stop if it hurts."
        )
    elif shape.reach_mm > COMFORTABLE_MM:
        found.append(f"{stretch_advice(shape.reach_mm)}.")
    twins = {note.pitch.note: simple_twin(note.pitch.note) for note in shape.notes}
    sounding = [f"{note} sounds as {twin}" for note, twin in twins.items() if twin]
    if sounding:
        found.append(", ".join(sounding) + ".")
    if any(note.fret == 0 for note in shape.notes):
        found.append("0 is the open string.")
    if words := reduced_words(shape.chord, {note.pitch.note.pitch_class for note in shape.notes}):
        found.append(words)
    if words := altered_fifth_words(shape.chord):
        altered = with_altered_fifth(shape.chord)
        found.append(f"{words[0].upper()}{words[1:]}: pass over it, or play {altered.root}{altered.quality.symbol}.")
    if shape.chord.bass is not None:
        plain = f"{shape.chord.root}{shape.chord.quality.symbol}"
        found.append(f"The bass note {shape.chord.bass} is left to the band: the shape is {plain}.")
    if shape.variant == "locked":
        found.append("Your own fingering.")
    return found


def answer_lines(
    shape: Shape,
    strings: int,
    *,
    width: int = 80,
    labels: str = "degrees",
    box: bool = False,
    left_handed: bool = False,
    ascii_only: bool = False,
    plain: bool = False,
) -> list[str]:
    """An answer as lines of text; `plain` gives sentences instead of a drawing."""
    if plain:
        return [say_chord(heading(shape)) + ".", say_shape(shape), *map(say_chord, remarks(shape))]
    grid = grid_of(shape, strings, labels, left_handed)
    glyphs = PLAIN if ascii_only else UNICODE
    drawing = box_lines(grid, glyphs) if box else neck_lines(grid, width, glyphs)
    said = [part for remark in remarks(shape) for part in wrap(remark, width)]
    head = wrap(heading(shape), width)
    return [*head, "", *drawing, "", *(f"   {row}" for row in note_table(shape)), *said]
