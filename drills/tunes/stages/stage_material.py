"""The material of every stage: the changes, a path of roots, and the arpeggio at each of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from drills.changes.changes import Changes
from drills.harmony.chord_timeline import Span, spans_of
from drills.harmony.neck_layout import arpeggio_near
from drills.harmony.planned_path import planned_path
from drills.harmony.root_path import PLANNED, Path, root_strings, start_places, step_path, stops
from drills.lines.line import CHORD_TONE, Line, LineNote
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.root_places import RootPlace
from drills.shapes.shape import Placement, Shape
from drills.theory.altered_dominant import altered_fifth_words

__all__ = ["StageMaterial", "comfortable_start", "note_at", "stage_material", "up_and_down"]


@dataclass(frozen=True, slots=True)
class StageMaterial:
    """Changes with a path of roots.

    spans: every chord in playing order, those without a chord left out. shapes: the arpeggio of
    each, at the path's root or as near as it fits. remarks: where it did not fit. on: the one string
    set that everything lies on, or None. altered: what is said of the fifths of altered dominants.
    """

    changes: Changes
    finder: ShapeFinder
    path: Path
    spans: tuple[Span, ...]
    shapes: tuple[Shape, ...]
    remarks: tuple[str, ...] = ()
    on: StringSet | None = None
    altered: tuple[str, ...] = ()

    @property
    def neck(self) -> Neck:
        """The player's neck."""
        return self.finder.neck

    @property
    def root(self) -> RootPlace:
        """Where the first root lies."""
        first = self.shapes[0].root
        return RootPlace(first.string, first.fret)

    def line(self, title: str, notes: list[LineNote], kind: str) -> Line:
        """A line over these changes."""
        remarks = (*self.remarks, *self.altered) if kind in _OF_ARPEGGIOS else self.remarks
        return Line(title, self.changes, self.neck.sounding, tuple(notes), kind, remarks)

    def beats(self, span: Span) -> list[tuple[Fraction, Fraction]]:
        """(start, length) of every beat of a span, in quarter notes; the last may be cut short."""
        return self.strokes(span, 1)

    def strokes(self, span: Span, least: int) -> list[tuple[Fraction, Fraction]]:
        """The beats of a span, or where they are fewer than `least` half beats, or else thirds of a beat."""
        whole = Fraction(4, span.bar.metre.unit)
        beat = next((whole / parts for parts in (1, 2) if span.length * parts >= least * whole), whole / 3)
        found = []
        place = Fraction(0)
        while place < span.length:
            found.append((span.start + place, min(beat, span.length - place)))
            place += beat
        return found


_OF_ARPEGGIOS = ("grips", "spell up", "spell down", "connect", "octaves")
"""Kinds of line that play the tones of a chord's arpeggio and no others."""

_COMFORTABLE_FRET = 8
"""New stretches begin at fret 7 or above (drills/RULES.md, E), with a fret below the root still in reach."""


def comfortable_start(changes: Changes, neck: Neck, strings: tuple[int, ...] | None = None) -> RootPlace:
    """Where the first root lies nearest to fret 8, where stretches are easy; on a tie on the lower-sounding string.

    Raises PathError when the changes hold no chord or its root has no place.
    """
    first = stops(changes)[0][1].sounding
    places = start_places(neck, first, root_strings(neck, strings), None)
    return min(places, key=lambda place: (abs(place.fret - _COMFORTABLE_FRET), -place.string))


def stage_material(
    changes: Changes,
    finder: ShapeFinder,
    *,
    start: int | RootPlace | None = None,
    method: str = "step by step",
    strings: tuple[int, ...] | None = None,
    on: StringSet | None = None,
) -> StageMaterial:
    """The changes with their path and their arpeggios.

    start, strings: as for the path. method: ``step by step`` or ``planned``. on: one string set for everything;
    the roots then lie on its lowest string.
    Raises PathError or NotPlayableError when roots or arpeggios do not fit.
    """
    finding = planned_path if method == PLANNED else step_path
    if on is not None:
        on.check(finder.tuning)
        strings = on.numbers[:1]
    path = finding(changes, finder.neck, start=start, strings=strings)
    spans = tuple(span for span in spans_of(changes) if span.chord is not None)
    shapes, remarks, altered = [], [], []
    for span, step in zip(spans, path.steps, strict=True):
        shape, there = arpeggio_near(finder, span.spelled, RootPlace(step.string, step.fret), path.strings, on)
        if not there:
            root = shape.root
            remark = (
                f"{span.sounding.name} does not fit from string {step.string} fret {step.fret}: "
                f"laid from string {root.string} fret {root.fret}"
            )
            remarks += [] if remark in remarks else [remark]
        if words := altered_fifth_words(span.sounding):
            altered.append(f"{span.slot.text} is spelled as {span.spelled.name}: {words}")
        shapes.append(shape)
    return StageMaterial(changes, finder, path, spans, tuple(shapes), tuple(remarks), on, tuple(dict.fromkeys(altered)))


def up_and_down(places: Sequence[Placement], count: int) -> list[Placement]:
    """So many notes of places played up and back, again and again, neither end twice running."""
    way = [*places, *places[-2:0:-1]]
    return [way[number % len(way)] for number in range(count)]


def note_at(
    span: Span, start: Fraction, length: Fraction, place: Placement, why: str, role: str = CHORD_TONE
) -> LineNote:
    """A note of a shape put at a time (quarter notes from the beginning)."""
    beat = span.slot.beat + (start - span.start) * span.bar.metre.unit / 4
    at = (start, length, span.bar.number, beat)
    return LineNote(*at, place.string, place.fret, place.finger, place.pitch, place.degree, role, why)
