"""Which frets a drawing shows, where the nut is, and what a grid is when nothing is said of it."""

from itertools import product

import pytest

from drills.diagrams.grid import Grid, GridMark, blank_grid, grid_of, grid_of_marks, grid_of_notes
from tests.diagrams.shapes import shape_named


def marks_at(*frets):
    """A mark on string 6, 5 and so on, one a fret."""
    return tuple(GridMark(6 - index, fret, str(index), not index) for index, fret in enumerate(frets))


@pytest.mark.parametrize("low", range(1, 16))
@pytest.mark.parametrize("high", range(5))
@pytest.mark.parametrize("opened", [False, True])
def test_a_drawing_shows_four_frets_and_near_the_nut_the_first_position(low, high, opened):
    """All marks are shown over four frets or more; beside an open string frets to 3 are counted from the nut."""
    grid = grid_of_marks(marks_at(low, low + high, *([0] * opened)), 6)
    first = 1 if opened and low in (1, 2, 3) else low
    shown = [fret for fret in range(first, 25) if fret < first + 4 or fret <= low + high]
    assert grid.frets == ((0,) if opened else ()) + tuple(shown)
    assert (grid.first_fret, grid.last_fret) == (shown[0], shown[-1])
    assert grid.columns == grid.frets and grid.open_column == opened


@pytest.mark.parametrize(("first", "last"), [*product(range(8), range(1, 16))])
def test_frets_asked_for_are_shown_at_least(first, last):
    """A window of frets is shown with the marks in it; one from fret 0 shows the neck from the open strings on."""
    grid = grid_of_marks(marks_at(6), 6, frets=(first, max(first, last)))
    begin = min(first, 6) if first else 1
    assert grid.first_fret == begin and grid.open_column == (first == 0)
    assert grid.last_fret == max(first, last, 6, begin + 3)


def test_an_empty_part_of_the_neck_is_the_first_position():
    """Without marks the first four frets are shown, right-handed and numbered, without a place for open strings."""
    assert grid_of_marks((), 6) == Grid(6, 1, 4, (), open_column=False, left_handed=False, numbered=True)
    assert grid_of_marks(marks_at(0), 6).frets == (0, 1, 2, 3, 4)
    plain = Grid(6, 1, 4, ())
    assert (plain.open_column, plain.left_handed, plain.numbered) == (False, False, True)


def test_a_shape_is_drawn_right_handed_with_degrees_unless_asked_otherwise():
    """The defaults of all ways to a grid are degrees, a right-hander's neck, and no more frets than needed."""
    shape = shape_named("Cmaj7", "654")
    expected = Grid(
        6,
        7,
        10,
        (
            GridMark(6, 8, "1", True, "root"),
            GridMark(5, 7, "3", False, "third"),
            GridMark(5, 10, "5", False),
            GridMark(4, 9, "7", False, "seventh"),
            GridMark(4, 10, "8", True, "root"),
        ),
        used=frozenset({6, 5, 4}),
    )
    assert grid_of(shape, 6) == grid_of_notes(shape.notes, 6) == grid_of_marks(expected.marks, 6) == expected
    assert [mark.label for mark in grid_of(shape, 6, "fingers").marks] == ["2", "1", "4", "3", "4"]
    assert [mark.label for mark in grid_of(shape, 6, "notes").marks] == ["C", "E", "G", "B", "C"]
    for grid in (
        grid_of(shape, 6, left_handed=True),
        grid_of_notes(shape.notes, 6, left_handed=True),
        grid_of_marks(expected.marks, 6, left_handed=True),
    ):
        assert grid.left_handed and grid.columns == (10, 9, 8, 7) and grid.box_strings == (1, 2, 3, 4, 5, 6)
    assert expected.box_strings == (6, 5, 4, 3, 2, 1) and Grid(4, 1, 4, ()).box_strings == (4, 3, 2, 1)


def test_a_mark_is_found_by_its_string_and_its_fret():
    """A place has the mark that stands there, and no other."""
    grid = grid_of(shape_named("Cmaj7", "654"), 6)
    places = {(mark.string, mark.fret): mark for mark in grid.marks}
    for string, fret in product(range(1, 7), range(0, 15)):
        assert grid.at(string, fret) == places.get((string, fret))


def test_the_nut_is_the_wire_of_fret_1_away_from_fret_2():
    """Counted from the left from 0, the nut is the wire left of fret 1, and right of it for a left-hander."""
    right = grid_of_marks(marks_at(0, 2), 6)
    left = grid_of_marks(marks_at(0, 2), 6, left_handed=True)
    assert right.nut_wire(right.columns) == 1 and right.nut_wire((1, 2, 3)) == 0
    assert left.columns == (4, 3, 2, 1, 0) and left.nut_wire(left.columns) == 4
    assert right.nut_wire((2, 3, 4)) is None and left.nut_wire((4, 3, 2)) is None


@pytest.mark.parametrize("frets", [(0, 2), (3, 5), (8, 13)])
def test_a_blank_part_is_as_long_and_gives_nothing_away(frets):
    """A blank keeps the number of frets, begins where no nut is, and keeps its frets and numbers only when asked."""
    grid = grid_of_marks(marks_at(*frets), 6, left_handed=True)
    blank = blank_grid(grid, numbered=False)
    assert blank == Grid(
        6, 2, len(grid.frets) + 1, (), open_column=False, left_handed=True, numbered=False, used=grid.used
    )
    assert grid.used == {mark.string for mark in grid.marks}
    assert blank.nut_wire(blank.columns) is None
    numbered = blank_grid(grid)
    assert numbered == Grid(
        6,
        grid.first_fret,
        grid.last_fret,
        (),
        open_column=grid.open_column,
        left_handed=True,
        numbered=True,
        used=grid.used,
    )
