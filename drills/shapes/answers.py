"""Shapes by the names people type: a chord, a mode or a degree of a key, on one or several string sets."""

from __future__ import annotations

import re

from drills.errors import NotPlayableError
from drills.neck.strings import StringSet, core_sets, parse_string_sets
from drills.neck.tuning import Tuning
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, USUAL_SCALES, Form, parse_form, scale_slug, usual_scale
from drills.shapes.same_place import grip_inside
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import parse_degree
from drills.theory.mode import Mode, modes
from drills.theory.note import Note, plain_accidentals
from drills.theory.quality import QualityTable
from drills.theory.symbol import parse_chord

__all__ = ["alternates_of", "named_chord", "shape_json", "shapes_named"]


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
    their seventh chords with the rest kept as tensions (handbook D1). Raises TheoryError otherwise.
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


def _form_and_sets(
    form: str, chord: Chord, mode: Mode | None, sets: list[StringSet], tuning: Tuning
) -> list[tuple[Form, StringSet]]:
    core = sets or list(core_sets(tuning))
    everywhere = sets or [StringSet(tuple(range(tuning.strings, 0, -1)))]
    if form in USUAL_SCALES:
        name = mode.name if mode else (chord.quality.modes or ("",))[0]
        if not name:
            raise NotPlayableError(f"{chord.quality.name} has no usual scale; name one, such as 'C Dorian'")
        wanted = usual_scale(form, name)
        return [(wanted, strings) for strings in (everywhere if wanted.per_string else core)]
    parsed = parse_form(form)
    if parsed.kind == "grip" and not sets:
        size = 3 if parsed.voicing in ("close", "shell") else 4
        core = list(core_sets(tuning, size))
        if parsed.voicing == "drop3":
            core = [StringSet((s.numbers[0], *(n - 1 for n in s.numbers[1:]))) for s in core if s.numbers[-1] > 1]
        if parsed.voicing == "shell" and not parsed.inversion:
            core = [StringSet((s.numbers[0], *(n - 1 for n in s.numbers[1:]))) for s in core if s.numbers[-1] > 1]
    return [(parsed, strings) for strings in (everywhere if parsed.octaves == 2 or parsed.per_string else core)]


def shapes_named(
    finder: ShapeFinder, name: str, form: str, strings: str | None, table: QualityTable
) -> tuple[list[Shape], list[str]]:
    """Shapes of a name, and the reasons for sets where none fits.

    form: a form's id, ``scale`` for the usual mode, or ``grip`` for the grip that lives
    inside the arpeggio on each set (on sets of four strings the drop 2 or drop 3).
    strings: sets separated by commas, or None for the tuning's core sets. An extended or
    altered chord is answered with its seventh chord; the shape's chord keeps the tensions.
    Raises DrillsError when name, form or strings cannot be read.
    """
    chord, mode, names_mode = named_chord(name, table, reduce=True)
    if names_mode and form == "arpeggio":
        form = "scale"
    sets = list(parse_string_sets(strings)) if strings else []
    found: list[Shape] = []
    reasons: list[str] = []
    if form == "grip":
        return _grips(finder, chord, sets or list(core_sets(finder.tuning)))
    for wanted, on in _form_and_sets(form, chord, mode, sets, finder.tuning):
        try:
            found.append(finder.find(chord, wanted, on))
        except NotPlayableError as error:
            reasons.append(str(error))
    return found, reasons


def _grips(finder: ShapeFinder, chord: Chord, sets: list[StringSet]) -> tuple[list[Shape], list[str]]:
    found, reasons = [], []
    for on in sets:
        numbers = on.numbers
        try:
            if len(numbers) == 4:
                form = Form("grip", voicing="drop2" if numbers[0] - numbers[-1] == 3 else "drop3")
            elif len(numbers) == 3 and numbers[0] - numbers[1] == 2:
                form = Form("grip", voicing="shell")
            else:
                shape = grip_inside(finder, finder.find(chord, ARPEGGIO, on))
                if shape is None:
                    raise NotPlayableError(f"{chord.name} on {on}: no grip has its root there")
                found.append(shape)
                continue
            found.append(finder.find(chord, form, on))
        except NotPlayableError as error:
            reasons.append(str(error))
    return found, reasons


def alternates_of(finder: ShapeFinder, shape: Shape) -> list[Shape]:
    """Other ways to play what was found."""
    return finder.alternates(shape.chord, shape.form, shape.strings)


def shape_json(shape: Shape, alternates: list[Shape] | None = None) -> dict:
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
