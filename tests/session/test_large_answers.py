"""Answers are drawn large where nothing that the page says would go for it; a string set is said once."""

from __future__ import annotations

import re

import pytest

from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.text import note_table
from drills.session.letters import big
from drills.session.screen_lines import places_text
from drills.session.screens import screen

SIZES = {"40x15": (38, 14), "60x20": (58, 19), "80x24": (78, 23), "100x30": (98, 29), "120x40": (118, 39)}
"""Terminals by the columns and rows that they leave for text."""

LARGE_CORNER = "┏"


def page(one, size, **style):
    return [line.text for line in screen(one.drill, DiagramStyle(**style), *SIZES[size])]


def shown_answer(sitting, **focus):
    one = sitting(**focus)
    one.start()
    one.through_lessons()
    one.press("enter", seconds=5)
    assert one.state.phase.value == "answer"
    return one


@pytest.mark.parametrize("strings", ["654", "543", "432"])
@pytest.mark.parametrize("quality", ["maj7", "m7b5"])
@pytest.mark.parametrize("labels", ["degrees", "fingers", "notes"])
def test_an_answer_keeps_every_row_where_it_is_drawn_large(sitting, strings, quality, labels):
    """Large from 100x30 on, small at 80x24; string, fret, note, degree, finger, grip and mode stand at both."""
    one = shown_answer(sitting, strings=strings, quality=quality)
    shape = one.drill.shapes()[0]
    for size in ("80x24", "100x30", "120x40"):
        rows = page(one, size, labels=labels)
        assert any(LARGE_CORNER in row for row in rows) is (size != "80x24")
        *table, fingers = (" ".join(row.split()) for row in note_table(shape))
        said = [" ".join(row.split()) for row in rows]
        assert all(any(row.endswith(wanted) for row in said) for wanted in table)
        assert any(row.endswith(fingers) for row in said) is (size == "80x24" or labels == "fingers")
        assert sum(bool(re.search(r"(?:^|│ )finger(?: \d| [█▀]|$)", row)) for row in said) == 1
        grip = one.drill.material.grip(one.state.card)
        assert any(places_text(grip) in row for row in rows)
        assert sum("Clean" in row for row in rows) == sum("In time" in row for row in rows) == 1


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("phase", ["lesson", "answer", "repeat"])
def test_a_page_that_is_drawn_large_says_what_the_small_one_would(sitting, size, phase):
    """Every line of text of the page with plain characters, which is never large, stands on the other too."""
    focus = {"strings": "654", "quality": "m7b5"}
    if phase == "lesson":
        one = sitting(**focus)
        one.start()
    else:
        one = shown_answer(sitting, **focus)
    if phase == "repeat":
        one.press("l", seconds=5)
    assert one.state.phase.value == phase
    large, small = page(one, size), page(one, size, ascii=True)
    if not any(LARGE_CORNER in row for row in large):
        assert len(large) == len(small)
        return
    drawn = ("finger ", "      ")  # the fingers are drawn, and the numbers of the frets stand farther apart
    said = [" ".join(row.split()) for row in small if row and "|" not in row and not row.startswith(drawn)]
    rows = [" ".join(row.split()) for row in large]
    assert said and all(any(row.endswith(wanted) for row in rows) for wanted in said)
    frets = next(row for row in small if row.strip() and set(row) <= set("0123456789 "))
    assert frets.split() in [row.split() for row in large]


def test_a_change_of_chord_is_drawn_large_side_by_side(sitting):
    """In a window of 120 by 40 both shapes, the first at the left; at 80x24 one under the other."""
    one = sitting(deck="transitions")
    one.start()
    while one.state.card.to is None or one.state.phase.value != "answer":
        one.press("c" if one.state.phase.value == "answer" else "enter", seconds=9)
    first, second = (shape.chord.name for shape in one.drill.shapes())
    rows = page(one, "120x40")
    head = next(row for row in rows if f"{first}, strings" in row)
    assert head.index(f"{first}, strings") < head.index(f"{second}, strings")
    assert max(row.count(LARGE_CORNER) for row in rows) >= 1 and not any("[1]" in row for row in rows)
    small = page(one, "80x24")
    assert sum("[1]" in row for row in small) == 2


@pytest.mark.parametrize("size", SIZES)
def test_a_string_set_is_said_once(sitting, size):
    """In text where it is small, in large letters under the word ``strings`` where it is drawn; never both."""
    one = sitting(strings="543", quality="maj7")
    one.start()
    one.through_lessons()
    assert one.state.phase.value == "prompt"
    rows = page(one, size)
    text = " ".join(rows)
    letters = [big("5-4-3", SIZES[size][0], "█", tall) for tall in (1, 2, 3)]
    drawn = any(drawing and set(drawing) <= set(rows) for drawing in letters)
    assert text.count("5-4-3") == (not drawn)
    assert text.count("strings") == 1
    assert drawn is (size not in ("40x15", "60x20"))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("prompt", "asked"), [("note", "which fret?"), ("near", "near fret"), ("tone", "which fret?")])
def test_what_is_asked_stands_in_words_whatever_is_drawn(sitting, size, prompt, asked):
    """A part of the question in large letters does not take the question's words away."""
    one = sitting(prompt=prompt, strings="543", quality="m7")
    one.start()
    one.through_lessons()
    assert one.state.phase.value == "prompt"
    assert asked in " ".join(page(one, size))
