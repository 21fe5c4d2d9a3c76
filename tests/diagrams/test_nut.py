"""The nut is drawn thick where it is shown, and nowhere else."""

import pytest

from drills.diagrams.grid import Grid
from drills.diagrams.grid_picture import box_picture, neck_picture
from drills.diagrams.picture import Stroke
from drills.diagrams.text import neck_lines


def _grid(first, left_handed=False, open_column=False):
    return Grid(6, first, first + 3, (), open_column, left_handed)


def _widths(picture, across):
    """Width of each fret wire in points, from the left or from the top."""
    wires = [part for part in picture.parts if isinstance(part, Stroke) and across(part)]
    return [wire.width for wire in sorted(wires, key=lambda wire: (wire.x1, wire.y1))]


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("open_column", [False, True])
def test_a_box_has_its_nut_at_the_top(left_handed, open_column):
    """From fret 1 on the top wire of a box is the nut, 3 points; all others are thin, and higher up all are."""
    at_the_nut = _widths(box_picture(_grid(1, left_handed, open_column)), lambda part: part.y1 == part.y2)
    assert at_the_nut == [3.0, 0.7, 0.7, 0.7, 0.7]
    higher = _widths(box_picture(_grid(5, left_handed)), lambda part: part.y1 == part.y2)
    assert higher == [0.7] * 5


@pytest.mark.parametrize("open_column", [False, True])
def test_a_neck_has_its_nut_at_the_left_and_a_left_handed_one_at_the_right(open_column):
    """The nut stands on the side of fret 1 away from fret 2, on paper and on the screen."""
    right = _widths(neck_picture(_grid(1, False, open_column)), lambda part: part.x1 == part.x2)
    left = _widths(neck_picture(_grid(1, True, open_column)), lambda part: part.x1 == part.x2)
    assert right == [3.0, 0.7, 0.7, 0.7, 0.7]
    assert left == right[::-1]
    assert 3.0 not in _widths(neck_picture(_grid(2)), lambda part: part.x1 == part.x2)
    for grid in (_grid(1, False, open_column), _grid(1, True, open_column)):
        row = neck_lines(grid)[1]
        assert row.count("║") == 1
        assert (row.index("║") > row.index("│")) == grid.left_handed
    assert "║" not in "".join(neck_lines(_grid(2)))
