"""What goes out: parts of a log, and pages to read, read back by independent readers."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import timedelta

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import html
from markdown_it import MarkdownIt

from drills.exports.export_formats import CARD_COLUMNS, export
from drills.exports.log_part import LogPart, chosen_events
from drills.exports.readable import HEADER, write_html, write_markdown
from drills.progress.card_parts import card_parts
from scheduler.days.practice_day import practice_day
from scheduler.errors import ReviewError
from scheduler.grade import Grade
from scheduler.log.attempts import results
from scheduler.log.fold import fold
from scheduler.log.interchange import read_events
from scheduler.log.interchange_csv import COLUMNS
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from scheduler.statistics.first_tries import first_tries
from tests.progress.pages import check_page
from tests.progress.players import START, first_deck, graded, played
from tests.progress.test_report import twenty
from tests.strategies import histories, reviews


def log_of(kept) -> ReviewLog:
    """A log in memory of reviews."""
    log = ReviewLog(":memory:")
    for one in kept:
        log.record(one)
    return log


def written(log: ReviewLog, kind: str, choice: LogPart = LogPart(), **more) -> str:
    """The export as text."""
    out = io.StringIO(newline="")
    export(log, out, kind, choice, **more)
    return out.getvalue()


def taken_in(text: str) -> ReviewLog:
    """A new log that holds what was written."""
    log = ReviewLog(":memory:")
    log.add(read_events(text.encode(), "export", log.id))
    return log


choices = st.builds(
    LogPart,
    since=st.none() | st.integers(0, 40).map(lambda n: (START + timedelta(days=n)).date()),
    until=st.none() | st.integers(0, 40).map(lambda n: (START + timedelta(days=n)).date()),
    strings=st.sets(st.sampled_from(["654", "543", "432", "321"]), max_size=2).map(frozenset),
    qualities=st.sets(st.sampled_from(["m7", "m7b5", "7", "dim7"]), max_size=2).map(frozenset),
)


@settings(max_examples=30)
@given(st.integers(0, 1000), choices)
def test_a_part_holds_what_was_asked_and_no_more(seed, choice):
    """By day, set and quality, alone and together, every format writes the same reviews in the same order."""
    kept = played(seed, 15, 6)
    expected = [
        one
        for one in kept
        if (not choice.strings or card_parts(one.card).strings in choice.strings)
        and (not choice.qualities or card_parts(one.card).quality in choice.qualities)
        and (choice.since is None or practice_day(one.at) >= choice.since)
        and (choice.until is None or practice_day(one.at) <= choice.until)
    ]
    log = log_of(kept)
    assert list(taken_in(written(log, "json", choice)).reviews()) == expected
    assert list(taken_in(written(log, "csv", choice)).reviews()) == expected
    assert written(log, "md", choice).count("\n| 2") == len(expected)
    assert len(html.document_fromstring(written(log, "html", choice)).xpath("//tbody/tr")) == len(expected)


@settings(max_examples=60)
@given(histories())
def test_a_part_keeps_what_was_taken_back(history):
    """Events on one card, with whatever undoes or names them, fold to the whole state seen through that card."""
    choice = LogPart(cards=frozenset({"p"}))
    part, whole = fold(chosen_events(sorted(history, key=lambda event: event.order), choice)), fold(history)
    assert part.reviews == tuple(one for one in whole.reviews if one.card == "p")
    assert part.rested == whole.rested & {"p"}
    assert [one.id for one in part.flags] == [one.id for one in whole.flags if one.body.card == "p"]
    assert part.locks == whole.locks and part.tickets == whole.tickets


@settings(max_examples=30)
@given(histories())
def test_the_whole_in_json_is_the_whole(history):
    """Without a choice the JSON brings back the identical state."""
    log = ReviewLog(":memory:")
    log.add(history)
    assert taken_in(written(log, "json")).state() == log.state() == fold(history)


def test_twenty_grades_reconcile_in_a_spreadsheet(tmp_path):
    """drills/RULES.md, G25: 20 graded rows with time, card, set, quality, root and grade, summing 2/6/9/3, and two
    repeats that no sum counts; taken in again the same memory."""
    log = log_of(twenty())
    text = written(log, "csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(text)):
        book.active.append([int(cell) if cell.isdecimal() else cell or None for cell in row])
    book.save(tmp_path / "reviews.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "reviews.xlsx").active
    header, *lines = sheet.iter_rows(values_only=True)
    assert set(header) >= {"time", "card", "set", "quality", "root", "grade"}
    grades = [line[header.index("grade")] for line in lines]
    assert [grades.count(grade) for grade in (1, 2, 3, 4, None)] == [2, 6, 9, 3, 2]
    for row in rows:
        parts = card_parts(row["card"])
        assert (row["set"], row["quality"], row["root"]) == (parts.strings, parts.quality, parts.root)
    back = taken_in(text)
    assert list(back.reviews()) == list(log.reviews())


def test_the_columns_are_the_documented_ones():
    """The scheduler's own in their places, the card's after `card`."""
    header = written(log_of([]), "csv").splitlines()[0].split(",")
    assert header == [*COLUMNS[:2], *CARD_COLUMNS, *COLUMNS[2:]]
    assert list(CARD_COLUMNS) == ["set", "quality", "root", "form", "prompt"]


@settings(max_examples=40)
@given(st.lists(reviews(), max_size=5, unique_by=lambda one: one.id))
def test_markdown_and_html_show_any_name_as_it_is(kept):
    """Pipes, brackets, tags and formulas in a name read back as plain text, by a Markdown and an HTML reader."""
    out = io.StringIO()
    assert write_markdown(results(kept), out) == len(kept)
    rendered = html.fragment_fromstring(MarkdownIt("gfm-like", {"linkify": False}).render(out.getvalue()), "div")
    page = io.StringIO()
    assert write_html(results(kept), page) == len(kept)
    root = check_page(page.getvalue())
    for document in (rendered, root):
        shown = [[cell.text_content() for cell in row] for row in document.xpath(".//tbody/tr")]
        assert [row[1] for row in shown] == [
            " ".join(one.card.split()) if document is rendered else one.card for one in kept
        ]
        assert [row[2] for row in shown] == [result for _, result in results(kept)]
        assert all(len(row) == len(HEADER) for row in shown)
        assert not document.xpath(".//tbody//a | .//tbody//script | .//tbody//em")


def test_a_lesson_is_called_one():
    """A lesson, a miss and its repeat: every format that people read calls each by its name, the whole and a part, and
    the CSV brings the same reviews back."""
    steps = [("repeat", Grade.FOUND), ("first", Grade.LOOKED), ("repeat", Grade.FOUND), ("first", Grade.CLEAN)]
    kept = [
        Review("c", grade, START + timedelta(days=day), 2.0, attempt, id=f"r{day}")
        for day, (attempt, grade) in enumerate(steps)
    ]
    log, words = log_of(kept), ["Lesson", "Looked", "Repeat (Found it)", "Clean"]
    part = LogPart(since=kept[2].at.date())
    for choice, expected in ((LogPart(), words), (part, words[2:])):
        text = written(log, "csv", choice)
        rows = list(csv.DictReader(io.StringIO(text)))
        assert [row["result"] for row in rows] == expected
        assert [row["grade"] for row in rows] == ["", "1", "", "3"][-len(expected) :]
        assert list(taken_in(text).reviews()) == kept[-len(expected) :]
        page = html.document_fromstring(written(log, "html", choice))
        assert [cell.text for cell in page.xpath("//tbody/tr/td[2]")] == expected
        assert all(word in written(log, "md", choice) for word in ("Repeat (Found it)", "Clean"))
    assert "| Lesson |" in written(log, "md")


@pytest.mark.parametrize("kind", ["csv", "json", "md", "html"])
def test_writing_again_writes_the_same(kind):
    """The same log gives the same bytes, and does not name the machine."""
    import socket

    log = log_of(played(4, 5, 5))
    text = written(log, kind)
    assert written(log, kind) == text
    assert socket.gethostname() not in text


def test_progress_is_told_as_it_goes():
    """What is read is told in steps that sum to no more than the reviews."""
    log = ReviewLog(":memory:")
    cards = [Review("c", Grade.CLEAN, START + timedelta(seconds=n), 1.0, id=f"{n}") for n in range(2500)]
    from scheduler.log.events import Event, as_us

    log.add(Event(one.id, log.id, as_us(one.at), one.at, one) for one in cards)
    steps: list[int] = []
    assert json.loads(written(log, "json", tick=steps.append))["version"] == 1
    assert steps == [1000, 1000]


def rows_of(text: str, kind: str) -> dict[str, tuple[bool, str]]:
    """By review, whether an export calls it a first try, and its practice day."""
    if kind == "csv":
        table = csv.DictReader(io.StringIO(text, newline=""))
        return {row["id"]: (row["first_of_day"] == "1", row["practice_day"]) for row in table}
    events = json.loads(text)["events"]
    return {row["id"]: (row["first_of_day"], row["practice_day"]) for row in events if "practice_day" in row}


@settings(max_examples=25)
@given(st.integers(0, 1000), choices, st.sampled_from([0.0, 4.0, 20.0]), st.sampled_from(["csv", "json"]))
def test_an_export_tells_first_tries_and_days_as_they_are_counted(seed, choice, hour, kind):
    """The columns agree with the one definition over the whole log, also where only a part is written, and what was
    taken back is told nothing of."""
    kept = played(seed, 12, 8)
    log = log_of(kept)
    log.undo(kept[len(kept) // 2].id, START + timedelta(days=60))
    left = list(log.reviews())
    firsts = {one.id for one, _ in first_tries(left, hour)}
    expected = {one.id: (one.id in firsts, practice_day(one.at, hour).isoformat()) for one in left}
    found = rows_of(written(log, kind, replace(choice, day_starts_at_hour=hour)), kind)
    assert found.items() <= expected.items()
    if not choice.since and not choice.until and not choice.strings and not choice.qualities:
        assert found == expected


def test_the_days_of_an_export_are_passed_over_when_it_is_taken_in():
    """An import keeps no field of them: twice there and back gives the same log and the same file."""
    log = log_of(played(5, 6, 8))
    for kind in ("json", "csv"):
        back = taken_in(written(log, kind, LogPart(day_starts_at_hour=0.0)))
        assert back.further_fields() == {}
        assert list(back.reviews()) == list(log.reviews())
    assert written(taken_in(written(log, "json")), "json") == written(log, "json")


@pytest.mark.parametrize(("kind", "stated"), [("json", "2024-03-06"), ("json", "soon"), ("csv", "2024-03-02")])
def test_a_practice_day_that_no_clock_agrees_with_is_refused_where_days_are_read(kind, stated):
    """File, line and field are named, with the days that can be right."""
    text = written(log_of([graded(next(iter(sorted(first_deck().cards))), Grade.CLEAN, START)]), kind)
    wrong = text.replace(
        "2024-03-04\r\n" if kind == "csv" else '"2024-03-04"', f"{stated}\r\n" if kind == "csv" else f'"{stated}"'
    )
    with pytest.raises(ReviewError, match=rf"file, line 2.*, practice_day: expected 2024-03-04 or .*'{stated}'"):
        list(read_events(wrong.encode(), "file", "log", days={}))
    days: dict[str, int] = {}
    [event] = read_events(text.encode(), "file", "log", days=days)
    assert days == {event.id: START.toordinal()}
