"""Reads changes from text: from the grammar's tree to checked values."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from drills.changes.bar_chords import BarReader, fault
from drills.changes.changes import Changes, Metre, Section, Slot, WrittenBar
from drills.changes.grammar import LONGEST_TEXT, Word, branches, syntax_tree, word_of, words
from drills.changes.page_attributes import ATTRIBUTES, HEAD_ONLY, SYNONYMS, attribute_value
from drills.errors import ChangesError, TheoryError
from drills.safe_text import one_line
from drills.theory.key import Key
from drills.theory.quality import QualityTable
from scheduler.plain_file import open_plain

if TYPE_CHECKING:
    from lark import ParseTree

__all__ = ["parse_changes", "read_changes"]


def read_changes(path: Path, table: QualityTable | None = None) -> Changes:
    """The changes of a ``.changes`` file (UTF-8).

    table: chord qualities to accept, the shipped ones by default.
    Raises ChangesError naming the file, line and column.
    """
    try:
        with open_plain(path) as file:
            raw = file.read(4 * LONGEST_TEXT + 1)
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ChangesError(f"{path}: not text in UTF-8 (byte {error.start:,}); save it as UTF-8") from error
    except OSError as error:
        raise ChangesError(f"{path}: cannot be read ({error.strerror}); check the path") from error
    try:
        changes = parse_changes(text, table)
    except ChangesError as error:
        raise ChangesError(f"{path}, {error}", error.line, error.column, error.suggestions) from error
    return changes if changes.title else replace(changes, title=one_line(path.stem))


def parse_changes(text: str, table: QualityTable | None = None) -> Changes:
    """The changes a text holds; the notation is that of ``drills.changes.changes``.

    table: chord qualities to accept, the shipped ones by default.
    Raises ChangesError with line and column, what was expected and the nearest accepted symbols.
    """
    tree = syntax_tree(text.replace("\r\n", "\n").replace("\r", "\n"))
    return _ChangesReader(table, barred=any(tree.find_data("edge"))).changes(tree)


@dataclass
class _Head:
    """What the lines at the head of the page have said so far."""

    title: str = ""
    form: tuple[str, ...] = ()
    key: Key | None = None
    metre: Metre = Metre()
    tempo: float | None = None
    feel: str = ""


@dataclass
class _OpenSection:
    word: Word | None
    label: str
    metre: Metre
    key: Key | None
    bars: list[WrittenBar] = field(default_factory=list)


class _ChangesReader:
    """Walks the tree once, in reading order, keeping the key and metre in force."""

    def __init__(self, table: QualityTable | None, barred: bool):
        self._reader = BarReader(table)
        self._barred = barred
        self._head = _Head()
        self._written: set[str] = set()
        self._sections: list[_OpenSection] = []
        self._opens = False
        self._form: Word | None = None

    def changes(self, tree: ParseTree) -> Changes:
        for line in branches(tree):
            if line.data == "music":
                self._music(line)
                continue
            for word in words(line):
                self._section(word) if word.kind == "SECTION" else self._attribute(word)
            for part in branches(line):
                self._music(part)
        if self._opens:
            raise self._end_fault("the repeat |: at the end opens no bar")
        sections = []
        for section in self._sections:
            if section.word is not None and not section.bars:
                raise fault(
                    section.word, f"section {section.label!r} has no bars; write them, or name it in form: only"
                )
            sections.append(Section(section.label, tuple(section.bars)))
        head = self._head
        try:
            return Changes(
                head.title, tuple(sections), head.form, head.key, head.metre, head.tempo, head.feel,
                tuple(self._reader.remarks),
            )  # fmt: skip
        except ChangesError as error:
            if self._form is not None and not error.line:
                raise fault(self._form, str(error)) from error
            raise

    def _end_fault(self, message: str) -> ChangesError:
        line = self._sections[-1].bars[-1].line
        return ChangesError(f"line {line}, column 1: {message}", line, 1)

    # Sections and attributes

    def _section(self, word: Word) -> None:
        label = one_line(word.text[1:-1])
        if len(label) > 40:
            raise fault(word, "expected a label of at most 40 characters between [ and ]")
        if self._opens:
            raise fault(word, "the repeat |: before this section opens no bar")
        self._sections.append(_OpenSection(word, label, self._head.metre, self._head.key))

    def _attribute(self, word: Word) -> None:
        name, _, value = word.text.partition(":")
        offset = len(name) + 1 + len(value) - len(value.lstrip())
        value = re.sub(r"(^|\s)#.*", "", value).strip()
        name = name.strip().lower()
        name = SYNONYMS.get(name, name)
        if name not in ATTRIBUTES:
            from difflib import get_close_matches

            near = tuple(get_close_matches(name, ATTRIBUTES, n=2, cutoff=0.4))
            hint = f"; did you mean {' or '.join(near)}?" if near else ""
            raise fault(word, f"expected one of {', '.join(ATTRIBUTES)}, got {name!r}{hint}", near)
        if not value:
            raise fault(word, f"{name}: expected a value after the colon")
        if name in HEAD_ONLY and self._sections:
            raise fault(word, f"{name}: belongs at the head, before the first section or bar")
        if name in self._written:
            raise fault(word, f"{name}: written twice; keep one")
        try:
            read = attribute_value(name, value)
        except (ChangesError, TheoryError) as error:
            raise fault(word, str(error), offset=offset) from error
        if name == "form":
            self._form = word
        if self._sections and name in ("key", "metre"):
            setattr(self._sections[-1], name, read)
        else:
            setattr(self._head, name, read)
            self._written |= {name} & set(HEAD_ONLY)

    # Bars

    def _music(self, tree: ParseTree) -> None:
        if not self._sections:
            self._sections.append(_OpenSection(None, "", self._head.metre, self._head.key))
        for part in branches(tree):
            if part.data == "edge":
                self._edge(words(part))
            elif self._barred:
                self._bar(part)
            else:
                self._bar_per_chord(part)

    def _edge(self, marks: list[Word]) -> None:
        bars = self._sections[-1].bars
        for mark, after in zip(marks, [*marks[1:], None], strict=True):
            if mark.kind in ("CLOSE", "BOTH"):
                if not bars or self._opens:
                    raise fault(mark, "a repeat ends here, but there is no bar before it in this section")
                times = int(after.text[1:]) if after is not None and after.kind == "TIMES" else 2
                if bars[-1].closes:
                    raise fault(mark, "the repeat is closed twice")
                bars[-1] = replace(bars[-1], closes=times)
            if mark.kind in ("OPEN", "BOTH"):
                self._opens = True

    def _append(self, slots: tuple[Slot, ...], line: int, endings: tuple[int, ...] = ()) -> None:
        section = self._sections[-1]
        section.bars.append(WrittenBar(slots, section.metre, section.key, self._opens, 0, endings, line))
        self._opens = False

    def _bar(self, tree: ParseTree) -> None:
        marks = words(tree)
        ending = next((mark for mark in marks if mark.kind == "ENDING"), None)
        numbers = tuple(int(n) for n in ending.text.rstrip(".").split(",")) if ending else ()
        percent = next((mark for mark in marks if mark.kind == "PERCENT"), None)
        if percent is not None:
            if len(tree.children) > (1 if ending is None else 2):
                raise fault(percent, "% stands for a whole bar; give it bar lines of its own")
            self._append(self._repeated(percent, numbers), percent.line, numbers)
            return
        items = [words(slot) for slot in branches(tree)]
        self._append(self._reader.bar(items, self._sections[-1].metre), items[0][0].line, numbers)

    def _repeated(self, percent: Word, endings: tuple[int, ...]) -> tuple[Slot, ...]:
        section = self._sections[-1]
        if not section.bars:
            raise fault(percent, "% repeats the bar before, and there is none in this section; write its chords")
        if endings and endings[0] > 1:
            raise fault(percent, "% at the start of a later ending could mean either bar; write its chords")
        before = section.bars[-1]
        if before.metre != section.metre:
            raise fault(percent, f"% repeats a bar of {before.metre} in {section.metre}; write its chords")
        return tuple(replace(slot, line=percent.line, column=percent.column) for slot in before.slots)

    def _bar_per_chord(self, tree: ParseTree) -> None:
        from lark import Token

        for item in tree.children:
            marks = [word_of(item)] if isinstance(item, Token) else words(item)
            first = marks[0]
            if first.kind == "PERCENT":
                self._append(self._repeated(first, ()), first.line)
                continue
            wrong = next((mark for mark in marks if mark.kind in ("HOLD", "LENGTH", "ENDING")), None)
            if wrong is not None:
                raise fault(wrong, f"{wrong.text[:24]!r} needs bar lines; without any | each chord is a bar")
            self._append(self._reader.bar([marks], self._sections[-1].metre), first.line)
