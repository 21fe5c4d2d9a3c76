"""A whole log as one JSON document, and back to the same state.

The document is an object with three members, in this order when written::

    {"format": "review-log", "version": 1, "events": [
    {"kind": "review", "id": "...", "log": "...", "stamp": "2024-03-04T17:00:00.000000Z",
     "at": "2024-03-04T18:00:00.000000+01:00", "card": "...", "skills": ["..."], "grade": 3, ...},
    ...
    ]}

Every event has ``kind``, ``id``, ``log`` (the random id of the log it was
first written to), ``stamp`` (its place in the order, UTC) and ``at`` (what
the clock showed, with the local offset), and the fields of its kind under
the names they have in `scheduler.log.events` and `scheduler.review`. A review in effect carries besides
``first_of_day``, whether it is the first ask of its card on a practice day, and ``practice_day``, the player's own
(``"2024-03-04"``), for whoever counts; an import passes over both. A field
that is null may be left out; unknown fields, and events of an unknown kind, which a newer version has written, are
kept whole and handed on. One event stands
on a line when written; when read, any layout of the same document will do.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, MutableMapping
from dataclasses import fields
from typing import Any, NoReturn, TextIO

from scheduler.errors import ReviewError
from scheduler.grade import Grade
from scheduler.json_line import json_line
from scheduler.log.events import KINDS, Body, Event, Later, as_us, check
from scheduler.log.iso import read_day, read_time, stamp_text, time_text
from scheduler.review import Review

__all__ = ["DAY_FIELDS", "FORMAT", "FORMAT_VERSION", "event_from_json", "event_to_json", "read_json", "write_json"]

FORMAT = "review-log"
FORMAT_VERSION = 1

DAY_FIELDS = ("first_of_day", "practice_day")
"""What an export tells of a review besides: worked out from the log, so that no log keeps it."""


def write_json(
    events: Iterable[Event], out: TextIO, told_of: Callable[[Event], Mapping[str, Any]] | None = None
) -> int:
    """Write `events` as one document to `out`, an event at a time; answers how many.

    told_of: what is written of an event besides what it says itself, see `scheduler.log.day_fields`.
    """
    count = 0
    out.write(f'{{"format": "{FORMAT}", "version": {FORMAT_VERSION}, "events": [')
    for count, event in enumerate(events, 1):
        out.write("\n" if count == 1 else ",\n")
        row = event_to_json(event)
        out.write(json_line({**row, **told_of(event)} if told_of else row))
    out.write("\n]}\n")
    return count


def event_to_json(event: Event) -> dict[str, Any]:
    """One event as the values that JSON knows; what is None is left out."""
    row: dict[str, Any] = {
        "kind": event.kind,
        "id": event.id,
        "log": event.log,
        "stamp": stamp_text(event.stamp_us),
        "at": time_text(event.at),
    }
    if isinstance(event.body, Later):
        return {**json.loads(event.body.fields), **row}
    for name in _BODY_FIELDS[event.kind]:
        value = getattr(event.body, name)
        if value is not None:
            row[name] = value
    return {**json.loads(event.more), **row} if event.more else row


def read_json(text: TextIO, name: str, days: MutableMapping[str, int] | None = None) -> Iterator[Event]:
    """The events of the document `text`, one at a time; `name` is the file's, for messages.

    The text is read in pieces: what is held does not grow with the document. days: filled, where given, with the
    practice day of each review that came with one, by the review's id.

    Raises ReviewError with file, line and field for anything that is not
    such a document.
    """
    scanner = _Scanner(text, name)
    found: dict[str, Any] = {}
    for key in scanner.members():
        if key != "events":
            found[key] = scanner.value()
            continue
        # The events come last when we write them, but a program that sorts
        # keys puts them before the format: so each event is checked anyway.
        found[key] = True
        for number in scanner.elements():
            line = scanner.line()
            row = scanner.value()
            where = f"{name}, line {line}, event {number}"
            event = event_from_json(row, where)
            if days is not None and event.kind == "review" and (day := row.get("practice_day")) is not None:
                days[event.id] = read_day(str(day), event.at, f"{where}, practice_day")
            yield event
    if found.get("format") != FORMAT:
        raise ReviewError(f"{name}, format: expected {FORMAT!r}, got {found.get('format')!r:.80}")
    if found.get("version") != FORMAT_VERSION:
        raise ReviewError(
            f"{name}, version: expected {FORMAT_VERSION}, got {found.get('version')!r:.80}; "
            "a newer file needs a newer version of this program"
        )
    if "events" not in found:
        raise ReviewError(f"{name}, events: expected a list of events, got none; is the file whole?")


def event_from_json(row: Any, where: str) -> Event:
    """The event that `row` describes; raises ReviewError beginning with `where`."""
    if not isinstance(row, dict):
        raise ReviewError(f"{where}: expected an object, got {row!r:.80}")

    def take(field: str, types: tuple[type, ...], expected: str, optional: bool = False) -> Any:
        value = row.get(field)
        if (value is None and optional) or (isinstance(value, types) and not isinstance(value, bool)):
            return value
        raise ReviewError(f"{where}, {field}: expected {expected}, got {value!r:.80}")

    kind = take("kind", (str,), f"one of {', '.join(KINDS)}")
    at = read_time(take("at", (str,), "an ISO 8601 time with an offset"), f"{where}, at")
    stamp = read_time(take("stamp", (str,), "an ISO 8601 time with an offset"), f"{where}, stamp")
    values: dict[str, Any] = {}
    for field in _BODY_FIELDS.get(kind, ()):
        if field == "targets":
            values[field] = tuple(take("targets", (list,), "a list of ids"))
        elif field == "skills":
            skills = take("skills", (list,), "a list of texts", optional=True) or []
            values[field] = tuple(skills)
        elif field == "grade":
            values[field] = _grade(take("grade", (int,), "1, 2, 3 or 4"), where)
        elif field == "proposed":
            value = take(field, (int,), "1, 2, 3 or 4", optional=True)
            values[field] = None if value is None else _grade(value, where, field)
        elif field in ("seconds", "spent", "tempo_bpm", "predicted", "sure"):
            number = take(field, (int, float), "a number", optional=field not in ("seconds", "sure"))
            values[field] = None if number is None else _float(number, f"{where}, {field}")
        else:
            optional = field in ("session", "slip") or (kind, field) in (("lock", "value"), ("ticket", "value"))
            values[field] = take(field, (str,), "text", optional)
    event_id, log = take("id", (str,), "text"), take("log", (str,), "text")
    try:
        if kind not in KINDS:
            fields_of_it = {field: value for field, value in row.items() if field not in _EVERY_FIELD}
            body: Body = Later(kind, json.dumps(fields_of_it, ensure_ascii=False))
        else:
            body = Review(id=event_id, at=at, **values) if kind == "review" else KINDS[kind](**values)
        return check(Event(event_id, log, as_us(stamp), at, body, _more(kind, row)))
    except ReviewError as error:
        raise ReviewError(f"{where}: {error}") from None


def _more(kind: str, row: dict[str, Any]) -> str:
    """The fields of an event of a known kind that this version does not know, as a text that is the same in any order
    of them."""
    known = _BODY_FIELDS.get(kind)
    if known is None or len(row) <= len(_EVERY_FIELD):
        return ""
    further = {
        name: value for name, value in row.items()
        if value is not None and name not in known and name not in _EVERY_FIELD
        and not (kind == "review" and name in DAY_FIELDS)
    }  # fmt: skip
    return json.dumps(further, sort_keys=True) if further else ""


def _float(number: float, where: str) -> float:
    try:
        return float(number)
    except OverflowError:
        raise ReviewError(f"{where}: expected a number of ordinary size, got one of many digits") from None


def _grade(value: int, where: str, field: str = "grade") -> Grade:
    try:
        return Grade(value)
    except ValueError:
        raise ReviewError(f"{where}, {field}: expected 1, 2, 3 or 4, got {value!r:.80}") from None


class _Scanner:
    """Walks an object and one array in it, a piece of the text at a time, so that only one event is held."""

    def __init__(self, source: TextIO, name: str) -> None:
        self._source = source
        self._name = name
        self._text = ""
        self._at = 0
        self._ended = False
        self._counted, self._line = 0, 1
        self._decode = json.JSONDecoder(parse_constant=self._not_json).raw_decode
        self._more()
        self._text = self._text.removeprefix("\ufeff")

    def line(self) -> int:
        """The number of the line the next value stands on, from 1."""
        self._space()
        return self._line_here()

    def _line_here(self) -> int:
        self._line += self._text.count("\n", self._counted, self._at)
        self._counted = self._at
        return self._line

    def value(self) -> Any:
        """The next value, whole."""
        self._space()
        while True:
            try:
                value, end = self._decode(self._text, self._at)
            except (ValueError, RecursionError) as error:
                if self._may_be_cut(error) and self._more():
                    continue
                self._refuse(f"expected a JSON value ({error})")
            # A number that ends where the text read so far does may go on.
            if end < len(self._text) or not self._more():
                self._at = end
                return value

    def _more(self) -> bool:
        """Read on, letting go of what is done with; False at the end of the file."""
        if self._ended:
            return False
        self._line_here()
        rest = self._text[self._at :]
        if len(rest) > _LONGEST_VALUE:
            self._refuse(f"expected a value of at most {_LONGEST_VALUE:,} characters")
        # A value of many pieces is read again with each, so the pieces grow with it.
        piece = self._source.read(max(_PIECE, len(rest)))
        self._ended = not piece
        self._text, self._at, self._counted = rest + piece, 0, 0
        return not self._ended

    def _may_be_cut(self, error: Exception) -> bool:
        """Whether a value is wrong only because it goes on past what has been read."""
        if not isinstance(error, json.JSONDecodeError):
            return False
        end = len(self._text.rstrip()) - _LONGEST_WORD
        return error.pos >= end or error.msg.startswith("Unterminated string")

    def members(self) -> Iterator[str]:
        """The keys of the object here, each before its value is taken; nothing may follow it."""
        for _ in self._items("{", "}"):
            key = self.value()
            if not isinstance(key, str):
                self._refuse("expected a key in quotes")
            self._take(":")
            yield key
        self._space()
        if self._at < len(self._text):
            self._refuse("expected the end of the file")

    def elements(self) -> Iterator[int]:
        """The numbers, from 1, of the elements of the array here, each before it is taken."""
        return self._items("[", "]")

    def _items(self, opening: str, closing: str) -> Iterator[int]:
        self._take(opening)
        number = 0
        while True:
            self._space()
            if self._text.startswith(closing, self._at) and number == 0:
                break
            number += 1
            yield number
            self._space()
            if self._text.startswith(closing, self._at):
                break
            self._take(",")
        self._at += 1

    def _take(self, mark: str) -> None:
        self._space()
        if not self._text.startswith(mark, self._at):
            self._refuse(f"expected {mark!r}")
        self._at += 1

    def _space(self) -> None:
        while True:
            found = _SPACE.match(self._text, self._at)
            self._at = found.end() if found else self._at
            if self._at < len(self._text) or not self._more():
                return

    def _not_json(self, constant: str) -> NoReturn:
        raise ValueError(f"{constant} is not a JSON number")

    def _refuse(self, what: str) -> NoReturn:
        came = self._text[self._at : self._at + 20] or "the end of the file"
        raise ReviewError(f"{self._name}, line {self._line_here()}: {what}, got {came!r}; is the file a whole export?")


_PIECE = 1 << 18
"""Characters read at a time; some thousand events."""

_LONGEST_VALUE = 256_000_000
"""Characters of one value: more than the longest event that `scheduler.log.events.check` lets through."""

_LONGEST_WORD = 12
"""No word of JSON is longer, nor is an escape in a text: what is cut within one is complained of at its beginning."""

_SPACE = re.compile(r"[ \n\r\t]*")
_EVERY_FIELD = ("kind", "id", "log", "stamp", "at")
_BODY_FIELDS = {
    kind: tuple(field.name for field in fields(body) if field.name not in ("id", "at")) for kind, body in KINDS.items()
}
