"""Shapes as they were last looked at, on several necks."""

from tests.shapes.golden_shapes import GOLDEN, found_text


def test_a_finder_answers_what_it_answered():
    """Every form on its strings has the places, fingers, price, reach, other ways and refusals it had."""
    found, known = found_text().split("\n"), GOLDEN.read_text(encoding="utf-8").split("\n")
    assert found == known
