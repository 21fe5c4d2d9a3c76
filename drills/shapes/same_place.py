"""Finds the grip and the mode that lie at an arpeggio's place on the neck."""

from __future__ import annotations

from drills.errors import NotPlayableError
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import Form
from drills.shapes.shape import Shape
from drills.theory.chord_mode import usual_mode

__all__ = ["grip_inside", "mode_over"]


def _grip_sets(root_string: int) -> list[tuple[Form, tuple[int, ...]]]:
    """Root-position grips with their bass on a string, and the strings each takes."""
    s = root_string
    return [
        (Form("grip", voicing="drop2"), (s, s - 1, s - 2, s - 3)),
        (Form("grip", voicing="drop3"), (s, s - 2, s - 3, s - 4)),
        (Form("grip", voicing="shell"), (s, s - 2, s - 3)),
        (Form("grip", voicing="shell", inversion=1), (s, s - 1, s - 2)),
        (Form("grip", voicing="close"), (s, s - 1, s - 2)),
    ]


def grip_inside(finder: ShapeFinder, arpeggio: Shape, within: StringSet | None = None) -> Shape | None:
    """The grip with its root where the arpeggio has it, or None when no grip fits there.

    Of the four-note grips the one whose top note is nearest the second string is
    taken (common practice: drop 3 with the root on string 6, drop 2 with the root
    on 5 or 4); then shells, then close triads.

    within: the strings a grip may take, all when None.
    """
    root = arpeggio.root
    options: list[tuple[int, int, int, Shape]] = []
    for form, numbers in _grip_sets(root.string):
        if numbers[-1] < 1 or (within is not None and not set(numbers) <= set(within.numbers)):
            continue
        strings = StringSet(numbers)
        try:
            shape = finder.at(arpeggio.chord, form, strings, root.fret)
        except NotPlayableError:
            continue
        options.append((-len(numbers), abs(numbers[-1] - 2), len(options), shape))
    return min(options)[-1] if options else None


def mode_over(finder: ShapeFinder, arpeggio: Shape, mode: str | None = None) -> Shape | None:
    """The mode laid over an arpeggio from its root, every chord tone at the arpeggio's own fret.

    mode: its name, or None for the chord's usual one. None when the arpeggio does
    not start on its root or the mode does not fit at that place.
    """
    form = arpeggio.form.upward
    name = mode or usual_mode(arpeggio.chord)
    if form.kind != "arpeggio" or form.start or not name:
        return None
    scale = Form("scale", octaves=form.octaves, closed=True, mode=name)
    places = {note.pitch.midi: (note.string, note.fret) for note in arpeggio.notes}
    try:
        return finder.over(arpeggio.chord, scale, arpeggio.strings, places)
    except NotPlayableError:
        return None
