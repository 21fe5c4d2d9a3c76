"""The phone page in Firefox and in WebKit: a whole session tapped, sent, taken in, and kept for the next time."""

import json

import pytest

from drills.cli import main
from scheduler.log.review_log import ReviewLog
from tests.phone.tapping import assert_as_in_the_terminal, document, tapped
from tests.phone.webdriver import FIREFOX, WEBKIT, FirefoxTab, WebKitTab

BROWSERS = [
    pytest.param(FirefoxTab, marks=pytest.mark.skipif(FIREFOX is None, reason="needs Firefox"), id="firefox"),
    pytest.param(WebKitTab, marks=pytest.mark.skipif(WEBKIT is None, reason="needs WebKit"), id="webkit"),
]
LISTEN = "(() => { window.faults = []; addEventListener('error', each => faults.push(each.message)); return 0; })()"


@pytest.mark.long
@pytest.mark.parametrize("browser", BROWSERS)
def test_a_session_is_tapped_sent_and_taken_in_as_in_the_terminal(browser, tmp_path, monkeypatch):
    """With sound, an undo and a page opened again on the way: no fault in the page, nothing fetched, every grade kept;
    the file is taken in, twice without harm, and says what the terminal writes of the same session."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))
    page = tmp_path / "page.html"
    assert main(["phone", "first", "--student", "Student 1", "--sessions", "2", "-o", str(page)]) == 0
    grades = ["Clean", "Looked", "Found it", "Clean", "In time"] * 2
    with browser(tmp_path / "profile") as tab:
        tab.open(page)
        tab.run(LISTEN)
        tab.tap("Start")
        done = tapped(tab, grades, 7)
        tab.tap("Undo")
        assert "Taken back" in tab.text()
        tab.run("new Promise(done => setTimeout(() => done(true), 400))")
        tab.tap("Clean")
        assert tab.run("faults.concat(performance.getEntriesByType('resource').map(each => each.name))") == []
        assert tab.run("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        tab.open(page)
        assert "grades kept on this phone" in tab.text()
        events = json.loads(text := document(tab))["events"]
    undone = {one["target"] for one in events if one["kind"] == "undo"}
    assert len(undone) == 1
    done[-1] = (*done[-1][:2], 3)
    sent, log = tmp_path / "sent.json", tmp_path / "log.sqlite3"
    sent.write_text(text, encoding="utf-8")
    for _ in range(2):
        assert main(["import", str(sent), "--log", str(log), "--yes"]) == 0
    with ReviewLog(log) as kept:
        reviews = list(kept.reviews())
    assert len(reviews) == sum(one["kind"] == "review" for one in events) - 1
    assert all(review.predicted is None and review.skills for review in reviews)
    assert_as_in_the_terminal(done, reviews, tmp_path)
