"""A shape drawn as it was heard: right notes as usual, `x` for a wrong or missing note, `?` where it is not sure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from drills.diagrams.grid import Grid, GridMark
from drills.shapes.shape import Placement

__all__ = ["with_glyphs"]


def with_glyphs(grid: Grid, notes: Sequence[Placement], glyphs: Sequence[str]) -> Grid:
    """The grid with a glyph in place of the label of some notes.

    notes: those of the shape in playing order. glyphs: as many; ``""`` leaves a note as it was.
    """
    at = {(note.string, note.fret): glyph for note, glyph in zip(notes, glyphs, strict=True) if glyph}

    def marked(mark: GridMark) -> GridMark:
        glyph = at.get((mark.string, mark.fret))
        return replace(mark, label=glyph) if glyph else mark

    return replace(grid, marks=tuple(map(marked, grid.marks)))
