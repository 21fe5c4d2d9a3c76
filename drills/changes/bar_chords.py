"""Turns the words of one bar into chords. They share the bar evenly, or each has its length in beats."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from drills.changes.changes import NO_CHORD, Metre, Slot
from drills.changes.grammar import Word
from drills.changes.overrides import check_override
from drills.errors import ChangesError, SymbolError, TheoryError
from drills.theory.chord import Chord
from drills.theory.quality import QualityTable
from drills.theory.symbol import parse_chord

__all__ = ["BarReader", "fault"]


def fault(word: Word, message: str, near: tuple[str, ...] = (), offset: int = 0) -> ChangesError:
    """An error at a word, or so many characters into it."""
    column = word.column + offset
    return ChangesError(f"line {word.line}, column {column}: {message}", word.line, column, near)


def _length(marks: list[Word]) -> Fraction | None:
    word = next((mark for mark in marks if mark.kind == "LENGTH"), None)
    if word is None:
        return None
    text = word.text[1:]
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,4}|/[1-9][0-9]{0,2})?", text) or not Fraction(text) > 0:
        raise fault(word, f"length {word.text[:24]!r}: expected beats such as *2, *1.5 or *3/2")
    return Fraction(text)


def _remedy(text: str) -> tuple[str, tuple[str, ...]] | None:
    """For common symbols that name no chord of ours: what they lack and what to write, as message and suggestions."""
    match = re.fullmatch(r"([A-Ga-g](?:b|#|)?)(5|m7#5|-7#5|m7\+5)(/[A-G](?:b|#|)?)?", text)
    if match is None:
        return None
    root, kind, bass = match[1].capitalize(), match[2], match[3] or ""
    if kind == "5":
        near: tuple[str, ...] = (f"{root}{bass}", f"{root}m{bass}", f"{root}sus4{bass}")
        return f"chord {text!r} has no third; write {near[0]}, {near[1]} or {near[2]}, as the tune means it", near
    near = (f"{root}m7b13{bass}", f"{root}m7{bass}")
    return f"chord {text!r}: a minor seventh chord has a perfect fifth here; write {near[0]}, or {near[1]}", near


class BarReader:
    """Reads bars; a symbol that occurs again is read once. remarks: what the writer should look at."""

    def __init__(self, table: QualityTable | None):
        self._table = table
        self._chords: dict[str, Chord] = {}
        self.remarks: list[str] = []

    def bar(self, items: list[list[Word]], metre: Metre) -> tuple[Slot, ...]:
        """The slots of a bar, from the words of each chord or hold."""
        beats, first = metre.beats, items[0][0]
        if first.kind == "HOLD":
            raise fault(first, f"{first.text!r} holds a chord, and a bar begins with a chord, % or N.C.")
        given = [_length(marks) for marks in items]
        lengths: list[Fraction]
        if any(length is not None for length in given):
            held = next((marks[0] for marks in items if marks[0].kind == "HOLD"), None)
            if held is not None:
                raise fault(held, f"{held.text!r} beside lengths with *; use one of the two in a bar")
            left = beats - sum((length for length in given if length is not None), Fraction(0))
            open_count = given.count(None)
            if left < 0 or (left == 0) != (open_count == 0):
                filled = beats - left
                came = f"{filled} beats" + (" and chords without a length" if open_count else "")
                remedy = ""
                if left > 0 and filled.denominator == 1:
                    own = f"[pickup] metre: {filled}/{metre.unit}"
                    remedy = f"; a pickup or a short bar stands in a section of its own: {own}"
                raise fault(first, f"the lengths of this bar: expected {beats} beats in {metre}, got {came}{remedy}")
            lengths = [left / open_count if length is None else length for length in given]
        else:
            share = Fraction(beats, len(items))
            chords = sum(marks[0].kind != "HOLD" for marks in items)
            if chords > 1 and share.denominator not in (1, 2, 4, 8):
                self.remarks.append(
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

    def _slot(self, marks: list[Word], beat: Fraction, length: Fraction) -> Slot:
        first = marks[0]
        mode = next((mark for mark in marks if mark.kind == "MODE"), None)
        if first.kind == "NO_CHORD":
            if mode is not None:
                raise fault(mode, f"{NO_CHORD} has no mode; take the {{...}} out")
            return Slot(beat, length, None, NO_CHORD, "", first.line, first.column)
        if re.fullmatch(r"\([^()]+\)", first.text):
            # A chord in brackets is one that may be left out; it is read, since a line over it fits both ways.
            self.remarks.append(f"line {first.line}: {first.text} is read as {first.text[1:-1]}, which may be left out")
            first = replace(first, text=first.text[1:-1], column=first.column + 1)
        chord = self._chord(first)
        text = ""
        if mode is not None:
            text = " ".join(mode.text[1:-1].split())
            try:
                check_override(text, chord)
            except TheoryError as error:
                raise fault(mode, str(error)) from error
        return Slot(beat, length, chord, first.text, text, first.line, first.column)

    def _chord(self, word: Word) -> Chord:
        found = self._chords.get(word.text)
        if found is None:
            try:
                # On a page C2 is the chord with a second for its third; a card asks for it by its full name.
                found = parse_chord(re.sub(r"^([A-G][b#]?)2(?=/|$)", r"\1sus2", word.text), self._table, reduce=True)
            except SymbolError as error:
                remedy = _remedy(word.text)
                if remedy is not None:
                    raise fault(word, *remedy) from error
                raise fault(word, str(error), error.suggestions, error.position) from error
            self._chords[word.text] = found
        return found
