"""Finds where the forms that are firm in a player's log lie for each chord, so that a line uses no others."""

from __future__ import annotations

from collections.abc import Collection

from drills.changes.changes import Changes
from drills.errors import EtudeError, NotPlayableError
from drills.harmony.chord_timeline import Span, spans_of
from drills.neck.strings import StringSet, core_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.shapes.same_place import mode_over
from drills.shapes.shape import Shape
from drills.theory.mode import Mode
from drills.theory.note import Note
from drills.theory.quality import Quality

__all__ = ["owned_places"]


def _shapes(finder: ShapeFinder, span: Span, strings: StringSet) -> list[Shape]:
    """The arpeggio at each of its roots on a string set, and the mode laid over it."""
    found = []
    for fret in finder.neck.frets_of(strings.numbers[0], span.sounding.root.pitch_class):
        try:
            arpeggio = finder.at(span.sounding, ARPEGGIO, strings, fret)
        except NotPlayableError:
            continue
        found.append(arpeggio)
        scale = mode_over(finder, arpeggio, span.mode.name) if span.mode else None
        if scale is not None:
            found.append(scale)
    return found


def owned_places(
    changes: Changes, finder: ShapeFinder, signatures: Collection[str]
) -> dict[int, frozenset[tuple[int, int]]]:
    """(string, fret) places of owned forms, by index of the chord in ``changes.slots``.

    signatures: of the forms owned, as `Shape.signature` gives them (a form skill without
    ``form:``). Raises EtudeError naming a chord for which no owned form exists.
    """
    owned = {signature.removeprefix("form:") for signature in signatures}
    found: dict[int, frozenset[tuple[int, int]]] = {}
    known: dict[tuple[Note, Quality, Mode | None], frozenset[tuple[int, int]]] = {}
    for index, span in enumerate(spans_of(changes)):
        if span.chord is None:
            continue
        key = (span.chord.root, span.chord.quality, span.mode)
        if key not in known:
            known[key] = frozenset(
                (note.string, note.fret)
                for strings in core_sets(finder.tuning)
                for shape in _shapes(finder, span, strings)
                if shape.signature in owned
                for note in shape.notes
            )
        if not known[key]:
            raise EtudeError(
                f"etude line, bar {span.bar.number}, {span.slot.text}: none of the forms you own is for this chord; "
                "learn one first, or allow all forms"
            )
        found[index] = known[key]
    return found
