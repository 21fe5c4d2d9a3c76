"""What a finder answers on several necks, as lines of text, and the file of what it was when last looked at.

Run `python -m tests.shapes.golden_shapes` to write it again, then look at the difference.
"""

from functools import partial
from pathlib import Path

from drills.errors import DrillsError
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.neck.tuning import read_tunings
from drills.shapes.answers import shape_on, usual_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.same_place import grip_inside, mode_over
from drills.theory.symbol import parse_chord

GOLDEN = Path(__file__).parent / "golden" / "found.txt"

NECKS = {
    "usual": Neck(),
    "short, roots 1 to 5": Neck(top_fret=12, root_frets=(1, 5)),
    "open roots and alternates": Neck(open_roots=True, alternates=True, reach_limit_mm=90.0),
    "capo 3, long scale": Neck(capo=3, scale_mm=864.0, alternates=True),
    "all fourths": Neck(read_tunings()["fourths"].tuning, top_fret=22, root_frets=(1, 22)),
}

CHORDS = ("Emaj7", "Fmaj7", "Bbm7b5", "Cdim7", "A7", "Ebm7")

FORMS = (
    "arpeggio", "arpeggio-from3-down", "arpeggio-from7-open-ended", "arpeggio-two-octaves", "scale",
    "scale-dorian-down", "scale-three-per-string", "scale-minor-pentatonic-position2", "grip", "grip-drop2",
    "grip-drop2-inv2", "grip-drop3", "grip-shell", "grip-shell-inv1",
)  # fmt: skip


def _said(shape):
    places = " ".join(f"{note.string}/{note.fret}={note.degree}" for note in shape.notes)
    fingers = "".join(map(str, shape.fingers))
    return f"{shape.variant or 'usual'} {places} by {fingers}, {shape.cost}, {shape.reach_mm:.0f} mm"


def _answer(ask):
    try:
        found = ask()
    except DrillsError as error:
        return f"refused: {error}"
    shapes = found if isinstance(found, list) else [found]
    return "; ".join("none" if shape is None else _said(shape) for shape in shapes) or "none"


def found_text():
    """Each form on its sets for each chord: the usual shape, its other ways, and what lies in the same place."""
    lines = []
    for neck_name, neck in NECKS.items():
        finder = ShapeFinder(neck)
        for form in FORMS:
            on = usual_sets(form, finder.tuning)
            lines.append(f"== {neck_name}, {form} on {' '.join(map(str, on))}")
            for number, name in enumerate(CHORDS):
                chord, strings = parse_chord(name), on[number % len(on)]
                where = f"{name} on {strings}"
                try:
                    shape = shape_on(finder, chord, form, strings)
                except DrillsError as error:
                    lines.append(f"{where}: refused: {error}")
                    continue
                lines.append(f"{where}: {_said(shape)}, position {shape.position}")
                if number % 2 == 0:
                    others = finder.alternates(shape.chord, shape.form, shape.strings, 2)
                    lines += [f"    {_said(other)}" for other in others]
                if form == "arpeggio":
                    lines.append(f"    inside: {_answer(partial(grip_inside, finder, shape))}")
                    lines.append(f"    over: {_answer(partial(mode_over, finder, shape))}")
                for fret in (shape.notes[0].fret - 12, shape.notes[0].fret + 12):
                    if number == 1:
                        ask = partial(finder.at, shape.chord, shape.form, shape.strings, fret)
                        lines.append(f"    at {fret}: {_answer(ask)}")
    finder = ShapeFinder(Neck())
    usual = shape_on(finder, parse_chord("Cmaj7"), "arpeggio", parse_strings("654"))
    lines += [
        "== other ways unless told how many",
        *map(_said, finder.alternates(usual.chord, usual.form, usual.strings)),
    ]
    lines += ["== fingerings unless told how many", *map(_said, finder.fingerings(usual))]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    GOLDEN.parent.mkdir(exist_ok=True)
    GOLDEN.write_text(found_text(), encoding="utf-8")
