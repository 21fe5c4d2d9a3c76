"""The reviews of a log as a table any spreadsheet opens, and back to the same memory.

Comma-separated, UTF-8, a header row, lines ending in CR LF (RFC 4180). The
columns, in this order:

time        what the clock showed, ISO 8601 with the local offset
card        the card's id
...         columns of the caller's own, read by people and passed over at import
grade       1 to 4, empty for repeats, so that a sum over the column counts first attempts only
result      the grade in words, or Repeat; passed over at import
attempt     first, or repeat for compulsory repeats, which are never counted
seconds     prompt to reveal
spent       prompt to next prompt, in seconds, or empty
slip        root, shape, fingering or time, or empty
tempo_bpm   beats a minute, or empty
predicted   recall predicted just before, 0 to 1, or empty
session     id of the sitting, or empty
skills      separated by spaces; a space or percent sign in a skill is written %20 or %25
id          the review's id
stamp       its place in the order of the log, ISO 8601, UTC; may be left out

A spreadsheet runs a cell that begins with ``=``, ``+``, ``-``, ``@`` (or the
full-width forms of these), a tab or a line end (OWASP, "CSV Injection"). Such
a cell, and one that begins with an apostrophe, is written with one apostrophe
before it, and reading takes one away.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Any, TextIO
from urllib.parse import quote, unquote

from scheduler.errors import ReviewError
from scheduler.events import Event, as_us, check
from scheduler.grade import Grade
from scheduler.iso import read_time, stamp_text
from scheduler.review import Review

__all__ = ["COLUMNS", "read_csv", "write_csv"]

COLUMNS = (
    "time", "card", "grade", "result", "attempt", "seconds", "spent", "slip",
    "tempo_bpm", "predicted", "session", "skills", "id", "stamp",
)  # fmt: skip
"""The columns that are always there; the caller's own stand after `card`."""

_REQUIRED = ("time", "card", "grade", "seconds", "id")
_RUNS = frozenset("=+-@＝＋－＠\t\r\n'")
_BEFORE_OWN = 2


def write_csv(
    stamped: Iterable[tuple[int, Review]],
    out: TextIO,
    columns: Mapping[str, Callable[[Review], str]] | None = None,
) -> int:
    """Write reviews, each with its stamp (see `ReviewLog.stamped_reviews`); answers how many.

    out: text opened with ``newline=""``. columns: the caller's own, each a
    name and what to write for a review. Raises ReviewError when an own
    column has the name of one that is always there.
    """
    own = dict(columns or {})
    for name in own:
        if name in COLUMNS:
            raise ReviewError(f"CSV column {name!r}: expected a name of its own, got one of {', '.join(COLUMNS)}")
    makers = tuple(own.values())
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*COLUMNS[:_BEFORE_OWN], *map(_guard, own), *COLUMNS[_BEFORE_OWN:]])
    count = 0

    def rows() -> Iterator[list[Any]]:
        nonlocal count
        for count, (stamp_us, review) in enumerate(stamped, 1):  # noqa: B007 - counted for the answer
            first = review.attempt == "first"
            yield [
                review.at.isoformat(timespec="microseconds"),
                _guard(review.card),
                *[_guard(make(review)) for make in makers],
                int(review.grade) if first else None,
                _RESULTS[review.grade] if first else "Repeat",
                review.attempt,
                review.seconds,
                review.spent,
                review.slip,
                review.tempo_bpm,
                review.predicted,
                _guard(review.session or ""),
                _guard(_join_skills(review.skills)),
                _guard(review.id),
                stamp_text(stamp_us),
            ]

    writer.writerows(rows())
    return count


def read_csv(lines: Iterable[str], name: str, log: str) -> Iterator[Event]:
    """The reviews of a table, as events of the log whose id is `log`, a row at a time.

    lines: of a text opened with ``newline=""``; commas, semicolons or tabs
    between cells. name: the file's, for messages. Raises ReviewError with
    file, line and column for a row that is not a review.
    """
    lines = iter(lines)
    first = next(lines, "").removeprefix("\ufeff")
    delimiter = max(",;\t", key=first.count)

    def all_lines() -> Iterator[str]:
        yield first
        yield from lines

    reader = csv.reader(all_lines(), delimiter=delimiter, strict=True)
    try:
        header = [_unguard(cell.strip()) for cell in next(reader, [])]
        for column in _REQUIRED:
            if header.count(column) != 1:
                raise ReviewError(
                    f"{name}, line 1, {column}: expected one column of that name, got {header.count(column)}; "
                    "is this an export of reviews?"
                )
        for row in reader:
            if row:
                yield _event(dict(zip(header, row, strict=False)), f"{name}, line {reader.line_num}", log)
    except csv.Error as error:
        raise ReviewError(f"{name}, line {reader.line_num}: expected comma-separated cells, got: {error}") from None


def _event(row: dict[str, str], where: str, log: str) -> Event:
    def cell(column: str) -> str:
        return row.get(column, "").strip()

    def number(column: str) -> float | None:
        text = cell(column)
        if not text and column != "seconds":
            return None
        try:
            return float(text)
        except ValueError:
            raise ReviewError(f"{where}, {column}: expected a number, got {text!r:.80}") from None

    ungraded = cell("attempt") == "repeat" and not cell("grade")
    if not ungraded and cell("grade") not in _GRADES:
        raise ReviewError(f"{where}, grade: expected 1, 2, 3 or 4, got {cell('grade')!r:.80}")
    at = read_time(cell("time"), f"{where}, time")
    stamp = read_time(cell("stamp"), f"{where}, stamp") if cell("stamp") else at
    try:
        review = Review(
            card=_unguard(row.get("card", "")),
            grade=Grade.FOUND if ungraded else _GRADES[cell("grade")],
            at=at,
            seconds=number("seconds"),
            attempt=cell("attempt") or "first",
            skills=_split_skills(_unguard(row.get("skills", ""))),
            spent=number("spent"),
            session=_unguard(row.get("session", "")) or None,
            id=_unguard(row.get("id", "")),
            slip=cell("slip") or None,
            tempo_bpm=number("tempo_bpm"),
            predicted=number("predicted"),
        )
        return check(Event(review.id, log, as_us(stamp), at, review))
    except ReviewError as error:
        text = str(error)
        raise ReviewError(text if text.startswith(where) else f"{where}: {text}") from None


def _guard(text: str) -> str:
    return "'" + text if text and text[0] in _RUNS else text


def _unguard(text: str) -> str:
    return text[1:] if text.startswith("'") else text


@lru_cache(maxsize=20_000)
def _join_skills(skills: tuple[str, ...]) -> str:
    return " ".join(re.sub(r"[%\s]", lambda match: quote(match[0]), skill) for skill in skills)


@lru_cache(maxsize=20_000)
def _split_skills(text: str) -> tuple[str, ...]:
    return tuple(unquote(skill) for skill in text.split())


_RESULTS = {grade: grade.label for grade in Grade}
_GRADES = {str(int(grade)): grade for grade in Grade}
