"""Drawings in large characters say what the small ones say; a label is read back from its dots."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.diagrams.grid import grid_of
from drills.diagrams.large_text import large_box, large_label, large_neck
from drills.diagrams.text import neck_rows, row_text
from tests.diagrams.shapes import shape_named

NAMES = ("Cmaj7", "C7", "Cm7", "Cm7b5", "F#m7", "Bbmaj7", "Fmaj7")
SETS = ("654", "543", "432")
LABELS = ("degrees", "fingers", "notes")


def large_places(rows, grid):
    """Where a large neck has a label: the cells of either row that are no string line and not empty."""
    columns, found = grid.columns, set()
    for index, row in enumerate(rows[1:]):
        text = "".join(part for part, _ in row)[4:]
        cell = (len(text) + 1) // len(columns)
        for number, fret in enumerate(columns):
            if text[number * cell : (number + 1) * cell - 1].strip("─ "):
                found.add((index // 3 + 1, fret))
    return found


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(NAMES), st.sampled_from(SETS), st.sampled_from(LABELS), st.booleans(), st.integers(56, 130))
def test_a_large_neck_has_its_marks_where_the_small_one_has_them(name, strings, labels, left_handed, width):
    """Every mark at its string and fret, nothing else, no row wider than the window, three rows a string."""
    grid = grid_of(shape_named(name, strings), 6, labels, left_handed)
    rows = large_neck(grid, width)
    if rows is None:  # its frets have no room side by side
        assert width < 110
        return
    assert len(rows) == 1 + 3 * 6
    assert all(len(row_text(row)) <= width for row in rows)
    assert large_places(rows, grid) == {(mark.string, mark.fret) for mark in grid.marks}
    assert row_text(rows[0]).split() == [str(fret) for fret in grid.columns]


@pytest.mark.parametrize("labels", LABELS)
def test_tones_are_those_of_the_small_drawing(labels):
    """Root, third and seventh are marked in both, as often (Cm7 on 6-5-4: two roots, one third, one seventh)."""
    grid = grid_of(shape_named("Cm7", "654"), 6, labels)
    small = [tone for row in neck_rows(grid, 80, toned=True) for _, tone in row if tone]
    large = [tone for row in large_neck(grid, 80) for _, tone in row if tone]
    assert sorted(set(small)) == sorted(set(large)) == ["root", "seventh", "third"]
    assert small.count("root") == 2 and large.count("root") == 2 * 3
    # A third's brackets are two pieces of the small drawing, its three rows three of the large one.
    assert small.count("third") == 2 and large.count("third") == 3


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(NAMES), st.sampled_from(SETS), st.sampled_from(LABELS))
def test_labels_on_neighbouring_strings_never_touch(name, strings, labels):
    """The last dot of a label is empty: no full block, and no lower half, stands in its last row."""
    rows = [row_text(row) for row in large_neck(grid_of(shape_named(name, strings), 6, labels), 110)][1:]
    assert any("█" in row for row in rows)
    assert not any(set("█▄") & set(row) for row in rows[2::3])


def test_an_upright_box_is_three_rows_a_fret():
    """String 6 at the left, and for a left-hander at the right; the fret stands at the middle row."""
    shape = shape_named("Cmaj7", "654")
    rows = [row_text(row) for row in large_box(grid_of(shape, 6), 80)]
    assert len(rows) == 1 + 3 * 4
    assert rows[0].split() == list("654321")
    assert [row.split()[0] for row in rows[2::3]] == ["7", "8", "9", "10"]
    mirrored = [row_text(row) for row in large_box(grid_of(shape, 6, left_handed=True), 80)]
    assert mirrored[0].split() == list("123456")


def test_every_label_of_a_shape_has_a_picture_of_its_own():
    """Digits, letters of notes and signs: no two look alike, and what is not drawn is refused."""
    pictures = [large_label(sign) for sign in "0123456789ABCDEFGR#b"]
    assert None not in pictures
    assert len(set(pictures)) == len(pictures)
    assert large_label("x") is None
    assert large_neck(grid_of(shape_named("Cmaj7", "654"), 6), 24) is None
