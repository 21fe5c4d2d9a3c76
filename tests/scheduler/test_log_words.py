"""What a log says in files and in words: every field of every kind, tables or whole events, and how tries went."""

from __future__ import annotations

import json
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest

from scheduler.errors import LogError, ReviewError
from scheduler.grade import Grade
from scheduler.log.attempts import not_counted, results
from scheduler.log.checksums import damage
from scheduler.log.contents import content_id, content_text, told_by, variant_of
from scheduler.log.events import (
    Event,
    Flag,
    Later,
    Lock,
    Meet,
    Rest,
    SetAside,
    Slip,
    Ticket,
    Undo,
    Wake,
    Witness,
    as_us,
)
from scheduler.log.interchange import is_table, read_events
from scheduler.log.interchange_json import event_from_json, event_to_json
from scheduler.log.review_log import ReviewLog
from scheduler.log.seal import NO_SEAL, Seal, read_seal
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
WHOLE = Review("c", Grade.IN_TIME, NOW, 3.0, "first", ("a", "ü"), 9.0, "s", "e", "root", 80.0, 0.5)
BODIES = (
    WHOLE, Undo("t"), Rest("c"), Wake("c"), Flag("c", "why"), Lock("l", "x"), Slip("t", "root"), Ticket("k", "5"),
    Meet("c", ("a",)), SetAside(("t", "u")),
    Witness("t", Grade.CLEAN, "shown", "comb 1", 0.5, "48r 51r"), Later("dream", '{"of": "sheep"}'),
)  # fmt: skip
MAY_BE_LEFT_OUT = {
    ("review", "skills"), ("review", "spent"), ("review", "session"), ("review", "slip"), ("review", "tempo_bpm"),
    ("review", "predicted"), ("slip", "slip"), ("lock", "value"), ("ticket", "value"), ("meet", "skills"),
    ("dream", "of"), ("heard", "proposed"),
}  # fmt: skip


def row_of(one: Event) -> dict:
    """What a file says of an event."""
    return json.loads(json.dumps(event_to_json(one)))


def event(body, event_id: str = "e") -> Event:
    """The event of a body."""
    return Event(event_id, "one", as_us(NOW), NOW, body)


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.kind)
def test_every_field_is_there_or_may_be_left_out(body):
    """Left out and null are the same; a number or text of another kind, and yes or no, are refused with the field."""
    said = row_of(event(body))
    assert event_from_json(said, "x") == event(body)
    for field in said:
        for other in ({k: v for k, v in said.items() if k != field}, {**said, field: None}):
            if (said["kind"], field) in MAY_BE_LEFT_OUT:
                assert event_from_json(other, "x").kind == body.kind
            else:
                with pytest.raises(ReviewError, match=f"^x, {field}: expected "):
                    event_from_json(other, "x")
        if body.kind != "dream" or field != "of":
            for wrong in (True, {}, 3 if isinstance(said[field], str) else "text"):
                with pytest.raises(ReviewError, match=r"^x"):
                    event_from_json({**said, field: wrong}, "x")


@pytest.mark.parametrize("row", [None, 3, "text", [], True])
def test_what_is_no_object_is_no_event(row):
    """The message quotes it."""
    with pytest.raises(ReviewError, match=r"^x: expected an object, got "):
        event_from_json(row, "x")


def test_whole_numbers_are_taken_for_numbers_and_grades_are_one_to_four():
    """As JSON has one kind of number."""
    said = row_of(event(WHOLE))
    for field in ("seconds", "spent", "tempo_bpm", "predicted"):
        found = getattr(event_from_json({**said, field: 1 if field != "tempo_bpm" else 60}, "x").body, field)
        assert isinstance(found, float)
    for grade in (0, 5):
        with pytest.raises(ReviewError, match=f"x, grade: expected 1, 2, 3 or 4, got {grade}"):
            event_from_json({**said, "grade": grade}, "x")
    for grade in Grade:
        assert event_from_json({**said, "grade": int(grade)}, "x").body.grade is grade
    with pytest.raises(ReviewError, match="got one of many digits"):
        event_from_json({**said, "seconds": 10**400}, "x")


def test_a_content_is_the_same_text_on_every_machine():
    """Keys in order, no spaces, letters as they are, and of a review not the log; its id is made of that."""
    text = content_text(event(WHOLE))
    assert text == (
        '{"at":"2026-03-02T18:00:00.000000+00:00","attempt":"first","card":"c","grade":4,"id":"e","kind":"review",'
        '"predicted":0.5,"seconds":3.0,"session":"s","skills":["a","ü"],"slip":"root","spent":9.0,'
        '"stamp":"2026-03-02T18:00:00.000000Z","tempo_bpm":80.0}'
    )
    assert '"log":"one"' in content_text(event(Rest("c")))
    for body in BODIES[:-2]:
        variant = variant_of(event(body))
        assert variant.id == content_id(content_text(event(body))) and told_by(variant) == event(body)
    with pytest.raises(ReviewError, match="expected a variant, got a rest"):
        told_by(event(Rest("c")))


@pytest.mark.parametrize(
    ("content", "table"),
    [
        (b"SQLite format 3\0more", False), (b"SQLite format 4\0", True), (b'{"format"', False),
        (b'\xef\xbb\xbf  {"a"', False),
        (b"\n\n{", False), (b"time,card\r\n", True), (b"", True), (b"x{", True), (b"\xef\xbb\xbftime", True),
    ],
)  # fmt: skip
def test_a_table_is_told_from_a_log_and_from_whole_events(tmp_path, content, table):
    """By how the file begins."""
    path = tmp_path / "file"
    path.write_bytes(content)
    assert is_table(path) == table
    with pytest.raises(LogError, match="cannot be read"):
        is_table(tmp_path / "nowhere")


def test_slips_of_a_file_are_among_the_words_given():
    """Of reviews and of slips; none and no words at all are fine."""
    rows = [
        event_to_json(event(WHOLE)),
        event_to_json(event(Slip("t", "form"), "f")),
        event_to_json(event(Rest("c"), "g")),
    ]
    text = json.dumps({"format": "review-log", "version": 1, "events": rows}).encode()
    assert len(list(read_events(text, "x", "one"))) == 3
    assert len(list(read_events(text, "x", "one", ("root", "form")))) == 3
    for words, wrong in ((("root",), "slip 'f', slip: expected one of root, got 'form'"),
                         (("form",), "review 'e', slip: expected one of form, got 'root'")):  # fmt: skip
        with pytest.raises(ReviewError, match=f"^x, {wrong}"):
            list(read_events(text, "x", "one", words))
    assert len(list(read_events(json.dumps({"format": "review-log", "version": 1, "events": [
        event_to_json(event(Slip("t", None), "f"))]}).encode(), "x", "one", ()))) == 1  # fmt: skip


@pytest.mark.parametrize("line", [1, 2, 3, 7])
@pytest.mark.parametrize("first", [b"time,card\n", b'{"format": "review-log",\n'])
def test_a_byte_that_is_no_text_is_named_by_its_line(first, line):
    """Lines are counted from 1, and a line after it with another such byte is not looked at."""
    rows = [first, *[b"\xc3\xa9 1, 2\n"] * 6]
    rows[line - 1] = b"\xff" + rows[line - 1]
    with pytest.raises(ReviewError, match=f"^x, line {line}: expected UTF-8 text, got the byte 0xff"):
        list(read_events(b"".join(rows) + b"\xfe", "x", "one"))


def test_how_a_try_went_is_said_in_words():
    """A repeat of what was never tried is a lesson, by whichever grade; after a first try it is a repeat."""
    assert not_counted(Grade.FOUND, lesson=True) == "Lesson"
    for grade in Grade:
        assert not_counted(grade, lesson=False) == f"Repeat ({grade.label})"
        if grade is not Grade.FOUND:
            assert not_counted(grade, lesson=True) == f"Lesson ({grade.label})"
    tries = [
        Review("a", Grade.FOUND, NOW, 1.0, "repeat"), Review("a", Grade.LOOKED, NOW, 1.0),
        Review("a", Grade.CLEAN, NOW, 1.0, "repeat"), Review("b", Grade.CLEAN, NOW, 1.0, "repeat"),
        Review("b", Grade.CLEAN, NOW, 1.0),
    ]  # fmt: skip
    assert list(results(tries)) == list(
        zip(tries, ["Lesson", Grade.LOOKED.label, f"Repeat ({Grade.CLEAN.label})", f"Lesson ({Grade.CLEAN.label})",
                    Grade.CLEAN.label], strict=True)
    )  # fmt: skip


def test_a_log_that_is_joined_is_left_as_it_is(tmp_path):
    """Not even its seal is written."""
    other = tmp_path / "other.sqlite3"
    with ReviewLog(other) as log:
        log.record(WHOLE)
    other.with_suffix(".seal").unlink()
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        assert log.join(other)[:] == (1, 0) and log.join(other)[:] == (0, 1)
    assert read_seal(other) == NO_SEAL == Seal("", 0, None)


def test_stamps_that_are_brought_back_have_their_sums_anew(tmp_path):
    """Each event that moved, and those before it keep theirs."""
    path = tmp_path / "log.sqlite3"
    far = as_us(NOW + timedelta(days=30))
    with ReviewLog(path) as log:
        log.rest("c", NOW)
        log.add([Event(f"e{number}", "one", far + number, NOW, Wake("c")) for number in range(3)])
        assert log.mend_stamps(NOW) == 3
        log.wait_at_most(None)
        log.wait_at_most(0.5)
        log.ready_to_write()
    with sqlite3.connect(path) as file:
        assert file.execute("SELECT seq FROM sums ORDER BY seq").fetchall() == [(number,) for number in range(5)]
        assert damage(file) == []
        unique = {name for _, name, only, *_ in file.execute("PRAGMA index_list(events)") if only}
        assert {"events_id", "events_order"} <= unique
    file.close()
