"""A sheet: one idea, as a title and panels, each a shape or a map of the neck with its name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drills.diagrams.grid import Grid, blank_grid, grid_of_notes
from drills.diagrams.speech import say_notes, say_shape
from drills.diagrams.text import position_name
from drills.diagrams.typesetting import printed
from drills.paper.page_style import PageStyle
from drills.shapes.shape import Placement, Shape

__all__ = ["Panel", "Sheet", "panel_of", "window"]


@dataclass(frozen=True, slots=True)
class Panel:
    """One diagram of a sheet before it is drawn.

    name: in the player's spelling, ASCII. where: string set and the like, empty for a map.
    notes: what to draw, in playing order. strings: how many the instrument has. shape: what
    they come from, None for a map of the neck. frets: first and last fret to show at least.
    whole_neck: whether the drawing is a map, numbered even when blank. told: of notes that come from no shape, what
        stands under them.
    """

    name: str
    where: str
    notes: tuple[Placement, ...]
    strings: int
    shape: Shape | None = None
    frets: tuple[int, int] | None = None
    whole_neck: bool = False
    told: str = ""

    def grid(self, style: PageStyle, blank: bool = False) -> Grid:
        """What is drawn: the same grid the screen draws; a map has no fingers to show, and shows degrees."""
        labels = "degrees" if self.whole_neck and style.labels == "fingers" else style.labels
        grid = grid_of_notes(self.notes, self.strings, labels, style.left_handed, self.frets)
        grid = replace(grid, dots=style.dots, circled=style.circled, arrows=style.arrows)
        return blank_grid(grid, numbered=self.whole_neck) if blank else grid

    @property
    def position(self) -> str:
        """``position VII``, or ``""`` for a map and for a scale whose places are counted otherwise."""
        if self.shape is None or self.shape.form.per_string:
            return ""
        return f"position {position_name(self.shape.position)}"

    @property
    def note_names(self) -> str:
        """The notes in playing order with printed accidentals, or ``""`` for a map."""
        return " ".join(printed(note.pitch.note.name) for note in self.notes) if self.shape else printed(self.told)

    @property
    def spoken(self) -> str:
        """Every note in words."""
        if self.shape:
            return say_shape(self.shape)
        if self.told:
            return f"{say_notes(self.notes)} Beat by beat: {self.told}."
        by_string: dict[int, list[str]] = {}
        for note in self.notes:
            by_string.setdefault(note.string, []).append(f"fret {note.fret} {note.pitch.note} {note.degree}")
        return "; ".join(f"string {string}: {', '.join(by_string[string])}" for string in sorted(by_string)) + "."


@dataclass(frozen=True, slots=True)
class Sheet:
    """One idea to put on paper.

    title: in a few words. idea: a sentence under it. panels: None where a row has a gap.
    columns: panels in a row. compact: names and drawings only, for an overview. together:
    panels that make one thought and share a row, or else a column. left_out: what did not
    fit, each with its reason. note: a teacher's own words under the idea. fields: whether a student
    writes name, date and tempo on its first page. flowing: whether panels only follow one another, so that a row may
    hold more or fewer than `columns`.
    """

    title: str
    idea: str
    panels: tuple[Panel | None, ...]
    columns: int = 3
    compact: bool = False
    left_out: tuple[str, ...] = ()
    together: int = 1
    note: str = ""
    fields: bool = True
    flowing: bool = False

    @property
    def drawn(self) -> tuple[Panel, ...]:
        """The panels without the gaps."""
        return tuple(panel for panel in self.panels if panel is not None)


def panel_of(shape: Shape, strings: int, frets: tuple[int, int] | None = None, where: str = "") -> Panel:
    """The panel of a shape. where: what to write beside the name instead of its strings and form."""
    if not where:
        # A panel is narrow: what the fret numbers and the root's square show need not be said.
        said = shape.form.detail.replace(" grip", "").replace(", root in the bass", "").replace(" in the", " in")
        where = f"{shape.strings}, {said}" if said else str(shape.strings)
    return Panel(shape.name, where, shape.notes, strings, shape, frets)


def window(panels: Sequence[Panel | None]) -> tuple[Panel | None, ...]:
    """The panels drawn over one and the same part of the neck, so that the eye can compare places."""
    shown = [note.fret for panel in panels if panel for note in panel.notes]
    if not any(shown):
        return tuple(panels)
    lowest = 0 if 0 in shown else min(shown)
    return tuple(panel and replace(panel, frets=(lowest, max(shown))) for panel in panels)
