"""Shapes as MusicXML 4.0: a staff and tablature with string, fret and finger, chord symbols, and frames for grips.

Pitches are written as they sound; the staff's clef says that a guitar is read an octave
higher. Notes last a quarter in 4/4, grips a bar, and every bar is full.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element, SubElement, tostring

from drills.diagrams.grid import grid_of
from drills.neck.tuning import Tuning
from drills.shapes.shape import Placement, Shape
from drills.theory.chord_kinds import kind_of
from drills.theory.note import LETTERS, Note

__all__ = ["musicxml_text"]

_BEATS = 4
_DOCTYPE = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">\n'
)


def musicxml_text(shapes: Sequence[Shape], tuning: Tuning, *, title: str = "", capo: int = 0) -> str:
    """The shapes one after another as a MusicXML document; each begins a bar under its chord symbol.

    tuning: as it sounds, capo included. capo: its fret, 0 for none, told to the tablature.
    Raises ValueError when there is no shape.
    """
    if not shapes:
        raise ValueError("musicxml: expected at least one shape, got none")
    root = Element("score-partwise", version="4.0")
    _text(SubElement(root, "work"), "work-title", title or shapes[0].name)
    part_list = SubElement(root, "part-list")
    _text(SubElement(part_list, "score-part", id="P1"), "part-name", "Guitar")
    part = SubElement(root, "part", id="P1")
    number = 0
    for shape in shapes:
        for index, columns in enumerate(_bars(shape)):
            number += 1
            bar = SubElement(part, "measure", number=str(number))
            if number == 1:
                _attributes(bar, tuning, capo)
            if index == 0:
                _harmony(bar, shape, tuning)
            for staff in (1, 2):
                if staff == 2:
                    _text(SubElement(bar, "backup"), "duration", str(_BEATS))
                _voice(bar, columns, shape.form.kind == "grip", staff)
    return _DOCTYPE + tostring(root, encoding="unicode") + "\n"


def _bars(shape: Shape) -> list[list[tuple[Placement, ...]]]:
    """Bars of columns sounding together; a line's last bar may hold fewer than four."""
    if shape.form.kind == "grip":
        return [[shape.notes]]
    return [[(note,) for note in shape.notes[start : start + _BEATS]] for start in range(0, len(shape.notes), _BEATS)]


def _text(above: Element, name: str, content: object, **attributes: str) -> Element:
    element = SubElement(above, name, attributes)
    element.text = str(content)
    return element


def _attributes(bar: Element, tuning: Tuning, capo: int) -> None:
    attributes = SubElement(bar, "attributes")
    _text(attributes, "divisions", 1)
    _text(SubElement(attributes, "key"), "fifths", 0)
    time = SubElement(attributes, "time")
    _text(time, "beats", _BEATS)
    _text(time, "beat-type", 4)
    _text(attributes, "staves", 2)
    clef = SubElement(attributes, "clef", number="1")
    _text(clef, "sign", "G")
    _text(clef, "line", 2)
    _text(clef, "clef-octave-change", -1)
    tab = SubElement(attributes, "clef", number="2")
    _text(tab, "sign", "TAB")
    _text(tab, "line", 5)
    details = SubElement(attributes, "staff-details", number="2")
    _text(details, "staff-lines", tuning.strings)
    for line, pitch in enumerate(tuning.open, 1):  # line 1 is the lowest, where the lowest string is drawn
        string = SubElement(details, "staff-tuning", line=str(line))
        _spelled(string, "tuning-", pitch.note)
        _text(string, "tuning-octave", pitch.octave)
    if capo:
        _text(details, "capo", capo)


def _spelled(above: Element, prefix: str, note: Note) -> None:
    _text(above, f"{prefix}step", LETTERS[note.step])
    if note.alter:
        _text(above, f"{prefix}alter", note.alter)


def _harmony(bar: Element, shape: Shape, tuning: Tuning) -> None:
    harmony = SubElement(bar, "harmony")
    root = SubElement(harmony, "root")
    _spelled(root, "root-", shape.chord.root)
    kind, degrees = kind_of(shape.chord.quality)
    _text(harmony, "kind", kind, text=shape.chord.quality.symbol)
    if shape.chord.bass:
        _spelled(SubElement(harmony, "bass"), "bass-", shape.chord.bass)
    for what, value, alter in degrees:
        degree = SubElement(harmony, "degree", {"print-object": "no"})
        _text(degree, "degree-value", value)
        _text(degree, "degree-alter", alter)
        _text(degree, "degree-type", what)
    if shape.form.kind == "grip":
        _frame(harmony, shape, tuning)


def _frame(harmony: Element, shape: Shape, tuning: Tuning) -> None:
    grid = grid_of(shape, tuning.strings, "fingers")
    frame = SubElement(harmony, "frame")
    _text(frame, "frame-strings", tuning.strings)
    _text(frame, "frame-frets", grid.last_fret - grid.first_fret + 1)
    if grid.first_fret > 1:
        _text(frame, "first-fret", grid.first_fret)
    for note in shape.notes:
        place = SubElement(frame, "frame-note")
        _text(place, "string", note.string)
        _text(place, "fret", note.fret)
        if note.finger:
            _text(place, "fingering", note.finger)


def _voice(bar: Element, columns: list[tuple[Placement, ...]], whole_bar: bool, staff: int) -> None:
    length, kind = (_BEATS, "whole") if whole_bar else (1, "quarter")
    for column in columns:
        for index, placement in enumerate(column):
            _note(bar, placement, length, kind, staff, index > 0)
    for _ in range(_BEATS - length * len(columns)):
        rest = SubElement(bar, "note")
        SubElement(rest, "rest")
        _length(rest, 1, "quarter", staff)


def _note(bar: Element, placement: Placement, length: int, kind: str, staff: int, together: bool) -> None:
    note = SubElement(bar, "note")
    if together:
        SubElement(note, "chord")
    pitch = SubElement(note, "pitch")
    _spelled(pitch, "", placement.pitch.note)
    _text(pitch, "octave", placement.pitch.octave)
    _length(note, length, kind, staff)
    technical = SubElement(SubElement(note, "notations"), "technical")
    if placement.finger:
        _text(technical, "fingering", placement.finger)
    if staff == 2:
        _text(technical, "string", placement.string)
        _text(technical, "fret", placement.fret)


def _length(note: Element, length: int, kind: str, staff: int) -> None:
    _text(note, "duration", length)
    _text(note, "voice", staff)
    _text(note, "type", kind)
    _text(note, "staff", staff)
