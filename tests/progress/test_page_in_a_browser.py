"""The pages in headless Chromium, where it is installed; CI installs it, and must have it."""

from __future__ import annotations

import io
import os

import pytest

from drills.exports.readable import write_html
from drills.progress.page import report_page
from tests.progress.browser import CHROMIUM, look
from tests.progress.players import played
from tests.progress.test_page import ahead, report  # noqa: F401  (fixtures)

PAGES = ("progress", "reviews") if CHROMIUM else ()
"""Without a browser on a player's machine the parser's test of the same pages has to do."""


def test_ci_has_a_browser():
    """Where the project's own checks run, Chromium is there."""
    assert CHROMIUM or not os.environ.get("CI")


@pytest.mark.parametrize("name", PAGES)
def test_a_browser_finds_nothing_wrong(name, report, ahead, tmp_path):  # noqa: F811
    """No complaint, nothing fetched, no sideways scroll at 360 and 1280 px, no serious finding of axe-core."""
    if name == "progress":
        text = report_page(report, ahead)
    else:
        out = io.StringIO()
        write_html(played(2, 3), out)
        text = out.getvalue()
    seen = look(text, tmp_path)
    assert seen.console == []
    assert seen.fetched == []
    assert seen.overflow == {360: 0, 1280: 0}
    assert [one for one in seen.violations if one[0] in ("serious", "critical")] == []
    assert seen.passes >= 10
