"""A teacher's own book, questions answered in it, and the folders prepared for the evening before."""

from __future__ import annotations

import json
import os
import re
import stat
from datetime import UTC, date, datetime, timedelta

import pytest
from lxml import html
from pypdf import PdfReader

from drills.cards.deck import read_deck
from scheduler.grade import Grade
from scheduler.log.events import Event, Flag, as_us
from scheduler.log.interchange_json import write_json
from scheduler.review import Review
from tests.roster.planted_causes import practised

NOTE, SAY, SET = "Rushes the change, tired hand?", "Slowly this week, please.", "Five roots a day on string 5."


@pytest.fixture(scope="module")
def lessons(tmp_path_factory):
    """The files of three students: one with a cause, one with a question, one who missed nothing."""
    folder = tmp_path_factory.mktemp("lessons")
    for number, kind in enumerate(("roots", "", "clean"), 1):
        reviews, _ = practised(700 + number, "" if kind == "clean" else kind, 240, deck="two qualities on three sets")
        if kind == "clean":
            reviews = [one for one in reviews if one.grade is Grade.CLEAN]
        events = [Event(one.id, f"{number:024x}", as_us(one.at), one.at, one) for one in reviews]
        if number == 2:
            at = reviews[-1].at + timedelta(seconds=5)
            events.append(Event("f" * 24, f"{number:024x}", as_us(at), at, Flag(reviews[-1].card, "thumb on top?")))
        with (folder / f"Student {number}.json").open("w", encoding="utf-8") as out:
            write_json(events, out)
    return folder, reviews[-1].at.date().isoformat()


def test_the_book_keeps_what_is_written_and_shows_the_newest_lesson_first(neckwork, tmp_path):
    """Each kind under its heading, grades set side by side, in one file that is the teacher's alone."""
    assert "nothing is written of this student yet" in neckwork("book", "Student 1").err
    assert neckwork("book", "Student 1", "--note", NOTE, "--set", SET, "--on", "2031-05-07").code == 0
    heard = ("--heard", "Cm7, strings 6-5-4", "found it", "Clean", "--heard", "F7, strings 5-4-3", "Clean", "Clean")
    assert neckwork("book", "student 1", "--say", SAY, "--next", "dim7", *heard, "--on", "2031-05-14").code == 0
    said = neckwork("book", "Student 1").out
    for line in (NOTE, SET, SAY, "dim7", "Of 2 heard: 1 graded alike, 1 higher by the student, 0 lower.",
                 "Cm7, strings 6-5-4: Found it by you, Clean by the student"):  # fmt: skip
        assert line in said, line
    assert said.index("## 14 May 2031") < said.index("## 7 May 2031")
    assert "nearest: Student 1" in neckwork("book", "Studnt 1").err
    assert "was that meant?" in neckwork("book", "Studnt 1", "--say", SAY).err
    assert "was that meant?" not in neckwork("book", "Student 2", "--say", SAY).err
    book = tmp_path / "home" / "lessons.toml"
    if os.name == "posix":
        assert stat.S_IMODE(book.stat().st_mode) == 0o600
    assert neckwork("book", "Student 1", "--heard", "Cm7", "superb", "Clean").code == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[entry]\n", "expected TOML"),
        ("entry = 3\n", "entry: expected [[entry]] blocks, got 3"),
        ('[[entry]]\nstudent = "a"\nkind = "note"\ntext = "x"\n', "entry 1, day: expected a date"),
        ('[[entry]]\nstudent = "a"\nday = 2031-05-14\nkind = "sung"\n', "entry 1, kind: expected one of note, say"),
        ('[[entry]]\nstudent = "a"\nday = 2031-05-14\nkind = "say"\n', "entry 1, text: expected some text, got None"),
    ],
)
def test_a_book_that_is_not_right_is_named_and_left_alone(neckwork, tmp_path, text, said):
    """File, entry and field; nothing is written over it."""
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "lessons.toml").write_text(text, encoding="utf-8")
    ran = neckwork("book", "Student 1", "--note", NOTE)
    assert ran.code == 1 and said in ran.err and "lessons.toml" in ran.err
    assert (tmp_path / "home" / "lessons.toml").read_text(encoding="utf-8") == text


@pytest.mark.parametrize("kind", ["pipe", "folder"])
def test_what_is_no_file_is_refused_and_not_waited_for(neckwork, tmp_path, kind):
    """A pipe that nobody writes to would be read for ever."""
    (tmp_path / "home").mkdir()
    (os.mkfifo if kind == "pipe" else os.mkdir)(tmp_path / "home" / "lessons.toml")
    ran = neckwork("book", "Student 1", "--note", NOTE)
    assert ran.code == 1
    assert f"lessons.toml: cannot be read (expected a file, got a {kind})" in ran.err


def test_an_answered_question_leaves_the_sheet_and_stays_in_the_log(neckwork, lessons):
    """Kept in the teacher's own book: the file of the student is what it was, and a day before still lists it."""
    folder, day = lessons
    before = {path: path.read_bytes() for path in folder.iterdir()}
    assert "thumb on top?" in neckwork("roster", str(folder), "--on", day).out
    assert neckwork("roster", str(folder), "--on", day, "--answered").code == 2
    ran = neckwork("roster", str(folder), "--on", day, "--student", "Student 2", "--answered")
    assert ran.code == 0 and ran.out.startswith("answered: ") and "thumb on top?" in ran.out
    assert "thumb on top?" not in neckwork("roster", str(folder), "--on", day).out
    assert (
        "no question is open"
        in neckwork("roster", str(folder), "--on", day, "--student", "Student 2", "--answered").err
    )
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_names_on_the_sheet_lead_to_the_students_pages(neckwork, lessons, tmp_path):
    """In one file, each name to its own part, with what the page of one says."""
    folder, day = lessons
    page = tmp_path / "roster.html"
    assert neckwork("roster", str(folder), "--on", day, "--format", "html", "-o", str(page)).code == 0
    tree = html.document_fromstring(page.read_text(encoding="utf-8"))
    for link in tree.xpath("//tbody//th/a"):
        part = tree.get_element_by_id(link.get("href").removeprefix("#"))
        assert part.findtext("h2") == link.text and "The one thing to fix" in part.text_content()
    assert len(tree.xpath("//tbody//th/a")) == 3


def test_each_folder_of_the_evening_before_is_one_student_s_alone(neckwork, lessons, tmp_path):
    """Page, handout, deck and phone page; no other student's name or log id, no question of theirs, and no note of the
    teacher's; what is said to the student stands first."""
    folder, day = lessons
    for number in (1, 2, 3):
        neckwork("book", f"Student {number}", "--note", f"{NOTE} {number}", "--say", f"{SAY} {number}", "--on", day)
    out = tmp_path / "monday"
    ran = neckwork("roster", str(folder), "--on", day, "--prepare", str(out))
    assert ran.code == 0, ran.err
    assert "Student 3: no shape was missed" in ran.err and "Student 3: no deck" in ran.err
    assert sorted(path.name for path in (out / "Student 1").iterdir()) == [
        "deck.toml", "gap.pdf", "page.html", "phone.html"
    ]  # fmt: skip
    for number in (1, 2, 3):
        for path in (out / f"Student {number}").iterdir():
            held = path.read_bytes()
            if path.suffix == ".pdf":
                held = "".join(page.extract_text() for page in PdfReader(path).pages).encode()
                assert f"Student {number}".encode() in held
            for other in {1, 2, 3} - {number}:
                assert f"Student {other}".encode() not in held and f"{SAY} {other}".encode() not in held, path
                assert f"{other:024x}".encode() not in held, path
            assert b"Rushes" not in held, path
            assert number == 2 or b"thumb on top" not in held, path
        page = (out / f"Student {number}" / "page.html").read_text(encoding="utf-8")
        assert "on the roster" not in page and "heard: ____" not in page
        assert page.index("From your teacher") < page.index("The one thing to fix") and f"{SAY} {number}" in page
    index = html.document_fromstring((out / "index.html").read_text(encoding="utf-8"))
    from urllib.parse import unquote

    assert all((out / unquote(link.get("href"))).exists() for link in index.xpath("//tbody//th/a"))
    assert neckwork("cards", str(out / "Student 1" / "deck.toml")).code == 0


def test_a_class_is_prepared_by_each_one_s_own_dates(neckwork, lessons, tmp_path):
    """The sheet holds the class alone and names who sent nothing; each folder has the class's deck by the student's
    dates and a phone page of what is released on the day of the lesson; a beginner without a file gets both; a bass
    player's page is drawn on a bass; nobody else is named."""
    folder, day = lessons
    home, today = tmp_path / "home" / "decks", date.fromisoformat(day)
    home.mkdir(parents=True)
    (home / "own.changes").write_text("| Cm7 | F7 |\n", encoding="utf-8")
    begin, late = today - timedelta(days=13), today + timedelta(days=1)
    text = f"""title = "Monday"
starts = {begin}
students = ["Student 1", "Student 2", "Student 4"]

[[material]]
deck = "set-654"

[[material]]
changes = "own"
from_week = 3

[own_starts]
"Student 4" = {late}
"""
    (home / "monday.toml").write_text(text, encoding="utf-8")
    out = tmp_path / "monday"
    asked = ("roster", str(folder), "--on", day, "--deck", "monday")
    sheet = neckwork(*asked).out
    assert "In the class, without a readable file:\n  Student 4\n" in sheet and "Student 3" not in sheet
    assert "Not in the class:\n  1 more in the folder\n" in sheet
    assert "Student 1" in sheet and "Student 3" in neckwork("roster", str(folder), "--on", day).out
    assert neckwork(*asked, "--student", "Student 3").code == 1
    ran = neckwork(*asked, "--prepare", str(out))
    assert ran.code == 0, ran.err
    assert sorted(path.name for path in out.iterdir()) == ["Student 1", "Student 2", "Student 4", "index.html"]
    # In week 3 on the day of the lesson, and in week 1; the tune's chords come in week 3.
    for name, starts, week in (("Student 1", begin, 3), ("Student 4", late, 1)):
        assert read_deck(out / name / "deck.toml").starts == starts
        page = (out / name / "phone.html").read_text(encoding="utf-8")
        assert ("Cm7 to F7" in page) == (week == 3), name
        assert neckwork("cards", str(out / name / "deck.toml")).code == 0
    for name in ("Student 1", "Student 2", "Student 4"):
        for path in (out / name).iterdir():
            for other in {"Student 1", "Student 2", "Student 3", "Student 4"} - {name}:
                assert other.encode() not in path.read_bytes(), (path, other)
    neckwork("decks", "move", "monday", "--", "-1")
    (folder / "Student 2.json").unlink()
    again = neckwork(*asked, "--prepare", str(out))
    assert again.code == 0 and "1 student, 2 who sent nothing yet, 0 files passed over" in again.err, again.err
    assert "Cm7 to F7" not in (out / "Student 1" / "phone.html").read_text(encoding="utf-8")
    assert read_deck(out / "Student 4" / "deck.toml").starts == late + timedelta(weeks=1)
    neckwork("decks", "move", "monday", "--", "-5")
    said = neckwork(*asked, "--prepare", str(tmp_path / "early")).err
    # Before the class begins there is a deck, and nothing yet to play on a page.
    assert "Student 1: no phone page (" in said and (tmp_path / "early" / "Student 1" / "deck.toml").exists()
    page = tmp_path / "one.html"
    assert neckwork("phone", "monday", "--student", "Student 1", "-o", str(page)).code == 0
    assert "'Student 9' among them" in neckwork("phone", "monday", "--student", "Student 9", "-o", str(page)).err


def test_a_class_of_several_instruments_gets_pages_on_each_one_s_own(neckwork, tmp_path):
    """Whoever last played a bass has a phone page of four strings, and is asked for the bass's own sets."""
    folder = tmp_path / "lessons"
    folder.mkdir()
    at = datetime(2031, 5, 13, 18, tzinfo=UTC)
    for number, (name, tuning, sets) in enumerate(
        (("Bass", "E1A1D2G2", "432"), ("Ukulele", "G3C4E4A4", "432"), ("Seven", "B1E2A2D3G3B3E4", "765")), 1
    ):
        review = Review(f"{tuning}/arpeggio/C/m7/{sets}/name", Grade.LOOKED, at, 4.0, skills=("root:C",))
        with (folder / f"{name}.json").open("w", encoding="utf-8") as out:
            write_json([Event(review.id, f"{number:024x}", as_us(at), at, review)], out)
    neckwork("decks", "new", "all", "--students", "Bass,Ukulele,Seven", "--week", "1:first", "--starts", "2031-05-01")
    out = tmp_path / "out"
    ran = neckwork("roster", str(folder), "--on", "2031-05-14", "--deck", "all", "--prepare", str(out))
    assert ran.code == 0 and "no phone page" not in ran.err, ran.err
    for name, strings in (("Bass", 4), ("Ukulele", 4), ("Seven", 7)):
        page = (out / name / "phone.html").read_text(encoding="utf-8")
        data = json.loads(re.search(r'id="data">(.*?)</script>', page, re.DOTALL)[1])
        for _, _, _, numbers in data["drawings"]:
            lines = [part for number in numbers if (part := data["parts"][number])[0] == "l"]
            assert len({part[2] for part in lines if part[2] == part[4]}) == strings, name
