"""The sheet for players on trial: one page, two weeks, the hands' caution, and no claim from it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from drills.cli import group
from drills.diagrams.picture import Stroke, Words
from drills.diagrams.picture_pdf import pdf_bytes
from drills.errors import SettingsError
from drills.paper.page_style import Footer, PageStyle
from drills.paper.trial_sheet import DAYS, trial_page, trial_text
from drills.session.session_sentences import STOP_AND_ASK
from tests.paper.pages import bounds, parts_of, read

STYLES = [PageStyle(), PageStyle("Letter"), PageStyle(large=True), PageStyle("Letter", large=True)]
FOOTER = Footer("E2 A2 D3 G3 B3 E4", 15, "Teacher 1", "7 September 2026")


@pytest.mark.parametrize("look", STYLES)
def test_all_of_it_is_on_one_page(look):
    """Nothing runs past a margin, no line of text lies on another, and a row is high enough for a pen (6 mm)."""
    page = trial_page(look, FOOTER)
    for part in parts_of(page.parts):
        left, top, right, bottom = bounds(part)
        assert left >= look.margin - 1 and right <= page.wide - look.margin + 1, part
        assert top >= look.margin - 1 and bottom <= page.high - look.margin + 3, part
    level = sorted(part.y1 for part in page.parts if isinstance(part, Stroke) and part.y1 == part.y2)
    assert len(level) == DAYS + 1
    assert all(low - high >= 17.0 - 0.01 for high, low in zip(level, level[1:], strict=False))
    lines = sorted({round(part.y, 2): part.size for part in page.parts if isinstance(part, Words)}.items())
    assert all(low - high >= size * 0.95 for (high, _), (low, size) in zip(lines, lines[1:], strict=False))
    assert len(read(pdf_bytes([page]))) == 1


def test_what_must_be_said_is_said():
    """When to stop, as the session says it; what to note, what to send; that nothing leaves by itself, and no claim."""
    said = " ".join(trial_text().split())
    printed = " ".join(read(pdf_bytes([trial_page(PageStyle(), FOOTER)]))[0].extract_text().split())
    for words in (
        STOP_AND_ASK.partition(":")[0].partition(", weakness")[0],
        "see a doctor or a hand therapist",
        "The key ! stops a session at once.",
        "first day ____ of 8, last day ____ of 8",
        "Hands: 0 nothing felt, 1 tired, 2 sore, 3 pain.",
        "neckwork export -o log.json",
        "Nothing is sent by itself.",
        "nothing of that kind is claimed from these sheets",
    ):
        assert words in said and words in printed, words
    assert all(f" {day} " in f" {printed} " for day in range(1, DAYS + 1))


def test_a_phone_is_refused_and_too_long_a_footer_too():
    """Each with what to do."""
    with pytest.raises(SettingsError, match="expected paper A4 or Letter, got phone"):
        trial_page(PageStyle("phone"))
    with pytest.raises(SettingsError, match="shorten --teacher"):
        trial_page(PageStyle(), Footer(teacher="Teacher 1 of the long street " * 900))


@pytest.mark.parametrize("name", ["trial.pdf", "trial.svg", "trial.txt", None])
def test_it_is_written_by_the_command(tmp_path, monkeypatch, name):
    """As PDF, SVG or text; without a file its words are printed."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path))
    out = ["-o", str(tmp_path / name)] if name else []
    ran = CliRunner().invoke(group, ["handout", "trial", *out])
    assert ran.exit_code == 0, ran.output
    written = (tmp_path / name).read_bytes() if name else ran.output.encode()
    if name == "trial.pdf":
        assert len(read(written)) == 1
    else:
        assert b"Your hands first" in written
