"""Reads changes from text: from the grammar's tree to checked values."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from drills.errors import SymbolError, TheoryError
from drills.theory.chord import Chord
from drills.theory.key import Key, parse_key
from drills.theory.quality import QualityTable
from drills.theory.symbol import parse_chord
from drills.tunes.changes import NO_CHORD, Changes, Metre, Section, Slot, WrittenBar
from drills.tunes.errors import ChangesError
from drills.tunes.grammar import LONGEST_TEXT, Word, syntax_tree, words
from drills.tunes.overrides import check_override

if TYPE_CHECKING:
    from lark import Tree

__all__ = ["parse_changes", "parse_metre", "read_changes"]

_FEELS = ("straight", "swing")
_HEAD_ONLY = ("title", "tempo", "feel", "form")
_NAMES = (*_HEAD_ONLY, "key", "metre")
_SYNONYMS = {"meter": "metre", "time": "metre"}


def read_changes(path: Path, table: QualityTable | None = None) -> Changes:
    """The changes of a ``.changes`` file (UTF-8).

    table: chord qualities to accept, the shipped ones by default.
    Raises ChangesError naming the file, line and column.
    """
    try:
        with path.open("rb") as file:
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
    return changes if changes.title else replace(changes, title=path.stem)


def parse_changes(text: str, table: QualityTable | None = None) -> Changes:
    """The changes a text holds; the notation is that of ``drills.tunes.changes``.

    table: chord qualities to accept, the shipped ones by default.
    Raises ChangesError with line and column, what was expected and the nearest accepted symbols.
    """
    tree = syntax_tree(text.replace("\r\n", "\n").replace("\r", "\n"))
    return _Reader(table, barred=any(tree.find_data("edge"))).changes(tree)


def parse_metre(text: str) -> Metre:
    """Reads ``4/4``, ``6/8``; raises ChangesError otherwise."""
    match = re.fullmatch(r"([0-9]{1,2})\s*/\s*([0-9]{1,2})", text.strip())
    if match is None:
        raise ChangesError(f"metre {text[:24]!r}: expected such as 4/4, 3/4 or 6/8")
    return Metre(int(match[1]), int(match[2]))


def _fault(word: Word, message: str, near: tuple[str, ...] = (), offset: int = 0) -> ChangesError:
    column = word.column + offset
    return ChangesError(f"line {word.line}, column {column}: {message}", word.line, column, near)


@dataclass
class _OpenSection:
    word: Word | None
    label: str
    metre: Metre
    key: Key | None
    bars: list[WrittenBar] = field(default_factory=list)


class _Reader:
    """Walks the tree once, in reading order, keeping the key and metre in force."""

    def __init__(self, table: QualityTable | None, barred: bool):
        self._table = table
        self._barred = barred
        self._chords: dict[str, Chord] = {}
        self._head: dict[str, object] = {}
        self._sections: list[_OpenSection] = []
        self._opens = False
        self._form: Word | None = None
        self._remarks: list[str] = []

    def changes(self, tree: Tree) -> Changes:
        for line in tree.children:
            if line.data == "music":
                self._music(line)
                continue
            for word in words(line):
                self._section(word) if word.kind == "SECTION" else self._attribute(word)
            for part in line.children:
                if hasattr(part, "data"):
                    self._music(part)
        if self._opens:
            raise self._end_fault("the repeat |: at the end opens no bar")
        sections = []
        for part in self._sections:
            if not part.bars:
                raise _fault(part.word, f"section {part.label!r} has no bars; write them, or name it in form: only")
            sections.append(Section(part.label, tuple(part.bars)))
        form = self._head.pop("form", ())
        try:
            return Changes(
                title=str(self._head.get("title", "")), sections=tuple(sections), form=form,
                key=self._head.get("key"), metre=self._head.get("metre", Metre()),
                tempo=self._head.get("tempo"), feel=str(self._head.get("feel", "")),
                remarks=tuple(self._remarks),
            )  # fmt: skip
        except ChangesError as error:
            if self._form is not None and not error.line:
                raise _fault(self._form, str(error)) from error
            raise

    def _end_fault(self, message: str) -> ChangesError:
        bars = self._sections[-1].bars if self._sections else []
        line = bars[-1].line if bars else 1
        return ChangesError(f"line {line}, column 1: {message}", line, 1)

    # Sections and attributes

    def _section(self, word: Word) -> None:
        label = " ".join(word.text[1:-1].split())
        if not label or len(label) > 40:
            raise _fault(word, "expected a label of 1 to 40 characters between [ and ]")
        if self._opens:
            raise _fault(word, "the repeat |: before this section opens no bar")
        self._sections.append(
            _OpenSection(word, label, self._head.get("metre", Metre()), self._head.get("key"))
        )

    def _attribute(self, word: Word) -> None:
        name, _, value = word.text.partition(":")
        offset = len(name) + 1 + len(value) - len(value.lstrip())
        value = re.sub(r"(^|\s)#.*", "", value).strip()
        name = name.strip().lower()
        name = _SYNONYMS.get(name, name)
        if name not in _NAMES:
            from difflib import get_close_matches

            near = tuple(get_close_matches(name, _NAMES, n=2, cutoff=0.4))
            hint = f"; did you mean {' or '.join(near)}?" if near else ""
            raise _fault(word, f"expected one of {', '.join(_NAMES)}, got {name!r}{hint}", near)
        if not value:
            raise _fault(word, f"{name}: expected a value after the colon")
        if name in _HEAD_ONLY and self._sections:
            raise _fault(word, f"{name}: belongs at the head, before the first section or bar")
        if name in _HEAD_ONLY and name in self._head:
            raise _fault(word, f"{name}: written twice; keep one")
        try:
            read = self._value(name, value)
        except (ChangesError, TheoryError) as error:
            raise _fault(word, str(error), offset=offset) from error
        if name == "form":
            self._form = word
        if self._sections and name in ("key", "metre"):
            setattr(self._sections[-1], name, read)
        else:
            self._head[name] = read

    @staticmethod
    def _value(name: str, value: str) -> object:
        if name == "key":
            return parse_key(value)
        if name == "metre":
            return parse_metre(value)
        if name == "tempo":
            if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,3})?", value) or not 20 <= float(value) <= 400:
                raise ChangesError(f"tempo {value[:24]!r}: expected quarter notes a minute, 20 to 400")
            return float(value)
        if name == "feel":
            if value.lower() not in _FEELS:
                raise ChangesError(f"feel {value[:24]!r}: expected {' or '.join(_FEELS)}")
            return value.lower()
        if name == "form":
            parts = value.split(",") if "," in value else value.split()
            return tuple(" ".join(part.split()) for part in parts if part.strip())
        return " ".join(value.split())[:200]

    # Bars

    def _music(self, tree: Tree) -> None:
        if not self._sections:
            self._sections.append(_OpenSection(None, "", self._head.get("metre", Metre()), self._head.get("key")))
        for part in tree.children:
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
                    raise _fault(mark, "a repeat ends here, but there is no bar before it in this section")
                times = int(after.text[1:]) if after is not None and after.kind == "TIMES" else 2
                if bars[-1].closes:
                    raise _fault(mark, "the repeat is closed twice")
                bars[-1] = replace(bars[-1], closes=times)
            if mark.kind in ("OPEN", "BOTH"):
                self._opens = True

    def _append(self, slots: tuple[Slot, ...], line: int, endings: tuple[int, ...] = ()) -> None:
        section = self._sections[-1]
        section.bars.append(WrittenBar(slots, section.metre, section.key, self._opens, 0, endings, line))
        self._opens = False

    def _bar(self, tree: Tree) -> None:
        marks = words(tree)
        ending = next((mark for mark in marks if mark.kind == "ENDING"), None)
        numbers = tuple(int(n) for n in ending.text.rstrip(".").split(",")) if ending else ()
        percent = next((mark for mark in marks if mark.kind == "PERCENT"), None)
        if percent is not None:
            if len(tree.children) > (1 if ending is None else 2):
                raise _fault(percent, "% stands for a whole bar; give it bar lines of its own")
            self._append(self._repeated(percent, numbers), percent.line, numbers)
            return
        items = [words(slot) for slot in tree.children if hasattr(slot, "data")]
        self._append(self._shared(items), items[0][0].line, numbers)

    def _repeated(self, percent: Word, endings: tuple[int, ...]) -> tuple[Slot, ...]:
        section = self._sections[-1]
        if not section.bars:
            raise _fault(percent, "% repeats the bar before, and there is none in this section; write its chords")
        if endings and endings[0] > 1:
            raise _fault(percent, "% at the start of a later ending could mean either bar; write its chords")
        before = section.bars[-1]
        if before.metre != section.metre:
            raise _fault(percent, f"% repeats a bar of {before.metre} in {section.metre}; write its chords")
        return tuple(replace(slot, line=percent.line, column=percent.column) for slot in before.slots)

    def _bar_per_chord(self, tree: Tree) -> None:
        for item in tree.children:
            marks = words(item) if hasattr(item, "data") else [Word(item.type, str(item), item.line, item.column)]
            first = marks[0]
            if first.kind == "PERCENT":
                self._append(self._repeated(first, ()), first.line)
                continue
            wrong = next((mark for mark in marks if mark.kind in ("HOLD", "LENGTH", "ENDING")), None)
            if wrong is not None:
                raise _fault(wrong, f"{wrong.text[:24]!r} needs bar lines; without any | each chord is a bar")
            self._append(self._shared([marks]), first.line)

    def _shared(self, items: list[list[Word]]) -> tuple[Slot, ...]:
        """The slots of a bar: even shares with holds, or lengths in beats."""
        section = self._sections[-1]
        beats, first = section.metre.beats, items[0][0]
        if first.kind == "HOLD":
            raise _fault(first, f"{first.text!r} holds a chord, and a bar begins with a chord, % or N.C.")
        lengths = [self._length(marks) for marks in items]
        if any(length is not None for length in lengths):
            held = next((marks[0] for marks in items if marks[0].kind == "HOLD"), None)
            if held is not None:
                raise _fault(held, f"{held.text!r} beside lengths with *; use one of the two in a bar")
            left = beats - sum(length for length in lengths if length is not None)
            open_count = lengths.count(None)
            if left < 0 or (left == 0) != (open_count == 0):
                came = f"{beats - left} beats" + (" and chords without a length" if open_count else "")
                raise _fault(first, f"the lengths of this bar: expected {beats} beats in {section.metre}, got {came}")
            lengths = [left / open_count if length is None else length for length in lengths]
        else:
            share = Fraction(beats, len(items))
            chords = sum(marks[0].kind != "HOLD" for marks in items)
            if chords > 1 and share.denominator not in (1, 2, 4, 8):
                self._remarks.append(
                    f"line {first.line}: {len(items)} chords or holds share {beats} beats, {share} each; "
                    "write . for a held share if another rhythm is meant"
                )
            lengths = [share] * len(items)
        slots: list[Slot] = []
        beat = Fraction(1)
        for marks, length in zip(items, lengths, strict=True):
            if marks[0].kind == "HOLD":
                slots[-1] = replace(slots[-1], beats=slots[-1].beats + length)
            else:
                slots.append(self._slot(marks, beat, length))
            beat += length
        return tuple(slots)

    @staticmethod
    def _length(marks: list[Word]) -> Fraction | None:
        word = next((mark for mark in marks if mark.kind == "LENGTH"), None)
        if word is None:
            return None
        text = word.text[1:]
        if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,4}|/[1-9][0-9]{0,2})?", text) or not 0 < Fraction(text):
            raise _fault(word, f"length {word.text[:24]!r}: expected beats such as *2, *1.5 or *3/2")
        return Fraction(text)

    def _slot(self, marks: list[Word], beat: Fraction, length: Fraction) -> Slot:
        first = marks[0]
        mode = next((mark for mark in marks if mark.kind == "MODE"), None)
        if first.kind == "NO_CHORD":
            if mode is not None:
                raise _fault(mode, f"{NO_CHORD} has no mode; take the {{...}} out")
            return Slot(beat, length, None, NO_CHORD, "", first.line, first.column)
        chord = self._chord(first)
        text = ""
        if mode is not None:
            text = " ".join(mode.text[1:-1].split())
            try:
                check_override(text, chord)
            except TheoryError as error:
                raise _fault(mode, str(error)) from error
        return Slot(beat, length, chord, first.text, text, first.line, first.column)

    def _chord(self, word: Word) -> Chord:
        found = self._chords.get(word.text)
        if found is None:
            try:
                found = parse_chord(word.text, self._table, reduce=True)
            except SymbolError as error:
                raise _fault(word, str(error), error.suggestions, error.position) from error
            self._chords[word.text] = found
        return found
