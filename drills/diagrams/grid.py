"""The grid: which strings and frets a drawing shows and what stands where. Every drawing starts from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from drills.configuration.diagram_style import LABELS
from drills.shapes.shape import Placement, Shape
from drills.theory.note import Pitch

__all__ = [
    "FEWEST_FRETS", "ROOT", "SEVENTH", "THIRD", "Grid", "GridMark", "blank_grid", "grid_of", "grid_of_marks",
    "grid_of_notes", "label_of", "tone_of",
]  # fmt: skip

ROOT, THIRD, SEVENTH = "root", "third", "seventh"
"""The tones that say which chord it is: a drawing may tell them apart."""

FEWEST_FRETS = 4
"""A drawing shows at least the four frets a hand covers."""


@dataclass(frozen=True, slots=True)
class GridMark:
    """What stands at a place: a short label, whether it is a root, and which of the telling tones it is, or ``""``."""

    string: int
    fret: int
    label: str
    is_root: bool
    tone: str = ""


@dataclass(frozen=True, slots=True)
class Grid:
    """A part of a neck with marks on it.

    strings: how many the instrument has; string 1 is drawn on top of a sideways neck.
    first_fret, last_fret: the fretted columns shown, 1 or more. open_column: whether
    there is a column for open strings (or the capo). left_handed: mirrored.
    numbered: whether fret numbers are written, or left for a player to fill in.
    used: the strings that are played, drawn heavier; empty where all or none are. dots: frets with the dots of a
    fretboard, each with one or two. circled: places in a circle. arrows: from a place to a place, each (string, fret).
    """

    strings: int
    first_fret: int
    last_fret: int
    marks: tuple[GridMark, ...]
    open_column: bool = False
    left_handed: bool = False
    numbered: bool = True
    used: frozenset[int] = frozenset()
    dots: tuple[tuple[int, int], ...] = ()
    circled: tuple[tuple[int, int], ...] = ()
    arrows: tuple[tuple[tuple[int, int], tuple[int, int]], ...] = ()

    @property
    def frets(self) -> tuple[int, ...]:
        """Fret numbers in the order drawn from the nut toward the body, 0 for the open column."""
        return ((0,) if self.open_column else ()) + tuple(range(self.first_fret, self.last_fret + 1))

    @property
    def columns(self) -> tuple[int, ...]:
        """Fret numbers from left to right on the page of a sideways neck."""
        return self.frets[::-1] if self.left_handed else self.frets

    @property
    def box_strings(self) -> tuple[int, ...]:
        """String numbers from left to right on an upright chord box: string 6 at the right for a left-hander."""
        falling = tuple(range(self.strings, 0, -1))
        return falling[::-1] if self.left_handed else falling

    def nut_wire(self, columns: tuple[int, ...]) -> int | None:
        """Which wire of some columns, counted from the left from 0, is the nut; None where fret 1 is not among them.

        The nut stands on the side of fret 1 away from fret 2: at its left, or at its right for a left-hander.
        """
        if 1 not in columns:
            return None
        return columns.index(1) + self.left_handed

    def at(self, string: int, fret: int) -> GridMark | None:
        """The mark at a place, or None."""
        return next((mark for mark in self.marks if mark.string == string and mark.fret == fret), None)


class _Labelled(Protocol):
    """A note on the neck that can be labelled."""

    @property
    def finger(self) -> int: ...

    @property
    def degree(self) -> str: ...

    @property
    def pitch(self) -> Pitch: ...


def label_of(note: _Labelled, labels: str) -> str:
    """What is written at a note: its finger, its name or its degree. labels: one of LABELS."""
    if labels == "fingers":
        return str(note.finger)
    return note.pitch.note.name if labels == "notes" else note.degree


def tone_of(note: _Labelled) -> str:
    """`ROOT`, `THIRD` or `SEVENTH` by a note's degree, else ``""``."""
    if note.degree in ("1", "8", "15"):
        return ROOT
    return {"3": THIRD, "7": SEVENTH}.get(note.degree.strip("b#"), "")


def grid_of(
    shape: Shape, strings: int, labels: str = "degrees", left_handed: bool = False, frets: tuple[int, int] | None = None
) -> Grid:
    """The grid of a shape; see `grid_of_notes`. A figure's notes outside the chord are none of its telling tones."""
    grid = grid_of_notes(shape.notes, strings, labels, left_handed, frets)
    if shape.form.kind != "figure":
        return grid
    outside = {(note.string, note.fret) for note in shape.notes if note.midi % 12 not in shape.chord.pitch_classes}
    marks = tuple(replace(mark, tone="") if (mark.string, mark.fret) in outside else mark for mark in grid.marks)
    return replace(grid, marks=marks)


def grid_of_notes(
    notes: Sequence[Placement],
    strings: int,
    labels: str = "degrees",
    left_handed: bool = False,
    frets: tuple[int, int] | None = None,
) -> Grid:
    """The grid of any notes on a neck, e.g. every chord tone of a chord.

    strings: how many the instrument has. labels: one of LABELS. frets: the first and last
    fret to show at least, so that drawings side by side cover the same part of the neck;
    a first fret of 0 shows the neck from the open strings on.
    Raises ValueError when `labels` is none of LABELS.
    """
    if labels not in LABELS:
        raise ValueError(f"labels: expected one of {', '.join(LABELS)}, got {labels!r}")
    first = {(note.string, note.fret): note for note in reversed(notes)}  # a place that is played twice has one mark
    here = dict.fromkeys((note.string, note.fret) for note in notes)
    marks = tuple(
        GridMark(n.string, n.fret, label_of(n, labels), n.is_root, tone_of(n)) for n in (first[place] for place in here)
    )
    return grid_of_marks(marks, strings, left_handed, frets)


def grid_of_marks(
    marks: Sequence[GridMark], strings: int, left_handed: bool = False, frets: tuple[int, int] | None = None
) -> Grid:
    """The grid of any marks, none of them for an empty part of the neck; the rest as for `grid_of_notes`."""
    shown = [mark.fret for mark in marks] + list(frets or ())
    fretted = [fret for fret in shown if fret]
    first = min(fretted, default=1)
    opened = 0 in shown
    if (opened and first <= 3) or (frets and not frets[0]):
        first = 1  # near the nut the whole first position is shown, so that the eye can count from it
    last = max([*fretted, first + FEWEST_FRETS - 1])
    used = frozenset(mark.string for mark in marks)
    return Grid(
        strings, first, last, tuple(marks), opened, left_handed, used=used if len(used) < strings else frozenset()
    )


def blank_grid(grid: Grid, numbered: bool = True) -> Grid:
    """A part of the neck as large with nothing on it, to be filled in; without fret numbers unless `numbered`.

    Without them it is any part of the neck: neither the nut, a place for open strings nor a dot gives the answer away.
    """
    if numbered:
        return replace(grid, marks=(), circled=(), arrows=())
    frets = len(grid.frets)
    return replace(
        grid, marks=(), numbered=False, open_column=False, first_fret=2, last_fret=1 + frets, dots=(), circled=(),
        arrows=(),
    )  # fmt: skip
