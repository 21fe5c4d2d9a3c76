"""The phone page in a browser: a session tapped, its grades taken in, storage refused, sizes, accessibility."""

import json
import re
from datetime import UTC, datetime, timedelta

import pytest

from drills.cli import main
from scheduler.days.practice_day import practice_day
from scheduler.log.review_log import ReviewLog
from tests.phone.chromium import CHROMIUM, Tab
from tests.phone.tapping import RESTS, assert_as_in_the_terminal, document, tapped
from tests.progress.browser import look
from tests.session.sittings import Sitting

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A function that makes a page by the command line, once for each set of options; its path."""
    folder = tmp_path_factory.mktemp("pages")
    kept = {}

    def make(*options, home="home"):
        if (options, home) not in kept:
            path = folder / f"page-{len(kept)}.html"
            with pytest.MonkeyPatch.context() as patch:
                patch.setenv("NECKWORK_HOME", str(folder / home))
                assert main(["phone", *options, "-o", str(path)]) == 0
            kept[options, home] = path
        return kept[options, home]

    return make


def test_a_session_is_tapped_sent_and_taken_in_twice_without_harm(made, tmp_path, capsys):
    """Taps become a file that `neckwork import` reads: the same reviews as the same session in the terminal writes,
    skills with them, nothing predicted; a second time changes nothing."""
    page = made("first", "--student", "Student 1", "--sessions", "3")
    grades = ["Clean", "Looked", "Found it", "Clean", "In time", "Looked", "Clean", "Clean", "Found it", "Clean"] * 2
    with Tab() as tab:
        tab.open(page)
        tab.tap("Start")
        done = tapped(tab, grades, 14)
        tab.tap("Stop")
        assert "First tries:" in tab.text()
        text = document(tab)
        assert not tab.complaints
        assert tab.asked == [page.as_uri()]
    assert [what for what, _, _ in done].count("ask") >= 9
    sent = tmp_path / "sent.json"
    sent.write_text(text, encoding="utf-8")
    log = tmp_path / "log.sqlite3"
    for _ in range(2):
        assert main(["import", str(sent), "--log", str(log), "--yes"]) == 0
    said = capsys.readouterr().out
    assert "Traceback" not in said
    with ReviewLog(log) as kept:
        reviews = list(kept.reviews())
        tickets = kept.standing().tickets
    assert tickets["seen:caution"] == "yes"
    assert len(reviews) == len(json.loads(text)["events"]) - 1
    assert all(review.predicted is None and review.skills and review.session for review in reviews)

    assert_as_in_the_terminal(done, reviews, tmp_path)


def test_undo_takes_the_last_grade_back_and_slips_are_named(made, tmp_path):
    """An undone grade is asked again from its answer, and leaves as an undo; a slip names the review it is of."""
    with Tab() as tab:
        tab.open(made("first", "--sessions", "2"))
        tab.tap("Start")
        tapped(tab, ["Clean"], 2)
        tab.tap("Undo")
        assert "Taken back" in tab.text()
        tab.run(RESTS.format(320))
        tab.tap("Looked")
        tab.tap("shape")
        tab.run(RESTS.format(320))
        tab.tap("Done")
        tab.tap("Stop")
        events = json.loads(document(tab))["events"]
    firsts = [one for one in events if one["kind"] == "review" and one["attempt"] == "first"]
    (undo,) = [one for one in events if one["kind"] == "undo"]
    (slip,) = [one for one in events if one["kind"] == "slip"]
    assert [one["grade"] for one in firsts] == [3, 1]
    assert undo["target"] == firsts[0]["id"]
    assert (slip["target"], slip["slip"]) == (firsts[1]["id"], "shape")
    assert firsts[0]["card"] == firsts[1]["card"]


def test_grades_stay_on_the_phone_and_are_cleared_once_they_are_saved(made, tmp_path):
    """A page opened again goes on where it was; what was saved goes with one tap, and what was met stays met."""
    page = made("first", "--student", "Student 1", "--sessions", "3")
    with Tab() as tab:
        tab.open(page)
        tab.tap("Start")
        tapped(tab, ["Clean"] * 4, 5)
        tab.open(page)
        assert "4 grades kept on this phone, not sent yet." in tab.text() or "3 grades kept" in tab.text()
        kept = len(json.loads(document(tab))["events"])
        tab.tap("It is saved: clear it here")
        assert "No grade of this page is waiting" in tab.text()
        tab.tap("Go on")
        assert kept > 4
        done = tapped(tab, ["Clean"] * 3, 3)
        tab.tap("Stop")
        assert len(json.loads(document(tab))["events"]) == len(done)


def test_two_students_on_one_phone_keep_their_grades_apart(made, tmp_path):
    """The storage's key carries page and student."""
    one, other = (made("first", "--student", name, "--sessions", "2") for name in ("Student 1", "Student 2"))
    with Tab() as tab:
        tab.open(one)
        tab.tap("Start")
        tapped(tab, ["Clean"] * 3, 4)
        tab.open(other)
        assert "No grade of this page is waiting" in tab.text()
        tab.open(one)
        assert "grades kept on this phone" in tab.text()


def test_where_nothing_is_kept_the_page_says_so_before_the_first_prompt(made, tmp_path):
    """Refused storage is said at the start, and after each grade the file is offered."""
    with Tab(stores=False) as tab:
        tab.open(made("first", "--sessions", "2"))
        assert "This browser keeps nothing for this page" in tab.text()
        tab.tap("Start")
        tapped(tab, ["Clean"] * 2, 3)
        assert "Save a file" in tab.text() and "keeps nothing" in tab.text()
        assert [one["kind"] for one in json.loads(document(tab))["events"]].count("review") == 3


def test_storage_cleared_in_mid_session_is_said_and_loses_nothing(made, tmp_path):
    """When the browser drops what was kept, the page says so and still holds every grade."""
    with Tab() as tab:
        tab.open(made("first", "--sessions", "2"))
        tab.tap("Start")
        tapped(tab, ["Clean"] * 2, 3)
        tab.run("localStorage.clear()")
        tapped(tab, ["Clean"] * 2, 1)
        assert "was cleared while you played" in tab.text()
        assert [one["kind"] for one in json.loads(document(tab))["events"]].count("review") == 4


def test_a_hand_that_hurts_stops_the_session_and_leaves_the_stretch_out(made, tmp_path):
    """The caution is said, the ticket is the terminal's own, and what reaches as far does not come back until it is
    brought back (rule E)."""
    with Tab() as tab:
        tab.open(made("first", "--sessions", "2"))
        tab.tap("Start")
        tapped(tab, ["Clean"] * 2, 3)
        tab.tap("Hand hurts")
        assert "see a doctor or a hand therapist" in tab.text()
        assert "are left out" in tab.text()
        tickets = [one for one in json.loads(document(tab))["events"] if one["kind"] == "ticket"]
        assert tickets[-1]["subject"].startswith("hurt:") and float(tickets[-1]["value"].split()[0]) > 0
        tab.tap("Nothing hurts")
        assert "are left out" not in tab.text()


def test_the_days_own_session_goes_by_the_players_log(made, tmp_path):
    """`--today` is one session, in which nothing the player has met is shown in a lesson again."""
    home = made("first", "--sessions", "2").parent / "played"
    home.mkdir(exist_ok=True)
    sitting = Sitting(home / "log.sqlite3")
    sitting.start()
    for _ in range(12):
        sitting.play()
    met = {skill for review in sitting.log.reviews() for skill in review.skills}
    sitting.log.close()
    text = made("first", "--today", home="played").read_text(encoding="utf-8")
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])
    assert len(data["tables"]["sessions"]) == 1
    assert {data["skills"][number] for number in data["tables"]["met"]} == met & set(data["skills"])
    assert data["tables"]["firstDay"] is False


def test_the_grades_lie_as_on_the_keyboard_for_either_thumb(made, tmp_path):
    """Up is In time, left Looked, right Clean, down Found it, each large enough to be hit (WCAG 2.2, 2.5.8: 24 px)."""
    with Tab() as tab:
        tab.open(made("first", "--sessions", "2"))
        for hand in ("left", "right"):
            tab.tap("Start" if hand == "left" else "Go on")
            while "Show the answer" not in tab.text():
                tab.tap("Done, twice")
            tab.tap("Show the answer")
            boxes = {
                name: tab.run(
                    f"(() => {{ const b = document.querySelector('.grade.{name}').getBoundingClientRect();"
                    "return [b.x + b.width / 2, b.y + b.height / 2, b.width, b.height, b.right, b.bottom]; })()"
                )
                for name in ("up", "left", "right", "down")
            }
            assert boxes["left"][0] < boxes["up"][0] < boxes["right"][0]
            assert boxes["up"][1] < boxes["left"][1] == boxes["right"][1] < boxes["down"][1]
            assert all(box[2] >= 60 and box[3] >= 44 for box in boxes.values())
            assert all(box[4] <= 360 and box[5] <= 740 for box in boxes.values())
            if hand == "left":
                tab.open(made("first", "--sessions", "2"))
                tab.tap("Grades for the left thumb")


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [360, 768, 1280])
def test_nothing_is_cut_at_any_width(made, tmp_path, width, dark):
    """No screen of a session is wider than the window, and the answer's drawing is on it whole."""
    with Tab(width=width, dark=dark) as tab:
        tab.open(made("first", "--sessions", "2"))
        tab.tap("Start")
        for _ in range(4):
            assert tab.run("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
            if "Show the answer" in tab.text():
                tab.tap("Show the answer")
                tab.run(RESTS.format(320))
                assert tab.run(
                    "(() => { const d = document.querySelector('.drawing').getBoundingClientRect();"
                    "const f = document.querySelector('footer').getBoundingClientRect();"
                    "return d.width > 200 && d.top >= 0 && d.bottom <= f.top + 2; })()"
                )
                tab.tap("Clean")
            else:
                tab.tap("Done, twice")


@pytest.mark.parametrize("moment", ["start", "lesson", "prompt", "answer", "end"])
def test_no_rule_of_accessibility_is_broken_seriously(made, tmp_path, moment):
    """axe-core finds no violation of a serious or critical kind on any screen of the page."""
    text = made("first", "--sessions", "2").read_text(encoding="utf-8")
    steps = {"start": [], "lesson": ["Start"], "prompt": ["Start", "Done, twice"],
             "answer": ["Start", "Done, twice", "Show the answer"], "end": ["Start", "Stop"]}[moment]  # fmt: skip
    taps = "".join(
        "[...document.querySelectorAll('button')].find(b => b.innerText.trim().startsWith"
        f"({json.dumps(words)})).click();"
        for words in steps
    )
    # The probe's own script and what it needs are let in only in the copy that is examined.
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    found = look(text.replace("</body>", f"<script>{taps}</script></body>"), tmp_path, (360,))
    assert [one for one in found.violations if one[0] in ("serious", "critical")] == []
    assert found.passes > 10


def test_a_page_fetches_nothing_and_says_so_to_the_browser(made):
    """The policy in the page lets nothing in from elsewhere, and no address of a server stands in it."""
    text = made("first", "--sessions", "2").read_text(encoding="utf-8")
    assert "default-src 'none'" in text
    without_names = text.replace("http://www.w3.org/2000/svg", "")
    assert "http://" not in without_names and "https://" not in without_names


def test_sizes_with_and_without_sound(made):
    """A deck of 144 cards is under 1.5 MB with sound, and under 300 kB without."""
    loud, quiet = made("first", "--sessions", "7"), made("first", "--sessions", "7", "--quiet")
    assert loud.stat().st_size < 1_500_000
    assert quiet.stat().st_size < 300_000 < loud.stat().st_size + 100_000


@pytest.mark.parametrize("deck", ["transitions", "away", "ear"])
def test_every_kind_of_card_can_be_shown_and_heard(made, tmp_path, deck):
    """Whatever a deck asks, each card is drawn and heard by the page without a complaint."""
    text = made(deck, "--sessions", "2").read_text(encoding="utf-8")
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])
    for card in data["cards"]:
        assert card["call"] and card["ask"]
        assert card.get("shapes") or "after" in card or card.get("said")
        for shape in card.get("shapes", []):
            assert len(shape["notes"].split()) == len(shape["fingers"].split())
            wide, high, words, parts = data["drawings"][shape["drawing"]]
            assert wide > 0 < high and words and all(data["phrases"][number] for number in words)
            drawn = [data["parts"][part] for part in parts]
            assert (
                sum(part[0] in "rc" for part in drawn)
                == len({tuple(part[1:3]) for part in drawn if part[0] in "rc"})
                >= 2
            )
    with Tab() as tab:
        tab.open(made(deck, "--sessions", "2"))
        tab.tap("Start")
        tapped(tab, ["Clean"] * 6, 6)
        assert not tab.complaints


def test_what_cannot_be_made_is_said(made, capsys, tmp_path, monkeypatch):
    """Another ending, another's page of today, too many sessions: refused with what to do, and nothing is written."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))
    for options, word in (
        (["first", "-o", str(tmp_path / "page.pdf")], ".html"),
        (["--today", "--student", "A", "-o", str(tmp_path / "page.html")], "one of the two"),
        (["--today", "--sessions", "3", "-o", str(tmp_path / "page.html")], "--sessions"),
        (["first", "--sessions", "99", "-o", str(tmp_path / "page.html")], "28"),
    ):
        assert main(["phone", *options]) == 2
        assert word in capsys.readouterr().err
    assert not list(tmp_path.glob("page.*"))


def test_a_hostile_name_stays_text(made):
    """Markup in a student's name is shown, not run."""
    text = made("first", "--student", "</script><img src=x onerror=alert(1)>", "--sessions", "1").read_text("utf-8")
    assert "<img" not in text and "</script><img" not in text
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])
    assert data["student"] == "</script><img src=x onerror=alert(1)>"


def test_stamps_have_the_local_offset(made, tmp_path):
    """A review's time is the phone's own, with its offset from UTC (RFC 3339), and agrees with its stamp."""
    with Tab() as tab:
        tab.call("Emulation.setTimezoneOverride", timezoneId="Asia/Kolkata")
        tab.open(made("first", "--sessions", "2"))
        tab.tap("Start")
        tapped(tab, ["Clean"], 2)
        tab.tap("Stop")
        events = json.loads(document(tab))["events"]
    for one in events:
        at, stamp = datetime.fromisoformat(one["at"]), datetime.fromisoformat(one["stamp"])
        assert one["at"].endswith("+05:30")
        assert abs((at - stamp).total_seconds()) < 0.1


def test_a_grade_in_the_night_belongs_to_the_day_before(made, tmp_path):
    """Where the phone's clock shows between one and three, a review's practice day is that of the evening before, as
    the log counts it."""
    ahead = (2 - datetime.now(UTC).hour + 12) % 24 - 12
    with Tab() as tab:
        tab.call("Emulation.setTimezoneOverride", timezoneId=f"Etc/GMT{-ahead:+d}")
        tab.open(made("first", "--sessions", "2"))
        tab.tap("Start")
        tapped(tab, ["Clean"], 1)
        tab.tap("Stop")
        events = json.loads(document(tab))["events"]
    reviews = [one for one in events if one["kind"] == "review"]
    assert reviews
    for one in reviews:
        at = datetime.fromisoformat(one["at"])
        assert at.hour < 4
        assert one["practice_day"] == practice_day(at, 4.0).isoformat() == (at.date() - timedelta(days=1)).isoformat()


@pytest.mark.parametrize(("name", "said"), [("Anna-Lena O'Neil", "Anna-Lena O'Neil"), ("../a: b?", "a- b")])
def test_the_saved_file_is_called_by_the_student_and_the_day(made, tmp_path, name, said):
    """The roster knows the student by that name; what a file's name cannot hold is left out of it."""
    with Tab() as tab:
        tab.open(made("first", "--student", name, "--sessions", "2"))
        tab.run("window.saved = []; HTMLAnchorElement.prototype.click = function () { saved.push(this.download); }; 0")
        tab.tap("Start")
        tapped(tab, ["Clean"], 1)
        tab.tap("Stop")
        tab.tap("Save a file")
        (called,) = tab.run("saved")
    assert re.fullmatch(re.escape(said) + r"-\d{4}-\d{2}-\d{2}\.json", called)
