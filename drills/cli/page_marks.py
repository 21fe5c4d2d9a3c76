"""Circles and arrows that a teacher asks for on a page, by the notes they belong to."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from drills.paper.sheet import Sheet

__all__ = ["MarkType", "Place", "refuse_idle_marks"]

Place = tuple[int, int]
"""String and fret."""

_MARK = re.compile(r"(\d{1,2})/(\d{1,2})(?:-(\d{1,2})/(\d{1,2}))?")


class MarkType(click.ParamType[Any]):
    """``6/8``, a circle around the note on string 6 at fret 8; ``6/8-5/10``, an arrow from one note to another."""

    name = "string/fret"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not isinstance(value, str):
            return value
        found = _MARK.fullmatch(value.strip())
        if found is None:
            self.fail(
                f"{value[:24]!r}: expected string/fret such as 6/8 for a circle, or 6/8-5/10 for an arrow", param, ctx
            )
        string, fret, to_string, to_fret = (int(part) if part else None for part in found.groups())
        return ((string, fret),) if to_string is None else ((string, fret), (to_string, to_fret))


def refuse_idle_marks(sheets: Iterable[Sheet], marks: Iterable[tuple[Place, ...]]) -> None:
    """Raises UsageError for a mark that no diagram can show: one needs all its notes in one diagram."""
    drawn = [{(note.string, note.fret) for note in panel.notes} for sheet in sheets for panel in sheet.drawn]
    for mark in marks:
        if not any(places.issuperset(mark) for places in drawn):
            written = "-".join(f"{string}/{fret}" for string, fret in mark)
            places = " and ".join(f"string {string} at fret {fret}" for string, fret in mark)
            raise click.UsageError(
                f"--mark {written}: no diagram of this page has a note on {places}; "
                "see the page without --mark for the places it has"
            )
