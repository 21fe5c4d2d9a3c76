"""A line as MusicXML 4.0: notes on a staff with fingers, and under it a tablature staff with strings and frets."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from drills.changes.changes import Bar, Metre
from drills.harmony.chord_timeline import bar_starts
from drills.harmony.home_key import home_key
from drills.lines.harmony_xml import harmony_element
from drills.lines.line import Line, LineNote
from drills.lines.rhythm import pulses, swings
from drills.theory.key import Key
from drills.theory.note import LETTERS

__all__ = ["line_musicxml", "note_values"]

_DOCTYPE = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<!DOCTYPE score-partwise PUBLIC '
    '"-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">\n'
)
_TYPES = {
    Fraction(4): "whole", Fraction(2): "half", Fraction(1): "quarter", Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th", Fraction(1, 8): "32nd", Fraction(1, 16): "64th", Fraction(1, 32): "128th",
}  # fmt: skip
_ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_STAFF, _TAB = 1, 2


@dataclass(frozen=True, slots=True)
class _Value:
    """A length one sign can show: type, dots, and whether it is two thirds of itself (triplets)."""

    length: Fraction
    type: str = ""
    dots: int = 0
    triplet: bool = False


def _value(length: Fraction) -> _Value | None:
    for full, name in _TYPES.items():
        for dots, factor in ((0, Fraction(1)), (1, Fraction(3, 2)), (2, Fraction(7, 4))):
            if length == full * factor:
                return _Value(length, name, dots)
        if length == full * Fraction(2, 3):
            return _Value(length, name, 0, True)
    return None


def note_values(length: Fraction) -> tuple[_Value, ...]:
    """The signs, tied together, that show a length in quarter notes, longest first.

    A length no signs can show is given as one value without a type, which the standard allows.
    """
    found: list[_Value] = []
    rest = length
    while rest > 0:
        value = _value(rest)
        if value is None:
            fitting = [full for full in _TYPES if full <= rest]
            if not fitting:
                return (_Value(length),)
            value = _Value(fitting[0], _TYPES[fitting[0]])
        found.append(value)
        rest -= value.length
    return tuple(found)


def _divisions(line: Line) -> int:
    lengths = [note.start for note in line.notes] + [note.end for note in line.notes]
    for bar, start in zip(line.changes.bars, bar_starts(line.changes)[:-1], strict=True):
        lengths += [start, bar.metre.quarters]
        lengths += [(slot.beat - 1) * Fraction(4, bar.metre.unit) for slot in bar.chords]
    return lcm(8, *(length.denominator for length in lengths))


@dataclass(frozen=True, slots=True)
class _Event:
    """A sign in a bar: where, its value, the notes struck (none for a rest), and whether it is tied back and on."""

    at: Fraction
    value: _Value
    struck: tuple[LineNote, ...]
    tied: tuple[bool, bool]


def _beams(events: list[tuple[Fraction, _Value, bool]], metre: Metre) -> list[str]:
    """``begin``, ``continue`` or ``end`` for eighths under one beam, else ``""``.

    Beams join half bars of a common metre and the felt beats of others; triplets a quarter (common practice).
    """
    felt = pulses(metre)
    common = metre.unit == 4 and metre.beats % 2 == 0
    groups: list[tuple[bool, int] | None] = []
    for at, value, struck in events:
        if not struck or value.type != "eighth" or value.dots:
            groups.append(None)
        elif value.triplet or not common:
            groups.append((value.triplet, sum(place <= at for place in felt)))
        else:
            groups.append((False, at // 2))
    found = []
    for index, group in enumerate(groups):
        before = group is not None and index > 0 and groups[index - 1] == group
        after = group is not None and index + 1 < len(groups) and groups[index + 1] == group
        found.append("continue" if before and after else "end" if before else "begin" if after else "")
    return found


class _Writer:
    def __init__(self, line: Line):
        self.line = line
        self.divisions = _divisions(line)
        self.starts = bar_starts(line.changes)
        self.home = home_key(line.changes)
        self.groups = line.struck()

    def units(self, quarters: Fraction) -> str:
        return str(int(quarters * self.divisions))

    def measure(self, part: Element, bar: Bar, before: Bar | None) -> None:
        index = bar.number - self.line.changes.bars[0].number
        start, end = self.starts[index], self.starts[index + 1]
        measure = SubElement(part, "measure", number=str(bar.number))
        if bar.number == 0:
            measure.set("implicit", "yes")  # a pickup: MusicXML 4.0 does not count it
        key = bar.key or self.home
        attributes = Element("attributes")
        if before is None:
            SubElement(attributes, "divisions").text = str(self.divisions)
        if before is None or (before.key or self.home) != key:
            self._key(attributes, key)
        if before is None or before.metre != bar.metre:
            time = SubElement(attributes, "time")
            SubElement(time, "beats").text = str(bar.metre.beats)
            SubElement(time, "beat-type").text = str(bar.metre.unit)
        if before is None:
            self._staves(attributes)
        if len(attributes):
            measure.append(attributes)
        if before is None and (self.line.changes.tempo or self.line.changes.feel):
            self._tempo(measure, self.line.changes.tempo, self.line.changes.feel)
        for slot in bar.chords:
            offset = int((slot.beat - 1) * Fraction(4, bar.metre.unit) * self.divisions)
            measure.append(harmony_element(slot, offset))
        for staff in (_STAFF, _TAB):
            if staff == _TAB:
                backup = SubElement(measure, "backup")
                SubElement(backup, "duration").text = self.units(end - start)
            self._voice(measure, bar, start, end, staff, key)

    def _key(self, attributes: Element, key: Key | None) -> None:
        element = SubElement(attributes, "key")
        SubElement(element, "fifths").text = str(key.signature if key else 0)
        SubElement(element, "mode").text = "minor" if key and key.is_minor else "major"

    def _staves(self, attributes: Element) -> None:
        SubElement(attributes, "staves").text = "2"
        clef = SubElement(attributes, "clef", number="1")
        SubElement(clef, "sign").text = "G"
        SubElement(clef, "line").text = "2"
        # Guitar music is written an octave above its sound; with this clef pitches are those that sound.
        SubElement(clef, "clef-octave-change").text = "-1"
        strings = self.line.tuning.strings
        clef = SubElement(attributes, "clef", number="2")
        SubElement(clef, "sign").text = "TAB"
        SubElement(clef, "line").text = str((strings + 1) // 2 + 1)
        details = SubElement(attributes, "staff-details", number="2")
        SubElement(details, "staff-lines").text = str(strings)
        for place in range(1, strings + 1):
            pitch = self.line.tuning.open_pitch(strings - place + 1)
            tuning = SubElement(details, "staff-tuning", line=str(place))
            SubElement(tuning, "tuning-step").text = LETTERS[pitch.note.step]
            if pitch.note.alter:
                SubElement(tuning, "tuning-alter").text = str(pitch.note.alter)
            SubElement(tuning, "tuning-octave").text = str(pitch.octave)

    def _tempo(self, measure: Element, tempo_bpm: float | None, feel: str) -> None:
        """The tempo mark and the feel, seen and played: swing is two thirds and one third of a beat (MusicXML 4.0)."""
        direction = SubElement(measure, "direction", placement="above")
        if feel:
            SubElement(SubElement(direction, "direction-type"), "words").text = feel
        if tempo_bpm:
            mark = SubElement(SubElement(direction, "direction-type"), "metronome")
            SubElement(mark, "beat-unit").text = "quarter"
            SubElement(mark, "per-minute").text = f"{tempo_bpm:g}"
        sound = SubElement(direction, "sound", {"tempo": f"{tempo_bpm:g}"} if tempo_bpm else {})
        if feel:
            swing = SubElement(sound, "swing")
            if swings(self.line.changes, feel):
                for part, share in (("first", "2"), ("second", "1"), ("swing-type", "eighth")):
                    SubElement(swing, part).text = share
            else:
                SubElement(swing, "straight")

    def _voice(self, measure: Element, bar: Bar, start: Fraction, end: Fraction, staff: int, key: Key | None) -> None:
        signs = _Signs(key)
        events = self._events(start, end)
        beams = _beams([(event.at - start, event.value, bool(event.struck)) for event in events], bar.metre)
        for event, beam in zip(events, beams, strict=True):
            for voice, note in enumerate(event.struck):
                self._note(measure, note, event.value, event.tied, staff, voice > 0, signs, "" if voice else beam)
            if not event.struck:
                whole = event.value.length == end - start
                rest = self._shell(measure, event.value)
                rest.insert(0, Element("rest", {"measure": "yes"} if whole else {}))
                self._tail(rest, _Value(event.value.length) if whole else event.value, staff)

    def _events(self, start: Fraction, end: Fraction) -> list[_Event]:
        """What a bar holds, in order: struck notes and rests, cut into signs that exist."""
        found: list[_Event] = []
        at = start
        for group in [*self.groups, ()]:
            first = max(group[0].start, start) if group else end
            last = min(max(note.end for note in group), end) if group else end
            if group and (last <= start or first >= end):
                continue
            if at == start and first == end:
                return [_Event(start, _Value(end - start), (), (False, False))]
            for value in note_values(first - at):
                found.append(_Event(at, value, (), (False, False)))
                at += value.length
            values = note_values(last - first)
            for number, value in enumerate(values):
                before = number > 0 or group[0].start < first
                after = number < len(values) - 1 or group[0].end > last
                found.append(_Event(at, value, group, (before, after)))
                at += value.length
        return found

    def _shell(self, measure: Element, value: _Value) -> Element:
        note = SubElement(measure, "note")
        SubElement(note, "duration").text = self.units(value.length)
        return note

    def _tail(self, note: Element, value: _Value, staff: int, accidental: str = "", beam: str = "") -> None:
        SubElement(note, "voice").text = "1" if staff == _STAFF else "5"
        if value.type:
            SubElement(note, "type").text = value.type
            for _ in range(value.dots):
                SubElement(note, "dot")
        if accidental:
            SubElement(note, "accidental").text = accidental
        if value.triplet:
            change = SubElement(note, "time-modification")
            SubElement(change, "actual-notes").text = "3"
            SubElement(change, "normal-notes").text = "2"
        if staff == _TAB and value.type and note.find("rest") is None:
            SubElement(note, "stem").text = "none"
        SubElement(note, "staff").text = str(staff)
        if staff == _STAFF and beam:
            SubElement(note, "beam", number="1").text = beam

    def _note(
        self, measure: Element, note: LineNote, value: _Value, tied: tuple[bool, bool], staff: int, chord: bool,
        signs: _Signs, beam: str,
    ) -> None:  # fmt: skip
        element = SubElement(measure, "note")
        if chord:
            SubElement(element, "chord")
        pitch = SubElement(element, "pitch")
        SubElement(pitch, "step").text = LETTERS[note.pitch.note.step]
        if note.pitch.note.alter:
            SubElement(pitch, "alter").text = str(note.pitch.note.alter)
        SubElement(pitch, "octave").text = str(note.pitch.octave)
        SubElement(element, "duration").text = self.units(value.length)
        for stop, name in zip(tied, ("stop", "start"), strict=True):
            if stop:
                SubElement(element, "tie", type=name)
        self._tail(element, value, staff, signs.sign(note) if staff == _STAFF and not tied[0] else "", beam)
        notations = SubElement(element, "notations")
        for stop, name in zip(tied, ("stop", "start"), strict=True):
            if stop:
                SubElement(notations, "tied", type=name)
        technical = SubElement(notations, "technical")
        if staff == _STAFF:
            SubElement(technical, "fingering").text = str(note.finger)
        else:
            SubElement(technical, "string").text = str(note.string)
            SubElement(technical, "fret").text = str(note.fret)


class _Signs:
    """Which accidentals must be printed in a bar: those that differ from the key and from what stood before."""

    def __init__(self, key: Key | None):
        flats_or_sharps = key.signature if key else 0
        order = "FCGDAEB"
        self.standing: dict[tuple[int, int], int] = {}
        self.key = {LETTERS.index(letter): 1 for letter in order[: max(0, flats_or_sharps)]}
        self.key |= {LETTERS.index(letter): -1 for letter in order[::-1][: max(0, -flats_or_sharps)]}

    def sign(self, note: LineNote) -> str:
        """The accidental to print before a note, or ``""``."""
        name = note.pitch.note
        place = (name.step, note.pitch.octave)
        if self.standing.get(place, self.key.get(name.step, 0)) == name.alter:
            return ""
        self.standing[place] = name.alter
        return _ACCIDENTALS.get(name.alter, "")


def line_musicxml(line: Line, *, composer: str = "") -> str:
    """The line as the text of a MusicXML 4.0 file, bars in playing order.

    Pitches are those that sound. Notes carry their fingers on the staff, and their strings
    and frets on the tablature. composer: of the line, when there is one to name.
    """
    score = Element("score-partwise", version="4.0")
    work = SubElement(score, "work")
    SubElement(work, "work-title").text = line.title
    identification = SubElement(score, "identification")
    if composer:
        SubElement(identification, "creator", type="composer").text = composer
    SubElement(SubElement(identification, "encoding"), "software").text = "neckwork"
    part_list = SubElement(score, "part-list")
    SubElement(SubElement(part_list, "score-part", id="P1"), "part-name").text = "Guitar"
    part = SubElement(score, "part", id="P1")
    writer = _Writer(line)
    before = None
    for bar in line.changes.bars:
        writer.measure(part, bar, before)
        before = bar
    indent(score, " ")
    return _DOCTYPE + tostring(score, encoding="unicode") + "\n"
