"""The pages a teacher asks for, one idea each (drills/RULES.md, F1), as sheets of shapes found on a player's neck."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from drills.diagrams.typesetting import printed
from drills.errors import NotPlayableError
from drills.lines.phrase_in_place import phrase_in_place, phrase_words
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.paper.sheet import Panel, Sheet, panel_of, window
from drills.shapes.answers import shape_on
from drills.shapes.chord_places import chord_places, note_places
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.shapes.same_place import grip_inside, mode_over
from drills.shapes.shape import Placement, Shape
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.theory.mode import Mode
from drills.theory.note import Note
from drills.theory.quality import Quality

__all__ = [
    "booklet", "key_overview", "key_sheets", "qualities_on_set", "quality_on_sets", "root_places", "same_place",
    "shapes_sheet",
    "whole_neck",
]  # fmt: skip


_Wanted = tuple[Chord, StringSet, Mode | None]


def _found(finder: ShapeFinder, form: str, wanted: Iterable[_Wanted]) -> tuple[list[Shape], tuple[str, ...]]:
    """The shapes that fit, and the reasons of those that do not; raises NotPlayableError when none does."""
    shapes, reasons = [], []
    for chord, strings, mode in wanted:
        try:
            shapes.append(shape_on(finder, chord, form, strings, mode))
        except NotPlayableError as error:
            reasons.append(str(error))
    if not shapes:
        raise NotPlayableError(reasons[0] if reasons else "handout: nothing was asked for; name a chord or a key")
    return shapes, tuple(reasons)


def _sheet(
    finder: ShapeFinder, title: str, idea: str, form: str, wanted: Iterable[_Wanted], columns: int,
    compact: bool = False,
) -> Sheet:  # fmt: skip
    shapes, reasons = _found(finder, form, wanted)
    panels = tuple(panel_of(shape, finder.tuning.strings) for shape in shapes)
    if form != "arpeggio":
        kinds = dict.fromkeys("scale" if shape.form.kind == "scale" else shape.form.title for shape in shapes)
        title += f", {next(iter(kinds)) if len(kinds) == 1 else form.partition('-')[0]}"
    return Sheet(title, idea, panels, columns, compact, reasons)


def quality_on_sets(
    finder: ShapeFinder, quality: Quality, sets: Sequence[StringSet], roots: Sequence[Note], form: str = "arpeggio"
) -> Sheet:
    """One quality on several sets of strings: a row for each root. Raises NotPlayableError when nothing fits.

    form: as for `drills.shapes.answers.shape_on`, here and in the other layouts.
    """
    names = ", ".join(strings.name for strings in sets)
    wanted = [(Chord(root, quality), strings, None) for root in roots for strings in sets]
    title = f"{quality.symbol or quality.name} on {_counted(len(sets), 'string set')}"
    rising = ": the same degrees, from root to root" if form == ARPEGGIO.id else ""
    idea = f"One quality on {names}{rising}."
    return _sheet(finder, title, idea, form, wanted, len(sets))


def _counted(number: int, what: str) -> str:
    return f"{number} {what}" + "s" * (number != 1)


def qualities_on_set(
    finder: ShapeFinder, qualities: Sequence[Quality], strings: StringSet, roots: Sequence[Note], form: str = "arpeggio"
) -> Sheet:
    """One set of strings with several qualities: a row for each root. Raises NotPlayableError when nothing fits."""
    wanted = [(Chord(root, quality), strings, None) for root in roots for quality in qualities]
    columns = 2 if len(qualities) in (2, 4) else 3
    title = f"{len(qualities)} qualities" if len(qualities) > 1 else qualities[0].symbol or qualities[0].name
    sheet = _sheet(finder, f"{title} on {strings}", "", form, wanted, columns)
    return replace(sheet, idea=_one_set(sheet) if len(qualities) > 1 else "One quality on one string set.")


def _one_set(sheet: Sheet) -> str:
    """What several qualities on one set have in common: the place of each root, where it is one place."""
    places: dict[Note, set[int]] = {}
    for panel in sheet.drawn:
        if panel.shape is not None:
            places.setdefault(panel.shape.chord.root, set()).add(min(n.fret for n in panel.notes if n.is_root))
    if all(len(frets) == 1 for frets in places.values()):
        return "One string set: the root stays where it is, the other notes move."
    return "One string set, the same root in each quality."


def _of_key(key: Key, sets: Sequence[StringSet]) -> list[_Wanted]:
    """The seven chords of a key on every set, chord by chord, each with its mode."""
    return [(chord, on, key.mode(degree)) for degree, chord in enumerate(key.chords(), 1) for on in sets]


def key_sheets(finder: ShapeFinder, key: Key, sets: Sequence[StringSet], form: str = "arpeggio") -> list[Sheet]:
    """One key, its seven chords: a sheet for each set of strings. Raises NotPlayableError when nothing fits."""
    sheets = [_sheet(finder, f"{key.scale_name} on {on}", "", form, _of_key(key, [on]), 2) for on in sets]
    return [replace(sheet, idea=_climb(sheet, form), flowing=True) for sheet in sheets]


def _climb(sheet: Sheet, form: str) -> str:
    """Where the roots of a key's chords go, in the order printed: up the neck, or down again and from where."""
    idea = "One key and its chords"
    if form != ARPEGGIO.id:
        return f"{idea}, in the order of its scale."
    roots = [(panel.name, panel.notes[0].fret) for panel in sheet.drawn]
    down = [there for here, there in pairwise(roots) if there[1] < here[1]]
    if not down:
        return f"{idea}: the roots climb the lowest string of the set."
    again = " and ".join(f"{name} at fret {fret}" for name, fret in down)
    return f"{idea}: the roots climb the lowest string of the set, and begin again below with {again}."


def key_overview(finder: ShapeFinder, key: Key, sets: Sequence[StringSet], form: str = "arpeggio") -> Sheet:
    """One key on one page: a row for each chord, a column for each set; a single set in two columns.

    Raises NotPlayableError when nothing fits.
    """
    idea = f"Its chords on {', '.join(on.name for on in sets)}."
    columns = max(2, len(sets))  # seven in a single column would be small beside an empty page
    return _sheet(finder, f"The key of {key.scale_name}", idea, form, _of_key(key, sets), columns, compact=True)


def same_place(
    finder: ShapeFinder, chords: Sequence[Chord], strings: StringSet, modes: Sequence[str] = (), *, phrase: bool = False
) -> Sheet:
    """Grip, arpeggio and mode side by side at the same frets, a row for each chord.

    modes: the mode of each chord, or empty for the usual ones. phrase: whether a short line in that place follows.
    Raises NotPlayableError when no arpeggio fits.
    """
    shapes, reasons = _found(finder, ARPEGGIO.id, [(chord, strings, None) for chord in chords])
    panels: list[Panel | None] = []
    beyond = 0
    for arpeggio in shapes:
        mode = (modes[chords.index(arpeggio.chord)] if modes else "") or None
        grip, scale = grip_inside(finder, arpeggio), mode_over(finder, arpeggio, mode)
        three = ((grip, "grip"), (arpeggio, "arpeggio"), (scale, ""))
        missing = [what or "mode" for shape, what in three if shape is None]
        reasons += tuple(f"{arpeggio.chord.name} on {strings}: no {what} fits at this place" for what in missing)
        row = [
            None
            if shape is None
            else panel_of(shape, finder.tuning.strings, where=f"{shape.strings}{', ' if what else ''}{what}")
            for shape, what in three
        ]
        beyond = max(beyond, *(_beyond(arpeggio, shape) for shape in (grip, scale) if shape is not None), 0)
        panels += window([*row, _phrase(finder, arpeggio, mode or "")] if phrase else row)
    idea = ("Grip, arpeggio, mode and a phrase " if phrase else "Grip, arpeggio and mode ") + (
        f"in one place: none goes more than {_counted(beyond, 'fret')} beyond the arpeggio." if beyond
        else "at the same frets: the hand stays."
    )  # fmt: skip
    together = 4 if phrase else 3
    return Sheet(f"The same place on {strings}", idea, tuple(panels), together, False, reasons, together)


def _phrase(finder: ShapeFinder, arpeggio: Shape, mode: str) -> Panel | None:
    """A short line in the place of an arpeggio, beat by beat; None where none fits."""
    line = phrase_in_place(finder, arpeggio, mode_name=mode)
    if line is None:
        return None
    notes = tuple(Placement(note.string, note.fret, note.pitch, note.degree, note.finger) for note in line.notes)
    strings = finder.tuning.strings
    return Panel(arpeggio.chord.name, "phrase", notes, strings, told=phrase_words(line, places=False))


def _beyond(shape: Shape, other: Shape) -> int:
    """How many frets another shape goes beyond the lowest or highest of a shape."""
    low, high = (edge(note.fret for note in shape.notes) for edge in (min, max))
    return max(0, *(max(low - note.fret, note.fret - high) for note in other.notes))


def shapes_sheet(shapes: Sequence[Shape], strings: int, title: str, idea: str, columns: int = 2) -> Sheet:
    """Any shapes on one sheet, e.g. a student's weakest five. Raises NotPlayableError when there are none."""
    if not shapes:
        raise NotPlayableError("handout: there is no shape to print; play a session first or name a chord")
    return Sheet(title, idea, tuple(panel_of(shape, strings) for shape in shapes), columns, flowing=True)


def whole_neck(finder: ShapeFinder, chords: Sequence[Chord]) -> Sheet:
    """Where every tone of each chord lies on the whole neck, a map a chord."""
    panels = tuple(_map(finder, chord) for chord in chords)
    names = ", ".join(printed(chord.name) for chord in chords[:4])
    return Sheet(f"{names} on the whole neck", "Every chord tone, from the open strings to the top fret.", panels, 1)


def _map(finder: ShapeFinder, chord: Chord) -> Panel:
    lowest_first = sorted(chord_places(finder.neck, chord), key=lambda place: -place.string)
    frets = (0, finder.neck.highest)
    return Panel(chord.name, "", tuple(lowest_first), finder.tuning.strings, None, frets, whole_neck=True)


_ROOT_PANELS = 3
"""So many notes are found one by one below the map of them all: they fit one page."""


def root_places(neck: Neck, string: int, notes: Sequence[Note], title: str, idea: str) -> Sheet:
    """Where notes lie on one string, first all on one map, then a map a note; blank they are to be filled in.

    Raises NotPlayableError when there is no note.
    """
    if not notes:
        raise NotPlayableError("handout: there is no root to print; play a session first")
    notes = notes[:_ROOT_PANELS]
    places = [note_places(neck, note, string) for note in notes]
    together = tuple(sorted((one for some in places for one in some), key=lambda one: one.fret))
    named = ", ".join(printed(note.name) for note in notes)
    maps = [(f"{named} on string {string}", together)]
    maps += [(f"{note.name} on string {string}", some) for note, some in zip(notes, places, strict=True)]
    frets = (0, neck.highest)
    panels = tuple(Panel(name, "", some, neck.tuning.strings, None, frets, whole_neck=True) for name, some in maps)
    return Sheet(title, idea, panels, 1)


def booklet(shapes: Iterable[Shape], strings: int, columns: int = 3, title: str = "") -> list[Sheet]:
    """Many shapes as sheets, in the order met: one quality, form and string set on each.

    title: of the deck they come from, said on every sheet. Where one form a sheet would leave most pages nearly
    empty, the shapes of a quality, or at last of a family of forms, share a sheet.
    Raises NotPlayableError when there is no shape.
    """
    shapes = list(shapes)
    if not shapes:
        raise NotPlayableError("handout: none of these cards asks for a shape to print; choose another deck")
    groups: dict[str, list[Shape]] = {}
    for titled in (_one_form, _one_quality, _one_family):
        groups = {}
        for shape in shapes:
            groups.setdefault(titled(shape), []).append(shape)
        if len(shapes) >= _FEW * len(groups):
            break
    return [
        replace(shapes_sheet(group, strings, _of_deck(title, name), "", columns), fields=False, flowing=False)
        for name, group in groups.items()
    ]


def _of_deck(title: str, name: str) -> str:
    """A sheet's title in its deck, whose title may say the family already."""
    return f"{title}: {name.removesuffix(f', {title.lower()}')}" if title else name


_FEW = 6
"""Half a page of diagrams."""


def _family(shape: Shape) -> str:
    if shape.form.kind == "grip":
        return f"{shape.form.title.partition(' grip')[0]} grips"
    return f"{shape.form.kind}s"


def _one_form(shape: Shape) -> str:
    name = shape.form.mode if shape.form.kind == "scale" else shape.chord.quality.symbol or "major triad"
    form = f", {shape.form.detail}" if shape.form.detail else ""
    return f"{name} on {shape.strings}{form}"


def _one_quality(shape: Shape) -> str:
    if shape.form.kind == "scale":
        return shape.form.mode
    return f"{shape.chord.quality.symbol or 'major triad'}, {_family(shape)}"


def _one_family(shape: Shape) -> str:
    return _family(shape).capitalize()
