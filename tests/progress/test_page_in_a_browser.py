"""The pages in headless Chromium, where it is installed; CI installs it, and must have it."""

from __future__ import annotations

import io
import os
import re

import pytest

from drills.exports.readable import write_html
from drills.progress.progress_page import report_page
from scheduler.log.attempts import results
from tests.progress.browser import CHROMIUM, look
from tests.progress.paper import printed
from tests.progress.players import played
from tests.progress.test_page import ahead, report  # noqa: F401  (fixtures)

PAGES = ("progress", "reviews") if CHROMIUM else ()
"""Without a browser on a player's machine the parser's test of the same pages has to do."""


def page_text(name, report, ahead) -> str:  # noqa: F811
    """A page by its name."""
    if name == "progress":
        return report_page(report, ahead)
    out = io.StringIO()
    write_html(results(played(2, 3)), out)
    return out.getvalue()


def test_ci_has_a_browser():
    """Where the project's own checks run, Chromium is there."""
    assert CHROMIUM or not os.environ.get("CI")


@pytest.mark.parametrize("name", PAGES)
def test_a_browser_finds_nothing_wrong(name, report, ahead, tmp_path):  # noqa: F811
    """No complaint, nothing fetched, no sideways scroll at 360 and 1280 px, no serious finding of axe-core."""
    seen = look(page_text(name, report, ahead), tmp_path)
    assert seen.console == []
    assert seen.fetched == []
    assert seen.overflow == {360: 0, 1280: 0}
    assert [one for one in seen.violations if one[0] in ("serious", "critical")] == []
    assert seen.passes >= 10


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize(("size", "points"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_it_prints_inside_the_margins(name, size, points, report, ahead, tmp_path):  # noqa: F811
    """On A4 (ISO 216) and Letter (ANSI Y14.1) every word stands at least 12 mm inside, nothing is cut, and a heading
    never stands last on a sheet."""
    sizes, pages = printed(page_text(name, report, ahead), size, tmp_path)
    assert 1 <= len(pages) <= 5
    headings = {"Progress", "On", "Since", "Everything", "String", "In", "The", "What", "Prompt", "Predicted", "Skills"}
    for found, page in zip(sizes, pages, strict=True):
        assert found == pytest.approx(points, abs=1)
        words = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)<', page)
        margin = 12 * 72 / 25.4
        for left, top, right, bottom, word in words:
            assert margin <= float(left) and float(right) <= found[0] - margin, word
            assert margin <= float(top) and float(bottom) <= found[1] - margin, word
        lowest = max(words, key=lambda word: float(word[3]))
        assert lowest[4] not in headings
