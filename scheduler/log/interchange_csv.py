"""The reviews of a log as a table any spreadsheet opens, and back to the same memory.

Comma-separated, UTF-8, a header row, lines ending in CR LF (RFC 4180). The
columns, in this order:

time        what the clock showed, ISO 8601 with the local offset
card        the card's id
...         columns of the caller's own, read by people and passed over at import
grade       1 to 4, empty for repeats, so that a sum over the column counts first attempts only
result      the grade in words; Lesson, or Repeat with how it went, for repeats; passed over at import otherwise
attempt     first, or repeat for lessons and repeats after a miss, which are never counted
seconds     prompt to reveal
spent       prompt to next prompt, in seconds, or empty
slip        what failed, in a word of the subject, or empty
tempo_bpm   the pace in beats a minute, or empty
predicted   recall predicted just before, 0 to 1, or empty
session     id of the sitting, or empty
skills      separated by spaces; a space or percent sign in a skill is written %20 or %25
id          the review's id
stamp       its place in the order of the log, ISO 8601, UTC, where that is not its time
first_of_day  1 where it is the first ask of its card on a practice day, else 0; passed over at import
practice_day  the player's own practice day, ISO 8601; at import the clock and the settings tell it

A spreadsheet runs a cell that begins with ``=``, ``+``, ``-``, ``@`` (or the
full-width forms of these), a tab or a line end (OWASP, "CSV Injection"). Such
a cell, and one that begins with an apostrophe, is written with one apostrophe
before it, and reading takes one away.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, MutableMapping
from functools import lru_cache
from itertools import chain, islice
from typing import Literal, TextIO
from urllib.parse import quote, unquote

from scheduler.days.ask_of_day import Ask, AskOfDay
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_numbering
from scheduler.errors import LogError, ReviewError
from scheduler.grade import Grade
from scheduler.log.attempts import not_counted
from scheduler.log.events import Event, as_us, check
from scheduler.log.iso import clock_text, day_text, read_day, read_time, stamp_text
from scheduler.log.rows import Row, review_from_row, skills_from_text
from scheduler.review import Review

__all__ = ["COLUMNS", "guard", "read_csv", "write_csv"]

COLUMNS = (
    "time", "card", "grade", "result", "attempt", "seconds", "spent", "slip",
    "tempo_bpm", "predicted", "session", "skills", "id", "stamp", "first_of_day", "practice_day",
)  # fmt: skip
"""The columns that are always there; the caller's own stand after `card`."""

_REQUIRED = ("time", "card", "grade", "seconds", "id")
_RUNS = frozenset("=+-@＝＋－＠\t\r\n'")
_BEFORE_OWN = 2
_LINES_AT_ONCE = 500


def write_csv(
    rows: Iterable[Row],
    out: TextIO,
    columns: Mapping[str, Callable[[str], str]] | None = None,
    keep: Callable[[Review], bool] | None = None,
    source: str = "log",
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
) -> int:
    """Write reviews, given as `ReviewLog.review_rows` gives them, whole and in order; answers how many.

    out: text opened with ``newline=""``. columns: the caller's own, each a
    name and what to write for a card's id. keep: which reviews to write, all
    by default. source: what the rows are of, for messages. day_starts_at_hour: the player's own. Raises ReviewError
    when an own column has the name of one that is always there, and LogError
    when a row is no review.
    """
    own = dict(columns or {})
    for name in own:
        if name in COLUMNS:
            raise ReviewError(f"CSV column {name!r}: expected a name of its own, got one of {', '.join(COLUMNS)}")

    @lru_cache(maxsize=20_000)
    def about(card: str) -> str:
        return ",".join([_text(card), *[_text(make(card)) for make in own.values()]])

    out.write(",".join([*COLUMNS[:_BEFORE_OWN], *map(_text, own), *COLUMNS[_BEFORE_OWN:]]) + "\r\n")
    count = 0
    lines = _lines(rows, about, keep, source, day_starts_at_hour)
    while some := list(islice(lines, _LINES_AT_ONCE)):
        out.write("".join(some))
        count += len(some)
    return count


def _lines(
    rows: Iterable[Row], about: Callable[[str], str], keep: Callable[[Review], bool] | None, source: str, hour: float
) -> Iterator[str]:
    # Straight from the rows, and put together here: a log of many years has a
    # hundred thousand, and its texts are few and cached (measured: csv.writer
    # takes twice the time, and making each a Review half as much again).
    tried: set[str] = set()
    told, number = AskOfDay(), practice_day_numbering(hour)
    for row in rows:
        (review_id, clock_us, offset_s, card, skills, grade, seconds, attempt, spent, session, tempo_bpm, predicted,
         slip, lag_us) = row  # fmt: skip
        try:
            if attempt == "first":
                tried.add(card)
                result = _FIRST[grade]
            else:
                result = (_REPEAT if card in tried else _LESSON)[grade]
            day = number(clock_us, offset_s)
            first = told.of(card, attempt, day) is Ask.FIRST_TRY
            if keep is not None and not keep(review_from_row(row[:-1])):
                continue
            line = (
                f"{clock_text(clock_us, offset_s)},{about(card)},{result},{attempt},{seconds!r},"
                f"{'' if spent is None else repr(spent)},{_text(slip or '')},"
                f"{'' if tempo_bpm is None else repr(tempo_bpm)},"
                f"{'' if predicted is None else repr(predicted)},{_text(session or '')},{_skills_cell(skills)},"
                f"{review_id if review_id.isalnum() else _text(review_id)},"
                f"{stamp_text(clock_us + lag_us) if lag_us else ''},{int(first)},{day_text(day)}\r\n"
            )
        except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
            raise LogError(
                f"{source}, review {review_id!r}: cannot read it ({type(error).__name__}: {error}); another program "
                "has put it there: move the file away and import the last export"
            ) from error
        yield line


def read_csv(
    lines: Iterable[str], name: str, log: str, days: MutableMapping[str, int] | None = None
) -> Iterator[Event]:
    """The reviews of a table, as events of the log whose id is `log`, a row at a time.

    days: filled, where given, with the practice day of each review that came with one, by the review's id.

    lines: of a text opened with ``newline=""``; commas, semicolons or tabs
    between cells. name: the file's, for messages. Raises ReviewError with
    file, line and column for a row that is not a review.
    """
    lines = iter(lines)
    first = next(lines, "").removeprefix("\ufeff")
    delimiter = max(",;\t", key=first.count)

    reader = csv.reader(chain((first,), lines), delimiter=delimiter, strict=True)
    try:
        header = [_unguard(cell.strip()) for cell in next(reader, [])]
        if not set(_REQUIRED) & set(header):
            raise ReviewError(
                f"{name}: expected an exported log, JSON or CSV, or a log file, got neither; "
                "export the log where it is kept and import that file"
            )
        for column in _REQUIRED:
            if header.count(column) != 1:
                raise ReviewError(
                    f"{name}, line 1, {column}: expected one column of that name, got {header.count(column)}; "
                    "is this an export of reviews?"
                )
        for row in reader:
            if row:
                cells, where = dict(zip(header, row, strict=False)), f"{name}, line {reader.line_num}"
                event = _event(cells, where, log)
                if days is not None and (day := cells.get("practice_day", "").strip()):
                    days[event.id] = read_day(day, event.at, f"{where}, practice_day")
                yield event
    except csv.Error as error:
        raise ReviewError(f"{name}, line {reader.line_num}: expected comma-separated cells, got: {error}") from None


def _event(row: dict[str, str], where: str, log: str) -> Event:
    def cell(column: str) -> str:
        return row.get(column, "").strip()

    def number(column: str) -> float | None:
        return required(column) if cell(column) else None

    def required(column: str) -> float:
        text = cell(column)
        try:
            return float(text)
        except ValueError:
            raise ReviewError(f"{where}, {column}: expected a number, got {text!r:.80}") from None

    grade = _GRADES.get(cell("grade"))
    if cell("attempt") == "repeat" and not cell("grade"):
        grade = _REPEATED.get(cell("result"), Grade.FOUND)
    if grade is None:
        raise ReviewError(f"{where}, grade: expected 1, 2, 3 or 4, got {cell('grade')!r:.80}")
    attempt = _ATTEMPTS.get(cell("attempt") or "first")
    if attempt is None:
        raise ReviewError(f"{where}, attempt: expected 'first' or 'repeat', got {cell('attempt')!r:.80}")
    at = read_time(cell("time"), f"{where}, time")
    stamp = read_time(cell("stamp"), f"{where}, stamp") if cell("stamp") else at
    try:
        review = Review(
            card=_unguard(row.get("card", "")),
            grade=grade,
            at=at,
            seconds=required("seconds"),
            attempt=attempt,
            skills=_split_skills(_unguard(row.get("skills", ""))),
            spent=number("spent"),
            session=_unguard(row.get("session", "")) or None,
            id=_unguard(row.get("id", "")),
            slip=_unguard(row.get("slip", "").strip()) or None,
            tempo_bpm=number("tempo_bpm"),
            predicted=number("predicted"),
        )
        return check(Event(review.id, log, as_us(stamp), at, review))
    except ReviewError as error:
        text = str(error)
        raise ReviewError(text if text.startswith(where) else f"{where}: {text}") from None


def guard(text: str) -> str:
    """`text` as a cell that no spreadsheet runs."""
    return "'" + text if text and text[0] in _RUNS else text


@lru_cache(maxsize=20_000)
def _text(text: str) -> str:
    """A cell holding `text`, guarded against being run, in quotes where RFC 4180 asks for them.

    A log that only this program has written holds nothing but printable names; what another program has put into it
    and a terminal would act on becomes a space.
    """
    if not text.isprintable():
        text = "".join(c if c.isprintable() else " " for c in text)
    text = guard(text)
    if _QUOTED.search(text):
        return '"' + text.replace('"', '""') + '"'
    return text


def _unguard(text: str) -> str:
    return text[1:] if text.startswith("'") else text


@lru_cache(maxsize=20_000)
def _skills_cell(text: str) -> str:
    """The cell of skills that a row holds as text."""
    return _text(" ".join(re.sub(r"[%\s]", lambda match: quote(match[0]), one) for one in skills_from_text(text)))


@lru_cache(maxsize=20_000)
def _split_skills(text: str) -> tuple[str, ...]:
    return tuple(unquote(skill) for skill in text.split())


_QUOTED = re.compile(r'[",;\t\r\n]')
_ATTEMPTS: dict[str, Literal["first", "repeat"]] = {"first": "first", "repeat": "repeat"}
_GRADES = {str(int(grade)): grade for grade in Grade}
_FIRST = {int(grade): f"{int(grade)},{grade.label}" for grade in Grade}
_REPEAT = {int(grade): f",{not_counted(grade, lesson=False)}" for grade in Grade}
_LESSON = {int(grade): f",{not_counted(grade, lesson=True)}" for grade in Grade}
_REPEATED = {not_counted(grade, lesson=lesson): grade for grade in Grade for lesson in (True, False)}
