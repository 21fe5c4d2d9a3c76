"""A teacher's own book of lessons: notes, what was set, what was heard, and which questions are answered."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from drills.errors import SettingsError
from drills.safe_text import one_line
from scheduler.atomic_write import write_whole
from scheduler.grade import Grade
from scheduler.plain_file import open_plain

__all__ = ["KINDS", "BookEntry", "HeardCard", "LessonBook", "book_markdown", "heard_words", "read_book", "write_book"]

KINDS = {
    "note": "Your own notes",
    "say": "Said to the student",
    "set": "Set for the week",
    "next": "What comes next",
    "heard": "Heard",
    "answered": "Questions answered",
}
"""The kinds of entry, each with its heading. Only `say` and `set` ever leave the book for a student's pages."""

_GRADES = {grade.label.casefold(): grade for grade in Grade}
_MOST_BYTES = 20_000_000
"""A book of ten thousand full entries: no teacher's is larger."""

_LONGEST = 2_000
"""Characters of one text, more than fits on a page."""


@dataclass(frozen=True, slots=True)
class HeardCard:
    """A card heard in a lesson: its words, the teacher's grade and the student's own, each by its word."""

    card: str
    teacher: str
    student: str

    @property
    def steps(self) -> int:
        """How many grades the student's own lies above the teacher's, below 0 where the student was the stricter."""
        return int(_GRADES[self.student.casefold()]) - int(_GRADES[self.teacher.casefold()])


@dataclass(frozen=True, slots=True)
class BookEntry:
    """One entry. student: by the name of the file. day: of the lesson. kind: one of KINDS. text: for all kinds but
    `heard`. heard: for that one. ids: of the questions answered."""

    student: str
    day: date
    kind: str
    text: str = ""
    heard: HeardCard | None = None
    ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LessonBook:
    """All entries, in the order written."""

    entries: tuple[BookEntry, ...] = field(default=())

    def of(self, student: str, until: date | None = None) -> list[BookEntry]:
        """The entries of one student, capitals aside, up to a day."""
        name = student.strip().casefold()
        return [one for one in self.entries if one.student.casefold() == name and (until is None or one.day <= until)]

    def answered(self, until: date | None = None) -> frozenset[str]:
        """The ids of the questions answered up to a day."""
        return frozenset(name for one in self.entries if until is None or one.day <= until for name in one.ids)

    def for_student(self, student: str, until: date | None = None) -> list[tuple[str, list[str]]]:
        """What goes on a student's page, of the latest day on which something was said or set: headings and lines."""
        open_kinds = [one for one in self.of(student, until) if one.kind in ("say", "set")]
        latest = max((one.day for one in open_kinds), default=None)
        found: list[tuple[str, list[str]]] = []
        for kind, heading in (("say", "From your teacher"), ("set", "For next week")):
            if lines := [one.text for one in open_kinds if one.kind == kind and one.day == latest]:
                found.append((heading, lines))
        return found


def read_book(path: Path) -> LessonBook:
    """The book, empty where there is none. Raises SettingsError naming file, entry and field."""
    try:
        with open_plain(path, _MOST_BYTES) as file:
            text = file.read().decode("utf-8")
    except FileNotFoundError:
        return LessonBook()
    except OSError as error:
        raise SettingsError(f"lesson book {path}: cannot be read ({error.strerror}); check the path") from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"lesson book {path}: expected UTF-8 text ({error}); check the path") from error
    try:
        rows = tomllib.loads(text).get("entry", [])
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(
            f"lesson book {path}: expected TOML, got: {error}; mend the line or move the file"
        ) from error
    if not isinstance(rows, list):
        raise SettingsError(f"lesson book {path}, entry: expected [[entry]] blocks, got {rows!r:.40}")
    return LessonBook(tuple(_entry(row, f"lesson book {path}, entry {n}") for n, row in enumerate(rows, 1)))


def _entry(row: Any, where: str) -> BookEntry:
    def take(name: str, expected: str) -> str:
        value = row.get(name)
        if not isinstance(value, str) or not value.strip() or len(value) > _LONGEST:
            raise SettingsError(f"{where}, {name}: expected {expected}, got {value!r:.60}")
        return one_line(value)

    if not isinstance(row, dict):
        raise SettingsError(f"{where}: expected a block with student, day and kind, got {row!r:.60}")
    student, kind, day = take("student", "a student's name"), take("kind", "one of " + ", ".join(KINDS)), row.get("day")
    if type(day) is not date:
        raise SettingsError(f"{where}, day: expected a date such as 2026-09-01, got {day!r:.60}")
    if kind not in KINDS:
        raise SettingsError(f"{where}, kind: expected one of {', '.join(KINDS)}, got {kind!r:.60}")
    if kind == "heard":
        own, teacher = take("student_grade", "a grade"), take("teacher_grade", "a grade")
        for grade in (own, teacher):
            if grade.casefold() not in _GRADES:
                labels = ", ".join(grade.label for grade in Grade)
                raise SettingsError(f"{where}: expected a grade, one of {labels}, got {grade!r:.60}")
        return BookEntry(student, day, kind, heard=HeardCard(take("card", "what was played"), teacher, own))
    if kind == "answered":
        ids = row.get("ids")
        if not isinstance(ids, list) or not all(isinstance(one, str) for one in ids):
            raise SettingsError(f"{where}, ids: expected the ids of questions, got {ids!r:.60}")
        return BookEntry(student, day, kind, ids=tuple(ids))
    return BookEntry(student, day, kind, take("text", "some text"))


def write_book(path: Path, book: LessonBook) -> None:
    """Writes the book whole, for the teacher's eyes alone (a new file is readable by its owner only)."""
    import tomlkit

    document, blocks = tomlkit.document(), tomlkit.aot()
    document.add(tomlkit.comment("Your own book of lessons. No student's page ever carries a note."))
    for one in book.entries:
        block = tomlkit.table()
        block.update({"student": one.student, "day": one.day, "kind": one.kind})
        if one.heard is not None:
            said = {"card": one.heard.card, "teacher_grade": one.heard.teacher, "student_grade": one.heard.student}
            block.update(said)
        elif one.kind == "answered":
            block.add("ids", list(one.ids))
        else:
            block.add("text", one.text)
        blocks.append(block)
    document.add("entry", blocks)
    write_whole(path, tomlkit.dumps(document), private=True)


def heard_words(heard: Iterable[HeardCard]) -> str:
    """How the student's own grades stood to the teacher's, or ``""`` where nothing was heard."""
    steps = [one.steps for one in heard]
    if not steps:
        return ""
    higher, equal, lower = (sum(map(test, steps)) for test in ((0).__lt__, (0).__eq__, (0).__gt__))
    return f"Of {len(steps)} heard: {equal} graded alike, {higher} higher by the student, {lower} lower."


def book_markdown(student: str, entries: Sequence[BookEntry]) -> str:
    """The book of one student for the teacher, newest lesson first, as Markdown."""
    lines = [f"# {_plain(student)}"]
    if words := heard_words(one.heard for one in entries if one.heard):
        lines += ["", words]
    for day in sorted({one.day for one in entries}, reverse=True):
        lines += ["", f"## {day.day} {day:%B %Y}"]
        for kind, heading in KINDS.items():
            if told := [one for one in entries if one.day == day and one.kind == kind]:
                lines += ["", f"### {heading}", "", *(f"- {_plain(_told(one))}" for one in told)]
    return "\n".join(lines) + "\n"


def _told(one: BookEntry) -> str:
    if one.heard is not None:
        return f"{one.heard.card}: {one.heard.teacher} by you, {one.heard.student} by the student"
    return f"{len(one.ids)} question{'s' * (len(one.ids) != 1)}" if one.kind == "answered" else one.text


def _plain(text: str) -> str:
    """Text that Markdown shows as it is (CommonMark: a backslash before punctuation)."""
    return "".join("\\" + c if c in "\\`*_[]<>|#&~" else c for c in one_line(text))
