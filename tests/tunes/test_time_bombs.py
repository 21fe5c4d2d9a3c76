"""Small files that would take for ever: each is refused with a limit named, or read with what is needed."""

from __future__ import annotations

import pytest

from drills.changes.changes_reading import parse_changes
from drills.changes.lead_sheet import read_musicxml
from drills.errors import ChangesError, LeadSheetError

HEAD = '<score-partwise><part-list><score-part id="P1"/></part-list><part id="P1">'
TAIL = "</part></score-partwise>"
CHORD = "<harmony><root><root-step>C</root-step></root><kind>dominant</kind></harmony>"
ODD = "<harmony><root><root-step>C</root-step></root><kind>odd {}</kind></harmony>"
DEGREE = "<degree><degree-value>9</degree-value><degree-alter>1</degree-alter><degree-type>add</degree-type></degree>"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("| C " * 1_000_000, "at most 40,000 characters, got 4,000,000"),
        ("| C " * 2_001 + "|", "2,001 bars; expected at most 2,000"),
        ("|: C :|x9 " * 3_000, "27,000 bars; expected at most 2,000"),
        ("form: " + "A " * 1_000 + "\n[A] " + "|: C :|x9 " * 1_000, "9,000,000 bars; expected at most 2,000"),
        ("|: |: C :| :|", "expected"),
        ("[" + "(" * 30_000, "stands alone"),
    ],
    ids=["characters", "bars", "repeats", "form", "nested", "brackets"],
)
def test_pages_and_repeats_without_end(text, says):
    """Repeats of repeats, forms of forms and a million bars name what is allowed."""
    with pytest.raises(ChangesError, match=says):
        parse_changes(text)


@pytest.mark.parametrize(
    ("inside", "says"),
    [
        (f"<measure>{CHORD}</measure>" * 2_001, "2,001 measures; expected at most 2,000"),
        (f"<measure>{CHORD * 20_001}</measure>", "20,001 chord symbols and degrees; expected at most 20,000"),
        (f"<measure>{CHORD.replace('</harmony>', DEGREE * 30_000 + '</harmony>')}</measure>", "at most 20,000"),
        ("<x>" * 201, "more than 200 elements deep"),
        ("<x/>" * 400_001, "400,000 in all"),
        (" " * 16_000_001, "at most 16,000,000 bytes"),
        ("".join(f"<measure>{ODD.format(n)}</measure>" for n in range(51)), "more than 50 kinds of chord"),
    ],
    ids=["measures", "symbols", "degrees", "depth", "elements", "bytes", "kinds"],
)
def test_lead_sheets_with_huge_counts(tmp_path, inside, says):
    """Measures, symbols, degrees, depth, elements and bytes have limits, and the message names the file."""
    path = tmp_path / "bomb.musicxml"
    path.write_text(HEAD + inside + TAIL, encoding="utf-8")
    with pytest.raises(LeadSheetError, match=says) as caught:
        read_musicxml(path)
    assert "bomb.musicxml" in str(caught.value)


def test_huge_numbers_in_a_lead_sheet_are_read(tmp_path):
    """Long sums of beats, repeats without number and wide intervals cost no more than small ones."""
    bar = (
        '<measure><barline><repeat direction="forward"/></barline><attributes><divisions>999999999</divisions>'
        "<time><beats>" + "1+" * 1_000_000 + "1</beats><beat-type>4</beat-type></time>"
        "<transpose><chromatic>999999</chromatic></transpose></attributes>"
        + CHORD + '<barline><repeat direction="backward" times="999999999"/></barline></measure>'
    )  # fmt: skip
    path = tmp_path / "bomb.musicxml"
    path.write_text(HEAD + bar + TAIL, encoding="utf-8")
    page = read_musicxml(path)
    assert len(page.bars) == 2
    assert "bar 1: the metre is not understood; 4/4 is kept" in page.remarks


def test_remarks_are_few(tmp_path):
    """What cannot be read in two thousand bars is said fifty times, and then counted."""
    path = tmp_path / "odd.musicxml"
    bars = f"<measure>{ODD.format(1)}</measure>" * 1_999 + f"<measure>{CHORD}</measure>"
    path.write_text(HEAD + bars + TAIL, encoding="utf-8")
    page = read_musicxml(path)
    assert len(page.remarks) == 51
    assert page.remarks[-1] == "and 1,949 remarks more"
