"""Widths of words agree with the PDF library that prints them, and lines keep to their width."""

from __future__ import annotations

import pytest
from fpdf import FPDF
from hypothesis import given
from hypothesis import strategies as st

from drills.configuration.shipped import data_file
from drills.diagrams.typesetting import FONT_FILES, lines_that_fit, size_that_fits, text_wide

WORDS = st.text("abcdefgh ijklm B♭F♯m7Δø-.,:0123456789", max_size=60)


@pytest.fixture(scope="module")
def pdf():
    """A document with both fonts, which measures by its own reading of them."""
    made = FPDF(unit="pt")
    made.c_margin = 0
    for bold, name in FONT_FILES.items():
        made.add_font("D", "B" if bold else "", data_file(f"fonts/{name}"))
    return made


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", ["Cmaj7", "B♭m7♭5 on 5-4-3", "F♯ ø Δ", "Student 12: 17 of 20", "é"])
def test_a_width_is_what_the_pdf_library_says(pdf, text, bold):
    """fpdf2's own width at 10 points; it rounds each letter to a thousandth of the size, .005 points."""
    pdf.set_font("D", "B" if bold else "", 10)
    assert text_wide(text, 10, bold) == pytest.approx(pdf.get_string_width(text), abs=0.006 * len(text))


@given(text=WORDS, wide=st.floats(12, 200), bold=st.booleans())
def test_lines_keep_to_their_width_and_lose_nothing(text, wide, bold):
    """No line is wider than allowed, and put together they say what was said."""
    lines = lines_that_fit(text, 9, wide, bold)
    assert all(text_wide(line, 9, bold) <= wide for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


@given(text=WORDS, size=st.floats(6, 20), wide=st.floats(5, 300), bold=st.booleans())
def test_a_size_that_fits_is_the_largest(text, size, wide, bold):
    """At the size found the text keeps to its width; it is the size asked for unless that would be too wide."""
    found = size_that_fits(text, size, wide, bold)
    assert text_wide(text, found, bold) <= wide * (1 + 1e-9)
    assert found == size if text_wide(text, size, bold) <= wide else text_wide(text, found, bold) == pytest.approx(wide)
