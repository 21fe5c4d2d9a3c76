"""Sheets of every layout in every look as lines of text, and the folder of what they were when last looked at.

Run `python -m tests.paper.golden_pages` to write them again, then look at the difference.
"""

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

from drills.diagrams.picture import Group, Rect, Stroke, Words
from drills.neck.strings import StringSet
from drills.paper.page_style import Footer
from drills.paper.pages import sheet_pages
from drills.paper.sheet import Sheet, panel_of
from drills.shapes.answers import shape_on
from drills.shapes.form import ARPEGGIO
from tests.paper.pages import FINDER, FOOTER, LOOKS, SETS, bounds, chords, layouts, parts_of

GOLDEN = Path(__file__).parent / "golden"

LONG = Footer("E2 A2 D3 G3 B3 E4", 15, "Teacher 1, of the school in the long street, " * 3, "14 March 2026")
"""A footer of several lines on any paper."""


@cache
def sheets():
    """Sheets by the name of their golden file: the handouts, and one for each way a page can be crowded or empty."""
    (four, three) = (
        tuple(panel_of(FINDER.find(chord, ARPEGGIO, on), 6) for chord, on in product(chords(*names), SETS[:2]))
        for names in (("Bbm7b5", "Ebm7"), ("C7", "Fmaj7"))
    )
    long_name = replace(
        four[0], name="Bbm7b5 as the second of A flat minor", where="string set 6-5-4 of the instrument"
    )
    counted = panel_of(shape_on(FINDER, *chords("Am7"), "scale-minor-pentatonic-position2", SETS[0]), 6)
    run = panel_of(shape_on(FINDER, *chords("Gmaj7"), "scale-three-per-string", StringSet((6, 5, 4, 3, 2, 1))), 6)
    unnamed = replace(three[0], where="", frets=(0, 9))
    found = {name.replace(" ", "-"): sheets[:2] for name, sheets in layouts().items()}
    found["crowded"] = [
        Sheet(
            "A title that is longer than the page is wide, so that it has to be set smaller than other titles are" * 2,
            "An idea that is longer than the page is wide, so that it has to be set smaller than other ideas are" * 2,
            (long_name, counted, unnamed, None, *four, *three),
            3,
            left_out=tuple(f"{name} on 6-5-4 needs fret 17; the top fret is 15" for name in ("Cm7", "Bbm7", "F7")),
        )
    ]
    found["alone"] = [
        Sheet("One", "", (unnamed,), 1),
        Sheet("Two", "", (counted, long_name), 2, left_out=("Cm7 on 6-5-4 does not fit",)),
    ]
    found["map-and-runs"] = [Sheet("Map and runs", "", (layouts()["whole neck"][0].panels[0], run, run, four[0]), 4)]
    found["overview-without-idea"] = [Sheet("Many", "", (*four, None, *three) * 2, 9, True, ("Cm7 is left out",))]
    found["together"] = [
        Sheet("Three and three", "Side by side.", (*four[:3], *three[:3]), 3, together=3),
        Sheet("Four and two", "Side by side.", (*four, *three[:2]), 4, together=2),
    ]
    return found


def _numbers(*values):
    return " ".join(f"{value:.1f}" for value in values)


def _words(part):
    return f"{_numbers(part.x, part.y, part.size)}{' bold' * part.bold} {part.text!r}"


def _bounds(parts):
    boxes = [bounds(part) for part in parts]
    return _numbers(*(least(box[k] for box in boxes) for k, least in enumerate((min, min, max, max))))


def _group(group):
    """A diagram: its words and boxes beside it, and how far the drawing itself reaches."""
    drawn = [part for part in parts_of(group.parts) if not (isinstance(part, Words) and part.anchor == "start")]
    boxes = [part for part in group.parts if isinstance(part, Rect) and part.wide == part.high and part.width == 0.6]
    words = [part for part in group.parts if isinstance(part, Words) and part.anchor == "start"]
    said = f"{len(group.about)} characters spoken" if group.about else "nothing spoken"
    reach = _bounds([part for part in drawn if part not in boxes])
    ticks = "; ".join(_numbers(box.x, box.y, box.wide) + " black" * box.filled for box in boxes)
    return [
        f"diagram {group.title!r}, {said}: drawn {reach}; to tick {ticks or 'nothing'}",
        *("    " + _words(part) for part in words),
    ]


def page_lines(page):
    """A page as lines: what stands where, in points."""
    lines = [f"page {page.wide:g} x {page.high:g}, {page.title!r}, {page.about!r}"]
    strokes = [part for part in page.parts if isinstance(part, Stroke)]
    if strokes:
        alike = {_numbers(line.x1, line.x2, line.width, line.grey) for line in strokes}
        lines.append(
            f"lines {'; '.join(sorted(alike))} at {_numbers(*(y for line in strokes for y in {line.y1, line.y2}))}"
        )
    for part in page.parts:
        match part:
            case Group():
                lines += _group(part)
            case Words():
                lines.append(_words(part))
            case Stroke():
                pass
            case _:
                raise TypeError(f"not part of a page itself: {part!r}")
    return lines


def look_name(look, blank):
    """A look in words."""
    return (
        f"{look.paper}{', large' * look.large}, {look.orientation}, {look.labels}{', left-handed' * look.left_handed}"
        + (", blank" if blank else "")
    )


def handout_text(name):
    """What the golden file of a handout holds: its pages in every look, in every other one blank too."""
    lines = []
    for number, (look, blank) in enumerate([*product(LOOKS, (False,)), *product(LOOKS[1::2], (True,))]):
        for sheet in sheets()[name]:
            lines.append(f"== {look_name(look, blank)}")
            for page in sheet_pages(sheet, look, LONG if number % 3 else FOOTER, blank):
                lines += page_lines(page)
    return "\n".join(lines) + "\n"


def fits_text():
    """How many pages sheets of one to thirteen rows take, how many diagrams each has, and how wide one is drawn."""
    panel = panel_of(FINDER.find(*chords("Bbm7b5"), ARPEGGIO, SETS[0]), 6)
    looks = (LOOKS[0], LOOKS[4], LOOKS[5])
    lines = []
    for look, (columns, together, compact) in product(
        looks, ((1, 1, False), (2, 2, False), (3, 1, False), (3, 3, False), (4, 2, False), (6, 1, True), (1, 3, True))
    ):
        lines.append(f"== {look_name(look, False)}, {columns} in a row, {together} together{', compact' * compact}")
        for rows in (*range(1, 9), 13):
            panels = tuple(replace(panel, frets=(5, 10 + rows % 3)) for _ in range(rows * columns))
            pages = sheet_pages(Sheet("Many", "An idea", panels, columns, compact, together=together), look, FOOTER)
            groups = [[part for part in page.parts if isinstance(part, Group)] for page in pages]
            ink = [bounds(part) for part in parts_of(groups[0][0].parts) if isinstance(part, Stroke)]
            wide = max(box[2] for box in ink) - min(box[0] for box in ink)
            lines.append(f"{rows} rows: {' + '.join(str(len(each)) for each in groups)}, drawn {wide:.1f} wide")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    GOLDEN.mkdir(exist_ok=True)
    for name in sheets():
        (GOLDEN / f"{name}.txt").write_text(handout_text(name), encoding="utf-8")
    (GOLDEN / "fits.txt").write_text(fits_text(), encoding="utf-8")
