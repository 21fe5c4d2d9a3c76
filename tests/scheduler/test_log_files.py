"""A log out to JSON and CSV and back, and the logs of several machines joined."""

from __future__ import annotations

import csv
import getpass
import io
import itertools
import json
import socket
from datetime import UTC, datetime, timedelta, timezone
from random import Random

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import LogError, ReviewError
from scheduler.grade import Grade
from scheduler.log.events import Event, as_us
from scheduler.log.fold import fold
from scheduler.log.interchange import import_file, join, read_events
from scheduler.log.interchange_csv import COLUMNS
from scheduler.log.interchange_json import event_to_json, read_json
from scheduler.log.iso import read_time, time_text
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from tests.log_exports import export_csv, export_json
from tests.strategies import LOG_IDS, histories, moments, odd_text, reviews

AT = datetime(2024, 3, 4, 18, 0, tzinfo=timezone(timedelta(hours=1)))


def as_json(log: ReviewLog) -> str:
    """The log's JSON export."""
    out = io.StringIO()
    export_json(log, out)
    return out.getvalue()


def as_csv(log: ReviewLog, **options) -> str:
    """The log's CSV export."""
    out = io.StringIO(newline="")
    export_csv(log, out, **options)
    return out.getvalue()


def taken_in(text: str, name: str = "export") -> ReviewLog:
    """A new log with the export taken in."""
    log = ReviewLog(":memory:")
    log.add(read_events(text.encode(), name, log.id))
    return log


def log_of(events) -> ReviewLog:
    """A new log in memory that holds `events`."""
    log = ReviewLog(":memory:")
    log.add(events)
    return log


# ---- there and back


@given(histories())
def test_json_brings_back_the_same_state(history):
    """The JSON of any history, taken into an empty log, gives every event and so the same state."""
    text = as_json(log_of(history))
    json.loads(text)
    back = taken_in(text)
    assert list(back.events()) == sorted(history, key=lambda event: event.order)
    assert back.state() == fold(history)
    assert as_json(back) == text


@given(histories())
def test_json_in_another_layout_is_the_same(history):
    """A document that another program has indented and sorted is read as what it was."""
    document = json.loads(as_json(log_of(history)))
    back = taken_in("\ufeff" + json.dumps(document, indent=3, sort_keys=True))
    assert back.state() == fold(history)


@given(st.lists(reviews(), max_size=6, unique_by=lambda one: one.id))
def test_csv_brings_back_the_same_memory(played):
    """The CSV of any reviews, clocks set back included, gives the same reviews in the same order."""
    log = ReviewLog(":memory:")
    for one in played:
        log.record(one)
    back = taken_in(as_csv(log, columns={"=own": lambda card: card[::-1]}))
    assert list(back.reviews()) == played
    assert [one.at.utcoffset() for one in back.reviews()] == [one.at.utcoffset() for one in played]


@settings(max_examples=40)
@given(st.lists(reviews(), min_size=2, max_size=6, unique_by=lambda one: one.id), st.randoms(use_true_random=False))
def test_csv_sorted_by_a_spreadsheet_is_the_same(played, rng):
    """Rows in another order, and semicolons or tabs between the cells, bring back the same memory."""
    log = ReviewLog(":memory:")
    for one in played:
        log.record(one)
    header, *rows = list(csv.reader(io.StringIO(as_csv(log))))
    rng.shuffle(rows)
    for delimiter in ";\t":
        out = io.StringIO(newline="")
        csv.writer(out, delimiter=delimiter).writerows([header, *rows])
        assert list(taken_in(out.getvalue()).reviews()) == played


def test_csv_takes_slips_and_undo_as_they_stand():
    """The CSV holds the reviews in effect: undone ones are gone and the last slip named is there."""
    log = ReviewLog(":memory:")
    for number in range(3):
        log.record(Review("c", Grade.LOOKED, AT + timedelta(minutes=number), 3.0, id=f"r{number}"))
    log.undo("r1", AT)
    log.slip("r2", "root", AT)
    assert [(one.id, one.slip) for one in taken_in(as_csv(log)).reviews()] == [("r0", None), ("r2", "root")]


def test_taking_in_twice_changes_nothing(tmp_path):
    """Importing JSON, CSV or the log itself again is known by the ids."""
    log = ReviewLog(tmp_path / "log.sqlite3")
    for number in range(4):
        log.record(Review("c", Grade.CLEAN, AT + timedelta(minutes=number), 3.0, id=f"r{number}"))
    log.rest("c", AT)
    state = log.state()
    (tmp_path / "log.json").write_text(as_json(log), encoding="utf-8")
    (tmp_path / "log.csv").write_text(as_csv(log), encoding="utf-8", newline="")
    assert import_file(log, tmp_path / "log.json") == (0, 5)
    assert import_file(log, tmp_path / "log.csv") == (0, 4)
    assert import_file(log, tmp_path / "log.sqlite3") == (0, 5)
    assert log.state() == state
    other = ReviewLog(tmp_path / "other.sqlite3")
    assert import_file(other, tmp_path / "log.csv") == (4, 0)
    assert import_file(other, tmp_path / "log.json") == (1, 4)
    assert other.state() == state
    log.close()
    other.close()


# ---- for a spreadsheet


def test_columns_stand_in_a_stable_order():
    """The header is the documented one, the caller's columns after the card, first attempts graded and repeats not."""
    log = ReviewLog(":memory:")
    skills = ("form:x y", "root:50%")
    log.record(Review("a/b", Grade.IN_TIME, AT, 3.5, "first", skills, 9.0, "s", "id1", None, 92.0, 0.5))
    log.record(Review("a/b", Grade.CLEAN, AT + timedelta(minutes=1), 2.0, "repeat", id="id2"))
    text = as_csv(log, columns={"set": lambda card: card.split("/")[1]})
    assert text.split("\r\n") == [
        "time,card,set,grade,result,attempt,seconds,spent,slip,tempo_bpm,predicted,session,skills,id,stamp,"
        "first_of_day,practice_day",
        "2024-03-04T18:00:00.000000+01:00,a/b,b,4,In time,first,3.5,9.0,,92.0,0.5,s,form:x%20y root:50%25,id1,,"
        "1,2024-03-04",
        "2024-03-04T18:01:00.000000+01:00,a/b,b,,Repeat (Clean),repeat,2.0,,,,,,,id2,,0,2024-03-04",
        "",
    ]
    assert tuple(text.split("\r\n")[0].replace(",set", "").split(",")) == COLUMNS
    with pytest.raises(ReviewError, match="CSV column 'grade': expected a name of its own"):
        as_csv(log, columns={"grade": str})


def test_only_what_is_kept_is_written():
    """A filter leaves out reviews and nothing else."""
    log = ReviewLog(":memory:")
    for number in range(4):
        log.record(Review(f"c{number % 2}", Grade.CLEAN, AT + timedelta(minutes=number), 3.0, id=f"r{number}"))
    rows = list(csv.DictReader(io.StringIO(as_csv(log, keep=lambda one: one.card == "c1"))))
    assert [row["id"] for row in rows] == ["r1", "r3"]


@given(reviews())
def test_no_cell_runs_as_a_formula(one):
    """No cell begins with what OWASP's "CSV Injection" lists, whatever the card is called."""
    log = ReviewLog(":memory:")
    log.record(one)
    text = as_csv(log, columns={"@sum": lambda card: card, "x": lambda card: "=cmd|' /C calc'!A0"})
    for row in csv.reader(io.StringIO(text)):
        assert not [cell for cell in row if cell[:1] in tuple("=+-@\t\r＝＋－＠")]


def test_a_spreadsheet_library_sees_the_same_cells(tmp_path):
    """Written into a workbook by openpyxl and read back, the table is all text and numbers and no formula."""
    log = ReviewLog(":memory:")
    log.record(Review("=HYPERLINK(1)", Grade.CLEAN, AT, 3.0, skills=("@x",), id="r1"))
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(as_csv(log))):
        book.active.append(row)
    book.save(tmp_path / "book.xlsx")
    cells = list(openpyxl.load_workbook(tmp_path / "book.xlsx").active.iter_rows())
    assert {cell.data_type for row in cells for cell in row} <= {"s", "inlineStr", "n"}
    assert cells[1][1].value == "'=HYPERLINK(1)"


def test_an_export_names_nobody(tmp_path, monkeypatch):
    """JSON and CSV hold random ids and what was played, and neither machine, account nor folder."""
    folder = tmp_path / "Student 7's folder"
    log = ReviewLog(folder / "log.sqlite3")
    log.record(Review("c", Grade.CLEAN, AT, 3.0))
    log.flag("c", "which finger?", AT)
    text = as_json(log) + as_csv(log)
    for name in (socket.gethostname(), str(tmp_path), "Student 7", "/tmp"):
        assert name not in text
    assert f'"{getpass.getuser()}"' not in text
    log.close()


@given(moments())
def test_times_are_written_as_the_library_writes_them(at):
    """The quick text of a time is what `datetime.isoformat` gives, and is read back to the same instant."""
    assert time_text(at) == at.isoformat(timespec="microseconds")
    assert read_time(time_text(at), "here") == at


# ---- joining


@settings(max_examples=60)
@given(histories(40), st.randoms(use_true_random=False))
def test_joining_is_one_set_in_any_order(history, rng):
    """Three machines joined in all six orders, pairwise or in one go, once or twice, give one state.

    Clocks are skewed by up to an hour and a half, and each machine undoes,
    rests and names slips of what the others wrote.
    """
    parts = [[event for event in history if event.log == log] for log in LOG_IDS]
    want = fold(history)
    for order in itertools.permutations(range(3)):
        joined = log_of(parts[order[0]])
        joined.add(rng.sample(parts[order[1]], len(parts[order[1]])))
        joined.add(parts[order[2]])
        joined.add(parts[order[1]])
        assert joined.state() == want
    left = log_of(parts[0])
    right = log_of(parts[1])
    right.add(parts[2])
    left.add(right.events())
    assert left.state() == want
    assert tuple(left.reviews()) == want.reviews
    again = list(left.events())
    left.add(again)
    assert list(left.events()) == again


@given(histories(20), st.integers(0, 5))
@settings(max_examples=25)
def test_joining_through_files_is_the_same(tmp_path_factory, history, which):
    """Machines that exchange logs, JSON and CSV in any order all come to the state of all events."""
    folder = tmp_path_factory.mktemp("join")
    logs = []
    for log_id in LOG_IDS:
        logs.append(ReviewLog(folder / f"{log_id}.sqlite3"))
        logs[-1].add(event for event in history if event.log == log_id)
    order = list(itertools.permutations(range(3)))[which]
    first, second, third = (logs[place] for place in order)
    (folder / "second.json").write_text(as_json(second), encoding="utf-8")
    import_file(third, folder / "second.json")
    assert join(first, [third.path, second.path, first.path]).new == len(history) - sum(
        event.log == LOG_IDS[order[0]] for event in history
    )
    join(second, [first.path])
    assert first.state() == second.state() == fold(history)
    for log in logs:
        log.close()


# ---- what cannot be read


def write(tmp_path, text: str | bytes):
    """A file with that content."""
    path = tmp_path / "x"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def one_event(**fields) -> str:
    """A document of one event, on its second line."""
    event = {"kind": "rest", "id": "e", "log": "l", "stamp": "2024-03-04T17:00:00Z",
             "at": "2024-03-04T18:00:00+01:00", "card": "c", **fields}  # fmt: skip
    return '{"format": "review-log", "version": 1, "events": [\n' + json.dumps(event) + "\n]}"


HEADER = "time,card,grade,seconds,id,attempt,predicted,stamp\r\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "expected an exported log, JSON or CSV, or a log file, got neither; export the log"),
        ("Dear diary,\n", "expected an exported log, JSON or CSV, or a log file, got neither; export the log"),
        ("card,grade\r\n", r"line 1, time: expected one column of that name, got 0; is this an export of reviews\?"),
        ("{", r"line 1: expected a JSON value .*the end of the file"),
        ("{}", r"format: expected 'review-log', got None"),
        ('{"format": "review-log", "version": 1}', "events: expected a list of events, got none"),
        ('{"format": "review-log", "version": 2, "events": []}', "version: expected 1, got 2; a newer file needs"),
        ('{"format": "review-log", "version": 1, "events": []} x', "line 1: expected the end of the file, got 'x'"),
        ('{"format": "review-log", "version": 1, "events": [\n\n3]}', "line 3, event 1: expected an object, got 3"),
        ('{"format": "review-log", "version": 1, "events": {}}', r"line 1: expected '\[', got"),
        ('{"a" 1}', "line 1: expected ':', got '1}'"),
        ("{1: 2}", "line 1: expected a key in quotes"),
        ('{"a": ' + "[" * 100_000, "line 1: expected a JSON value"),
        ('{"a": NaN}', "NaN is not a JSON number"),
        ('{"a": ' + "9" * 9_000 + "}", "line 1: expected a JSON value"),
        (one_event(kind=["rest"]), r"line 2, event 1, kind: expected one of"),
        (one_event(card=None), "line 2, event 1, card: expected text, got None"),
        (one_event(at="2024-03-04"), "at: expected an ISO 8601 time with an offset, got '2024-03-04'"),
        (one_event(at="0001-01-01T00:00:00+14:00"), "at: expected an ISO 8601 time with an offset"),
        (one_event(stamp="9999-01-01T00:00:00Z"), "stamp: expected a time between the years 1900 and 9000"),
        (one_event(kind="review", grade=7, seconds=1, attempt="first"), "grade: expected 1, 2, 3 or 4, got 7"),
        (one_event(kind="review", grade=True, seconds=1, attempt="first"), "grade: expected 1, 2, 3 or 4, got True"),
        (one_event(kind="review", grade=3, seconds="1", attempt="first"), "seconds: expected a number, got '1'"),
        (one_event(kind="review", grade=3, seconds=1, attempt="third"), "attempt: expected 'first' or 'repeat'"),
        (one_event(kind="review", grade=3, seconds=10**400, attempt="first"), "seconds: expected a number of ordinary"),
        (one_event(kind="meet", skills=[3]), "skills: expected printable text of 1 to 1000 characters, got 3"),
        (one_event(kind="meet", skills="ab"), "skills: expected a list of texts, got 'ab'"),
        (one_event(kind="flag", text="\ud800"), "text: expected text of at most 10000 characters"),
        ("time,card\r\n", "line 1, grade: expected one column of that name, got 0"),
        (HEADER + "2024-03-04T18:00:00+01:00,c,5,1,i\r\n", "line 2, grade: expected 1, 2, 3 or 4, got '5'"),
        (HEADER + "yesterday,c,3,1,i\r\n", "line 2, time: expected an ISO 8601 time with an offset, got 'yesterday'"),
        (HEADER + "2024-03-04T18:00:00+01:00,c,3,fast,i\r\n", "line 2, seconds: expected a number, got 'fast'"),
        (HEADER + "2024-03-04T18:00:00+01:00,c,3,1\r\n", "line 2: .*id: expected a unique id, got ''"),
        (HEADER + "2024-03-04T18:00:00+01:00,c,3,1,i,first,2\r\n", "predicted: expected a chance between 0 and 1"),
        (HEADER + '2024-03-04T18:00:00+01:00,"c\r\n', "line 3?2?: expected comma-separated cells"),
        (b"time,card\xff", "line 1: expected UTF-8 text, got the byte 0xff"),
        (b"\x89PNG\r\n\x1a\n", "line 1: expected UTF-8 text, got the byte 0x89"),
        (b"SQLite format 3\0 but nothing more", "cannot open .*; the file is not a review log; move it away"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_right_is_said(tmp_path, text, said):
    """What cannot be read is named by file, line and field, with what was expected, and nothing is taken in."""
    path = write(tmp_path, text)
    log = ReviewLog(":memory:")
    with pytest.raises((ReviewError, LogError), match=rf"(?s){path}.*{said}"):
        import_file(log, path)
    assert list(log.events()) == []


def test_one_wrong_row_takes_nothing_in(tmp_path):
    """A file with a mistake at its end leaves the log as it was."""
    rows = [f"2024-03-04T18:00:00+01:00,c,3,1,i{number}\r\n" for number in range(2_000)]
    path = write(tmp_path, HEADER + "".join(rows) + "oops\r\n")
    log = ReviewLog(":memory:")
    with pytest.raises(ReviewError, match=r"line 2002, grade"):
        import_file(log, path)
    assert list(log.events()) == []


@pytest.mark.parametrize("path", ["/no/such/file", "/tmp", "bad\0name"])
def test_a_file_that_is_not_there_is_said(path):
    """A path that cannot be opened is an error of reading with advice."""
    with pytest.raises(LogError, match=r"cannot be read .*; give an exported file or a log") as told:
        import_file(ReviewLog(":memory:"), path)
    assert str(told.value).count(path) == 1
    assert "Errno" not in str(told.value)


def well_formed(rng: Random) -> list[bytes]:
    """A JSON and a CSV export of a few events."""
    log = ReviewLog(":memory:")
    for number in range(3):
        at = datetime(2024, 3, 4, 18, number, tzinfo=UTC)
        log.record(Review("a/b", rng.choice(list(Grade)), at, 3.5, skills=("form:x",), id=f"r{number}"))
        log.flag("a/b", "why?", at)
        log.slip(f"r{number}", "root", at)
    return [as_json(log).encode(), as_csv(log).encode()]


def take_in_or_refuse(content: bytes) -> None:
    """Read `content` into a log; anything raised but our two errors is a failure."""
    log = ReviewLog(":memory:")
    try:
        log.add(read_events(content, "file", log.id))
    except (ReviewError, LogError) as error:
        assert "file" in str(error)
        assert list(log.events()) == []
    else:
        assert len(list(log.events())) >= len(list(log.reviews()))


@given(st.randoms(use_true_random=False))
@settings(max_examples=25)
def test_a_damaged_export_is_read_or_refused(rng):
    """Exports with bytes lost, doubled, swapped or replaced are read or refused by name, twenty each time."""
    for content in well_formed(rng):
        for _ in range(20):
            bad = bytearray(content)
            for _ in range(rng.randint(1, 4)):
                place = rng.randrange(len(bad))
                length = rng.randint(1, 12)
                bad[place : place + length] = rng.choice((
                    b"", bytes(bad[place : place + length]) * 2, rng.randbytes(length), b'"', b",", b"null", b"1e999",
                    b"\\u0000", b"{", b"-", b"\r\n",
                ))  # fmt: skip
            take_in_or_refuse(bytes(bad))


@given(st.binary(max_size=60) | odd_text('{}[]":,\\eventsformatreview-log 0123456789.-+TZ\r\n').map(
    lambda text: text.encode("utf-8", "surrogatepass")
))  # fmt: skip
def test_any_bytes_are_read_or_refused(content):
    """Bytes and text that nobody exported are read or refused by name."""
    take_in_or_refuse(content)
    take_in_or_refuse(HEADER.encode() + content)


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=5,
)
FIELDS = (
    "kind", "id", "log", "stamp", "at", "card", "skills", "grade", "seconds", "attempt", "spent",
    "session", "slip", "tempo_bpm", "predicted", "target", "subject", "value", "text", "proposed", "how", "source",
    "sure", "detail",
)  # fmt: skip


@given(
    st.sampled_from(("review", "undo", "rest", "wake", "flag", "lock", "slip", "ticket", "meet", "heard")),
    st.dictionaries(st.sampled_from(FIELDS), VALUES, max_size=3),
)
@settings(max_examples=300)
def test_any_value_in_any_field_is_read_or_refused(kind, odd):
    """An event with values of any type in any field is read or refused by name."""
    base = {"kind": kind, "grade": 3, "seconds": 1.0, "attempt": "first", "target": "t", "subject": "s", "text": ""}
    take_in_or_refuse(one_event(**{**base, **odd}).encode())


@settings(max_examples=40)
@given(st.lists(reviews(), max_size=5, unique_by=lambda one: one.id))
def test_csv_rows_may_come_with_columns_missing(played):
    """A table with only the five needed columns is enough to be read."""
    rows = [[time_text(r.at), "c", int(r.grade), r.seconds, r.id] for r in played]
    out = io.StringIO(newline="")
    csv.writer(out).writerows([["time", "card", "grade", "seconds", "id"], *rows])
    back = taken_in(out.getvalue())
    assert sorted((one.at, one.grade, one.id) for one in back.reviews()) == sorted(
        (one.at, one.grade, one.id) for one in played
    )
    assert all(isinstance(event, Event) and event.stamp_us == as_us(event.at) for event in back.events())


@pytest.mark.parametrize("piece", [1, 2, 3, 7, 64, 1_000])
@given(
    events=st.lists(reviews(), max_size=3, unique_by=lambda one: one.id),
    indent=st.sampled_from([None, 3]),
    bom=st.booleans(),
)
@settings(max_examples=8)
def test_a_document_read_in_pieces_is_read_the_same(piece, events, indent, bom):
    """Wherever the pieces end, inside a word, a number or an escape, the events and their lines are the same."""
    rows = [event_to_json(Event(one.id, "log", as_us(one.at), one.at, one)) for one in events]
    document = {"format": "review-log", "version": 1, "more": [1.5e3, "\u00e9\n", None, True, -12], "events": rows}
    text = "\ufeff" * bom + json.dumps(document, indent=indent) + "\n \n"
    whole = list(read_json(io.StringIO(text), "file"))
    assert whole == [Event(one.id, "log", as_us(one.at), one.at, one) for one in events]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("scheduler.log.interchange_json._PIECE", piece)
        assert list(read_json(io.StringIO(text), "file")) == whole
        for cut in range(0, len(text) - 4, 29):
            with pytest.raises(ReviewError, match="file, line") as caught:
                list(read_json(io.StringIO(text[:cut]), "file"))
            said = str(caught.value)
            patched.undo()
            with pytest.raises(ReviewError) as again:
                list(read_json(io.StringIO(text[:cut]), "file"))
            assert str(again.value).partition(":")[0] == said.partition(":")[0]
            patched.setattr("scheduler.log.interchange_json._PIECE", piece)


def test_a_wrong_word_is_refused_where_it_stands_and_the_rest_is_not_read():
    """A fault at the head of a long document costs no reading of its end, and a value has a longest."""
    head = '{"format": "review-log", "version": 1, "events": [\n{"kind": nonsense},\n'
    source = io.StringIO(head + "0," * 1_500_000)
    with pytest.raises(ReviewError, match="file, line 2: expected a JSON value"):
        list(read_json(source, "file"))
    assert source.tell() < 1_000_000
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("scheduler.log.interchange_json._LONGEST_VALUE", 1_000_000)
        source = io.StringIO('{"a": "' + "x" * 9_000_000)
        with pytest.raises(ReviewError, match="a value of at most 1,000,000 characters"):
            list(read_json(source, "file"))
        assert source.tell() < 4_000_000
