"""A shape and a prompt in words that a screen reader can say."""

from __future__ import annotations

import re
from collections.abc import Iterable

from drills.diagrams.text import position_name
from drills.neck.neck import MOST_FRETS
from drills.shapes.shape import Placement, Shape
from drills.theory.note import Note

__all__ = ["degree_words", "note_words", "say_chord", "say_notes", "say_place", "say_shape"]

_NUMBERS = {
    "1": "root", "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth", "7": "seventh",
    "8": "octave", "9": "ninth", "10": "tenth", "11": "eleventh", "12": "twelfth", "13": "thirteenth",
    "14": "fourteenth", "15": "second octave",
}  # fmt: skip
_ACCIDENTALS = {
    "": "",
    "b": "flat",
    "bb": "double flat",
    "bbb": "triple flat",
    "#": "sharp",
    "##": "double sharp",
    "###": "triple sharp",
}


def degree_words(degree: str) -> str:
    """A degree label in words: ``b3`` is flat third, ``bb7`` double flat seventh."""
    number = degree.lstrip("b#")
    return " ".join(part for part in (_ACCIDENTALS[degree.removesuffix(number)], _NUMBERS[number]) if part)


def note_words(note: Note) -> str:
    """A note name in words: ``Eb`` is E flat."""
    return " ".join(part for part in (note.name[0], _ACCIDENTALS[note.name[1:]]) if part)


_SPOKEN = {
    "": "", "maj7": "major seven", "m7": "minor seven", "7": "seven", "m7b5": "minor seven flat five",
    "dim7": "diminished seven", "m6": "minor six", "mMaj7": "minor major seven", "6": "six", "7sus4": "seven sus four",
    "7#5": "seven sharp five", "7b5": "seven flat five", "maj7#5": "major seven sharp five",
    "maj7b5": "major seven flat five", "dimMaj7": "diminished major seven", "m": "minor", "dim": "diminished",
    "aug": "augmented", "sus4": "sus four", "sus2": "sus two",
}  # fmt: skip
"""Shown symbols in words; a symbol that is not here (a player's own) is said as written."""

_CHORD = re.compile(
    r"(?<![\w#])([A-G])(bbb|bb|b|###|##|#|)("
    + "|".join(sorted(map(re.escape, _SPOKEN), key=len, reverse=True))
    + r")(?![\w#])"
)

_DEGREE = re.compile(r"(?<![\w#])(bb|b|##|#)(\d{1,2})(?!\w)")


_ROMAN = {position_name(number): number for number in range(1, MOST_FRETS + 1)}
_POSITION = re.compile(r"\b([Pp]osition )([IVXL]+)\b")
_NUMERAL = re.compile(r"(?<![\w'])([IViv]+)(?= of [A-G])")


def say_chord(text: str) -> str:
    """A line in words: notes, chords and degrees are spelled out, ``Bbm7b5`` as B flat minor seven flat five.

    Roman numerals, which a screen reader says as letters, are numbers: ``position VII`` is position 7, ``ii of Bb``
    degree 2 of B flat.
    """
    text = _POSITION.sub(lambda m: f"{m[1]}{_ROMAN.get(m[2], m[2])}", text)
    text = _NUMERAL.sub(lambda m: f"degree {_ROMAN[m[1].upper()]}" if m[1].upper() in _ROMAN else m[0], text)
    text = _DEGREE.sub(lambda m: f"{_ACCIDENTALS[m[1]]} {m[2]}", text)
    return _CHORD.sub(lambda m: " ".join(part for part in (m[1], _ACCIDENTALS[m[2]], _SPOKEN[m[3]]) if part), text)


def say_place(string: int, fret: int) -> str:
    """``string 6 fret 8``, ``string 6 open``."""
    return f"string {string} open" if fret == 0 else f"string {string} fret {fret}"


def _say_note(note: Placement) -> str:
    place = say_place(note.string, note.fret)
    finger = "no finger" if note.finger == 0 else f"finger {note.finger}"
    # "E flat third" could be heard as E flat: an altered degree is set off by a comma.
    pause = "," if note.degree[0] in "b#" else ""
    return f"{place} {note_words(note.pitch.note)}{pause} {degree_words(note.degree)}, {finger}"


def say_shape(shape: Shape) -> str:
    """Every note in playing order: ``string 6 fret 8 C root, finger 2; ...``"""
    return say_notes(shape.notes)


def say_notes(notes: Iterable[Placement]) -> str:
    """Notes as `say_shape` says them, from wherever they come."""
    return "; ".join(map(_say_note, notes)) + "."
