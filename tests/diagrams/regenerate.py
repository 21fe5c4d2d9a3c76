"""Draws the golden pictures again: run `python -m tests.diagrams.regenerate`, then look at the difference."""

from pathlib import Path

from drills.diagrams.answer import answer_lines
from drills.diagrams.grid_picture import shape_picture
from drills.diagrams.picture_svg import svg_text
from drills.diagrams.text import tab_lines
from tests.diagrams.shapes import shape_named

GOLDEN = Path(__file__).parent / "golden"

SHAPES = {
    "cmaj7-654": ("Cmaj7", "654", "arpeggio"),
    "fmaj7-654-open": ("Fmaj7", "654", "arpeggio"),
    "cdim7-432": ("Cdim7", "432", "arpeggio"),
    "ebm7-grip": ("Ebm7", "5432", "grip"),
    "d-dorian-543": ("D Dorian", "543", "scale"),
}


def drawings():
    """Golden file names and what they should hold."""
    found = {}
    for name, (chord, strings, form) in SHAPES.items():
        shape = shape_named(chord, strings, form)
        parts = []
        for width in (40, 80):
            for ascii_only in (False, True):
                for left_handed in (False, True):
                    how = f"{width} columns, {'plain' if ascii_only else 'Unicode'}{', left-handed' * left_handed}"
                    options = {"width": width, "ascii_only": ascii_only, "left_handed": left_handed}
                    parts += [f"== {how}", *answer_lines(shape, 6, **options)]
        parts += ["== box, fingers", *answer_lines(shape, 6, box=True, labels="fingers")]
        parts += ["== box, left-handed, notes", *answer_lines(shape, 6, box=True, labels="notes", left_handed=True)]
        parts += ["== tablature", *tab_lines(shape, 6), "== spoken", *answer_lines(shape, 6, plain=True)]
        found[f"{name}.txt"] = "\n".join(parts) + "\n"
        found[f"{name}.svg"] = svg_text(shape_picture(shape, 6))
    return found


if __name__ == "__main__":
    GOLDEN.mkdir(exist_ok=True)
    for name, text in drawings().items():
        (GOLDEN / name).write_text(text, encoding="utf-8")
