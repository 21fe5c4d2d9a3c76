"""The pages a teacher asks for, one idea each (handbook F1), as sheets of shapes found on a player's neck."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from drills.diagrams.signs import printed
from drills.errors import NotPlayableError
from drills.neck.strings import StringSet
from drills.paper.sheet import Panel, Sheet, panel_of, window
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, Form
from drills.shapes.same_place import grip_inside, mode_over
from drills.shapes.shape import Placement, Shape
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.theory.note import Note, Pitch
from drills.theory.quality import Quality

__all__ = [
    "booklet", "key_overview", "key_sheets", "qualities_on_set", "quality_on_sets", "same_place", "shapes_sheet",
    "whole_neck",
]  # fmt: skip


def _found(finder: ShapeFinder, wanted: Iterable[tuple[Chord, Form, StringSet]]) -> tuple[list[Shape], tuple[str, ...]]:
    """The shapes that fit, and the reasons of those that do not; raises NotPlayableError when none does."""
    shapes, reasons = [], []
    for chord, form, strings in wanted:
        try:
            shapes.append(finder.find(chord, form, strings))
        except NotPlayableError as error:
            reasons.append(str(error))
    if not shapes:
        raise NotPlayableError(reasons[0] if reasons else "handout: nothing was asked for; name a chord or a key")
    return shapes, tuple(reasons)


def _sheet(
    finder: ShapeFinder, title: str, idea: str, wanted: Iterable[tuple[Chord, Form, StringSet]], columns: int,
    compact: bool = False,
) -> Sheet:  # fmt: skip
    shapes, reasons = _found(finder, wanted)
    panels = tuple(panel_of(shape, finder.tuning.strings) for shape in shapes)
    return Sheet(title, idea, panels, columns, compact, reasons)


def quality_on_sets(
    finder: ShapeFinder, quality: Quality, sets: Sequence[StringSet], roots: Sequence[Note], form: Form = ARPEGGIO
) -> Sheet:
    """One quality on several sets of strings: a row for each root. Raises NotPlayableError when nothing fits."""
    names = ", ".join(strings.name for strings in sets)
    wanted = [(Chord(root, quality), form, strings) for root in roots for strings in sets]
    idea = f"One quality on {names}: the same degrees, from root to root."
    return _sheet(finder, f"{quality.symbol or quality.name} on {len(sets)} string sets", idea, wanted, len(sets))


def qualities_on_set(
    finder: ShapeFinder, qualities: Sequence[Quality], strings: StringSet, roots: Sequence[Note], form: Form = ARPEGGIO
) -> Sheet:
    """One set of strings with several qualities: a row for each root. Raises NotPlayableError when nothing fits."""
    wanted = [(Chord(root, quality), form, strings) for root in roots for quality in qualities]
    idea = "One string set: from quality to quality only the marked degrees move."
    columns = 2 if len(qualities) in (2, 4) else 3
    return _sheet(finder, f"{len(qualities)} qualities on {strings}", idea, wanted, columns)


def key_sheets(finder: ShapeFinder, key: Key, sets: Sequence[StringSet], form: Form = ARPEGGIO) -> list[Sheet]:
    """One key, its seven chords: a sheet for each set of strings. Raises NotPlayableError when nothing fits."""
    idea = "One key, seven chords: the roots climb the lowest string of the set."
    return [
        _sheet(finder, f"{key.name} on {on}", idea, [(chord, form, on) for chord in key.chords()], 2) for on in sets
    ]


def key_overview(finder: ShapeFinder, key: Key, sets: Sequence[StringSet], form: Form = ARPEGGIO) -> Sheet:
    """One key on one page: a row for each chord, a column for each set. Raises NotPlayableError when nothing fits."""
    wanted = [(chord, form, on) for chord in key.chords() for on in sets]
    idea = f"Seven chords on {', '.join(on.name for on in sets)}."
    return _sheet(finder, f"The key of {key.name}", idea, wanted, len(sets), compact=True)


def same_place(finder: ShapeFinder, chords: Sequence[Chord], strings: StringSet, modes: Sequence[str] = ()) -> Sheet:
    """Grip, arpeggio and mode side by side at the same frets, a row for each chord.

    modes: the mode of each chord, or empty for the usual ones.
    Raises NotPlayableError when no arpeggio fits.
    """
    shapes, reasons = _found(finder, [(chord, ARPEGGIO, strings) for chord in chords])
    panels: list[Panel | None] = []
    for arpeggio in shapes:
        mode = (modes[chords.index(arpeggio.chord)] if modes else "") or None
        grip, scale = grip_inside(finder, arpeggio), mode_over(finder, arpeggio, mode)
        three = ((grip, "grip"), (arpeggio, "arpeggio"), (scale, ""))
        missing = [what or "mode" for shape, what in three if shape is None]
        reasons += tuple(f"{arpeggio.chord.name} on {strings}: no {what} fits at this place" for what in missing)
        row = [
            shape and panel_of(shape, finder.tuning.strings, where=f"{shape.strings}{', ' if what else ''}{what}")
            for shape, what in three
        ]
        panels += window(row)
    idea = "Grip, arpeggio and mode at the same frets: the hand stays."
    return Sheet(f"The same place on {strings}", idea, tuple(panels), 3, False, reasons, 3)


def shapes_sheet(shapes: Sequence[Shape], strings: int, title: str, idea: str, columns: int = 2) -> Sheet:
    """Any shapes on one sheet, e.g. a student's weakest five. Raises NotPlayableError when there are none."""
    if not shapes:
        raise NotPlayableError("handout: there is no shape to print; play a session first or name a chord")
    return Sheet(title, idea, tuple(panel_of(shape, strings) for shape in shapes), columns)


def whole_neck(finder: ShapeFinder, chords: Sequence[Chord]) -> Sheet:
    """Where every tone of each chord lies on the whole neck, a map a chord."""
    panels = tuple(_map(finder, chord) for chord in chords)
    names = ", ".join(printed(chord.name) for chord in chords[:4])
    return Sheet(f"{names} on the whole neck", "Every chord tone, from the open strings to the top fret.", panels, 1)


def _map(finder: ShapeFinder, chord: Chord) -> Panel:
    tuning, highest = finder.tuning, finder.neck.highest
    notes = []
    for string in range(tuning.strings, 0, -1):
        for fret in range(highest + 1):
            midi = tuning.midi(string, fret)
            for note, degree in zip(chord.notes, chord.quality.degrees, strict=True):
                if note.pitch_class == midi % 12:
                    pitch = Pitch(note, (midi - note.semitones) // 12 - 1)
                    notes.append(Placement(string, fret, pitch, degree, 0))
    return Panel(chord.name, "", tuple(notes), tuning.strings, None, (0, highest), whole_neck=True)


def booklet(
    shapes: Iterable[Shape], strings: int, titled: Callable[[Shape], str] | None = None, columns: int = 3
) -> list[Sheet]:
    """Many shapes as sheets, those of one quality, form and string set together, in the order met.

    titled: the sheet a shape belongs to; by default ``m7 on 6-5-4``, with the form.
    """
    groups: dict[str, list[Shape]] = {}
    for shape in shapes:
        groups.setdefault((titled or _group)(shape), []).append(shape)
    return [shapes_sheet(group, strings, title, "", columns) for title, group in groups.items()]


def _group(shape: Shape) -> str:
    name = shape.form.mode if shape.form.kind == "scale" else shape.chord.quality.symbol or "major triad"
    form = "" if shape.form.id == "arpeggio" or shape.form.kind == "scale" else f", {shape.form.title}"
    return f"{name} on {shape.strings}{form}"
