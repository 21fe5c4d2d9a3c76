"""Shapes by the names people type: a chord, a mode or a degree of a key, on one or several string sets."""

from __future__ import annotations

import re
from typing import Any

from drills.errors import NotPlayableError
from drills.neck.strings import StringSet, core_sets, parse_string_sets
from drills.neck.tuning import Tuning
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, USUAL_FORMS, Form, parse_form, scale_slug, usual_form
from drills.shapes.same_place import grip_inside
from drills.shapes.shape import Shape
from drills.theory.altered_dominant import is_altered_dominant, with_altered_fifth
from drills.theory.chord import Chord
from drills.theory.chord_mode import usual_mode
from drills.theory.key import parse_degree
from drills.theory.mode import Mode, modes
from drills.theory.note import Note, plain_accidentals
from drills.theory.quality import QualityTable
from drills.theory.symbol import parse_chord

__all__ = ["alternates_of", "named_chord", "shape_json", "shape_on", "shapes_named", "usual_sets"]


def _mode_chord(root: Note, mode: Mode, table: QualityTable) -> Chord:
    """The chord that stacked thirds of a mode give, or a triad or seventh chord the mode is usual for."""
    for quality in table:
        if mode.name in quality.modes and len(quality.intervals) == 4:
            return Chord(root, quality)
    for quality in table:
        if set(quality.semitones) <= mode.pitch_classes:
            return Chord(root, quality)
    raise NotPlayableError(f"{mode.name}: no known chord lies in it")


def named_chord(name: str, table: QualityTable, *, reduce: bool = False) -> tuple[Chord, Mode | None, bool]:
    """The chord a name means, the mode it implies if any, and whether the name is that mode's.

    Reads ``Cmaj7``, ``C Dorian`` and ``ii of Bb``. reduce: also ``C13`` and ``G7alt``, as
    their seventh chords with the rest kept as tensions (drills/RULES.md, D1). Raises TheoryError otherwise.
    """
    text = " ".join(name.split()) if len(name) < 200 else name
    if len(text) < 200 and re.match(r"[ivIV]+\S* (of|in) ", text):
        key, degree = parse_degree(text)
        return key.chord(degree), key.mode(degree), False
    root, _, rest = text.partition(" ")
    by_slug = {scale_slug(mode): mode for mode in modes()}
    if rest and scale_slug(rest) in by_slug:
        mode = modes()[by_slug[scale_slug(rest)]]
        return _mode_chord(Note.parse(plain_accidentals(root)), mode, table), mode, True
    return parse_chord(text, table, reduce=reduce), None, False


def usual_sets(form: str, tuning: Tuning) -> tuple[StringSet, ...]:
    """The string sets a form is asked on when none are named: a grip takes the strings its kind needs.

    form: as for `shape_on`. Raises TheoryError for a name that is no form.
    """
    everywhere = (StringSet(tuple(range(tuning.strings, 0, -1))),)
    if form == "grip":
        return core_sets(tuning)
    if form in USUAL_FORMS:
        return everywhere if usual_form(form, "").per_string else core_sets(tuning)
    parsed = parse_form(form)
    if parsed.octaves == 2 or parsed.per_string:
        return everywhere
    if parsed.kind != "grip":
        return core_sets(tuning)
    core = core_sets(tuning, 3 if parsed.voicing in ("close", "shell") else 4)
    if parsed.voicing == "drop3" or (parsed.voicing == "shell" and not parsed.inversion):
        return tuple(StringSet((s.numbers[0], *(n - 1 for n in s.numbers[1:]))) for s in core if s.numbers[-1] > 1)
    return core


def _usual_mode(chord: Chord, mode: Mode | None) -> str:
    name = mode.name if mode else usual_mode(chord)
    if not name:
        raise NotPlayableError(f"{chord.quality.name} has no usual scale; name one, such as 'C Dorian'")
    return name


def shape_on(finder: ShapeFinder, chord: Chord, form: str, strings: StringSet, mode: Mode | None = None) -> Shape:
    """The shape of a chord on one set of strings.

    form: a form's id, one of USUAL_FORMS for `mode` or else the chord's usual one, or ``grip`` for
    the grip that lives inside the arpeggio (on a set of four strings the drop 2 or drop 3).
    Raises TheoryError for a name that is no form, NotPlayableError when nothing fits.
    """
    if form in USUAL_FORMS:
        return finder.find(chord, usual_form(form, _usual_mode(chord, mode)), strings)
    if form != "grip":
        return finder.find(chord, parse_form(form), strings)
    numbers = strings.numbers
    if len(numbers) == 4:
        return finder.find(chord, Form("grip", voicing="drop2" if numbers[0] - numbers[-1] == 3 else "drop3"), strings)
    if len(numbers) == 3 and numbers[0] - numbers[1] == 2:
        return finder.find(chord, Form("grip", voicing="shell"), strings)
    shape = grip_inside(finder, finder.find(chord, ARPEGGIO, strings))
    if shape is None:
        raise NotPlayableError(f"{chord.name} on {strings}: no grip has its root there")
    return shape


def shapes_named(
    finder: ShapeFinder, name: str, form: str, strings: str | None, table: QualityTable
) -> tuple[list[Shape], list[str]]:
    """Shapes of a name, and the reasons for sets where none fits.

    form: as for `shape_on`. strings: sets separated by commas, or None for the form's usual ones.
    An extended or altered chord is answered with its seventh chord; the shape's chord keeps the tensions. A scale
    holds them: C7#11 is answered with Lydian dominant, G7alt with the altered scale.
    Raises DrillsError when name, form or strings cannot be read.
    """
    chord, mode, names_mode = named_chord(name, table, reduce=True)
    if names_mode and form == "arpeggio":
        form = "scale"
    if form in USUAL_FORMS and is_altered_dominant(chord):
        # The plain 5th is in no mode of an altered dominant, and the raised one is.
        chord = with_altered_fifth(chord)
    sets = list(parse_string_sets(strings)) if strings else []
    if form in USUAL_FORMS:
        _usual_mode(chord, mode)
    found: list[Shape] = []
    reasons: list[str] = []
    for on in sets or usual_sets(form, finder.tuning):
        try:
            found.append(shape_on(finder, chord, form, on, mode))
        except NotPlayableError as error:
            reasons.append(str(error))
    return found, reasons


def alternates_of(finder: ShapeFinder, shape: Shape) -> list[Shape]:
    """Other ways to play what was found."""
    return finder.alternates(shape.chord, shape.form, shape.strings)


def shape_json(shape: Shape, alternates: list[Shape] | None = None) -> dict[str, Any]:
    """A shape as the machine-readable contract has it."""
    row = {
        "name": shape.name,
        "form": shape.form.id,
        "strings": list(shape.strings.numbers),
        "position": shape.position,
        "reach_mm": round(shape.reach_mm, 1),
        "notes": [
            {
                "string": note.string,
                "fret": note.fret,
                "note": note.pitch.note.name,
                "degree": note.degree,
                "finger": note.finger,
                "midi": note.pitch.midi,
            }
            for note in shape.notes
        ],
    }
    if shape.variant:
        row["variant"] = shape.variant
    if alternates is not None:
        row["alternates"] = [shape_json(alternate) for alternate in alternates]
    return row
