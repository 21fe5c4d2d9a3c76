"""Drawings as they were last looked at, and the rules' own pictures."""

import pytest

from drills.diagrams.answer import answer_lines
from drills.diagrams.grid import grid_of
from drills.diagrams.text import Glyphs, box_lines, neck_lines
from tests.diagrams.regenerate import GOLDEN, drawings
from tests.diagrams.shapes import shape_named


@pytest.mark.parametrize("name", sorted(drawings()))
def test_a_drawing_is_as_it_was_last_looked_at(name):
    """Every golden drawing comes out the same, at two widths, in Unicode and plain, for either hand."""
    assert drawings()[name] == (GOLDEN / name).read_text(encoding="utf-8")


def test_no_golden_drawing_is_left_over():
    """The folder holds what the regenerator makes and nothing else."""
    assert {path.name for path in GOLDEN.iterdir()} == set(drawings())


def _squeezed(lines):
    return [line.split() for line in lines]


def test_the_chord_box_is_the_rules():
    """Cmaj7 on 6-5-4 with fingers is drills/RULES.md, F1's first box: strings across, frets down, roots set apart."""
    drawn = box_lines(grid_of(shape_named("Cmaj7", "654"), 6, "fingers"), Glyphs.parse("#-[1]-| ."))
    assert _squeezed(drawn) == [
        ["6", "5", "4", "3", "2", "1"],
        ["7", ".", "1", ".", ".", ".", "."],
        ["8", "[2]", ".", ".", ".", ".", "."],
        ["9", ".", ".", "3", ".", ".", "."],
        ["10", ".", "4", "[4]", ".", ".", "."],
    ]


def test_a_left_handers_box_has_string_6_at_the_right():
    """Rules G16 and F1's second box: mirrored, degrees in place, fingers and tab unchanged."""
    drawn = box_lines(grid_of(shape_named("Cmaj7", "654"), 6, "degrees", left_handed=True), Glyphs.parse("#-[1]-| ."))
    assert _squeezed(drawn) == [
        ["1", "2", "3", "4", "5", "6"],
        ["7", ".", ".", ".", ".", "3", "."],
        ["8", ".", ".", ".", ".", ".", "[1]"],
        ["9", ".", ".", ".", "7", ".", "."],
        ["10", ".", ".", ".", "[8]", "5", "."],
    ]


def test_an_open_string_is_drawn_as_fret_0():
    """Rule G9: Fmaj7 on 6-5-4 has its open A at 0, left of the nut."""
    lines = neck_lines(grid_of(shape_named("Fmaj7", "654"), 6), 40)
    assert lines[0].split() == ["0", "1", "2", "3", "4"]
    assert lines[5].split("║")[0].split() == ["5", "3"]


def test_the_core_card_is_spoken_as_the_rules_say():
    """Rule G25: the words for check 2, exactly."""
    assert (
        "string 6 fret 8 C root, finger 2; string 5 fret 7 E third, finger 1; string 5 fret 10 G fifth, finger 4; "
        "string 4 fret 9 B seventh, finger 3; string 4 fret 10 C octave, finger 4."
    ) in answer_lines(shape_named("Cmaj7", "654"), 6, plain=True)


@pytest.mark.parametrize("picture", ["", "║─[1]─│", "║─[2]─│ ·", "║─[1]=│ ·", "║─[1]─│··"])
def test_a_malformed_picture_of_glyphs_is_refused(picture):
    """Glyphs are read from a drawing of themselves; one that is not such a drawing raises."""
    with pytest.raises(ValueError, match="expected nut, string"):
        Glyphs.parse(picture)


def test_a_long_neck_is_cut_into_rows_that_fit():
    """Two octaves of frets on 40 columns come in rows, each with all strings, together with every fret once."""
    lines = neck_lines(grid_of(shape_named("Cmaj7", "654"), 6, frets=(0, 15)), 40)
    numbers = [int(part) for line in lines if line and not line[1:2].isdigit() for part in line.split()]
    assert numbers == list(range(16))
    assert max(map(len, lines)) <= 40
    assert sum(line.startswith(" 6 ") for line in lines) == len(lines) // 8 + 1


def test_a_wrong_label_or_orientation_is_refused():
    """Asking for a label or an orientation that does not exist names what does."""
    from drills.diagrams.grid_picture import grid_picture

    with pytest.raises(ValueError, match="degrees, fingers, notes"):
        grid_of(shape_named("Cmaj7", "654"), 6, "names")
    with pytest.raises(ValueError, match="neck or box"):
        grid_picture(grid_of(shape_named("Cmaj7", "654"), 6), "sideways")
