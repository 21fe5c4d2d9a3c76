"""Handouts as they were last looked at: where every word, box and drawing of a page stands."""

import pytest

from tests.paper.golden_pages import GOLDEN, fits_text, handout_text, sheets


@pytest.mark.parametrize("name", sorted(sheets()))
def test_a_handout_is_as_it_was_last_looked_at(name):
    """Every layout in every look, filled in and blank, has its parts where they were, to a tenth of a point."""
    assert handout_text(name) == (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.long
def test_sheets_of_any_length_take_the_pages_they_took():
    """From one row to thirteen, in three looks, as many diagrams stand on each page as before, and as large."""
    assert fits_text() == (GOLDEN / "fits.txt").read_text(encoding="utf-8")


def test_no_golden_page_is_left_over():
    """The folder holds what is written again and nothing else."""
    assert {path.stem for path in GOLDEN.iterdir()} == {*sheets(), "fits"}
