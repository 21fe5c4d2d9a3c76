"""The invented students: the same seed gives the same bytes, and their logs are logs like any other."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from lxml import etree

from data.invented_students import FIRST_DAY, Student, students
from data.make_demo_log import material_of, student_events, write_students
from data.make_pictures import demo_pictures
from data.session_picture import session_picture
from scheduler.log.fold import fold
from scheduler.log.interchange import import_file
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from tests.log_exports import export_json


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Two students of some days each."""
    return write_students(tmp_path_factory.mktemp("demo"), count=2, days=6)


def test_the_same_seed_gives_the_same_bytes(written, tmp_path):
    """Written again from the same seed nothing differs; from another seed it does."""
    again = write_students(tmp_path / "again", count=2, days=6, jobs=2)
    other = write_students(tmp_path / "other", seed=2, count=1, days=6)
    assert [one.read_bytes() for one in again] == [one.read_bytes() for one in written]
    assert other[0].read_bytes() != written[0].read_bytes()
    assert [one.name for one in written] == ["Student 1.json", "Student 2.json"]


def test_the_logs_are_logs(written):
    """Each is taken in whole, comes out as it went in, lies in the fictional year, and holds tries and lessons."""
    for path in written:
        log = ReviewLog(":memory:")
        assert import_file(log, path).known == 0
        out = io.StringIO()
        export_json(log, out)
        assert out.getvalue() == path.read_text(encoding="utf-8")
        reviews = list(log.reviews())
        assert {one.attempt for one in reviews} == {"first", "repeat"}
        assert all(one.at.year == FIRST_DAY.year for one in reviews)
        assert all(one.predicted is not None for one in reviews if one.attempt == "first")


def test_what_was_predicted_is_what_the_memory_says():
    """Each first try of three sessions carries the recall of a planner that has read the reviews before it, their slips
    too, and so a slip that was named only after a lesson had come between."""
    student = Student(3, deck="set-654", days=3, attends=1.0)
    material = material_of(student)
    reviews = fold(student_events(student, material)).reviews
    planner = Planner(material.specs(), 1, rules=material.rules())
    foreseen = []
    for one in reviews:
        if one.attempt == "first":
            assert planner.recall(one.card, one.at) == one.predicted
            foreseen.append(one.predicted)
        planner.record(one)
    assert len(foreseen) > 20 and len(set(foreseen)) > 10
    assert len({one.session for one in reviews}) == 3


def test_students_have_numbers_and_no_names():
    """Student 1 to Student 20, who differ."""
    everyone = students()
    assert [one.name for one in everyone] == [f"Student {number}" for number in range(1, 21)]
    assert len({(one.deck, one.half_life_days, one.attends) for one in everyone}) == 20


def test_the_session_in_readme_is_as_the_screens_are_now():
    """The shipped picture of a prompt and its answer is what the script draws today, with its words beside it."""
    shipped = Path(__file__).resolve().parents[2] / "data" / "pictures" / "session.svg"
    assert shipped.read_text(encoding="utf-8") == session_picture()
    words = etree.fromstring(session_picture().encode()).findtext("{http://www.w3.org/2000/svg}desc")
    assert "Play it, then Enter." in words and "Clean" in words


def test_readme_pictures_are_drawn_from_them():
    """Every picture is well-formed SVG with words beside it."""
    student = students(days=12)[0]
    found = demo_pictures(student_events(student, material_of(student)))
    assert sorted(found) == ["days-away.svg", "neck.svg", "time-to-reveal.svg", "weeks-ahead.svg"]
    for text in found.values():
        picture = etree.fromstring(text)
        assert len(picture.findtext("{http://www.w3.org/2000/svg}desc")) > 20
