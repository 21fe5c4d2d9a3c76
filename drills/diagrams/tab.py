"""A shape as a bar of tablature in characters, string 1 on top, in the order played."""

from __future__ import annotations

from drills.shapes.shape import Shape

__all__ = ["tab_lines"]


def tab_lines(shape: Shape, strings: int) -> list[str]:
    """One bar of tablature: fret numbers on string lines; a grip's notes stand above one another.

    strings: how many the instrument has.
    """
    columns = [shape.notes] if shape.form.kind == "grip" else [(note,) for note in shape.notes]
    width = max(len(str(note.fret)) for note in shape.notes)
    lines = []
    for string in range(1, strings + 1):
        cells = []
        for column in columns:
            fret = next((str(note.fret) for note in column if note.string == string), "")
            cells.append(fret.ljust(width, "-"))
        lines.append(f"{string:>2} |-" + "--".join(cells) + "--|")
    return lines
