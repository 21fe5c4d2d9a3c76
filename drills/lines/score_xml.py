"""A line as MusicXML 4.0: notes on a staff with fingers, and under it a tablature staff with strings and frets."""

from __future__ import annotations

from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from drills.changes.changes import Bar
from drills.diagrams.clefs import OCTAVES_UP, clef_of
from drills.harmony.chord_timeline import bar_starts
from drills.harmony.home_key import home_key
from drills.lines.harmony_xml import harmony_element
from drills.lines.line import Line, LineNote
from drills.lines.notation import StandingSigns, Value, bar_signs, beams
from drills.lines.rhythm import swings
from drills.theory.key import Key
from drills.theory.note import LETTERS

__all__ = ["line_musicxml"]

_DOCTYPE = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<!DOCTYPE score-partwise PUBLIC '
    '"-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">\n'
)
_ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_STAFF, _TAB = 1, 2


def _divisions(line: Line) -> int:
    lengths = [note.start for note in line.notes] + [note.end for note in line.notes]
    for bar, start in zip(line.changes.bars, bar_starts(line.changes)[:-1], strict=True):
        lengths += [start, bar.metre.quarters]
        lengths += [(slot.beat - 1) * Fraction(4, bar.metre.unit) for slot in bar.chords]
    return lcm(8, *(length.denominator for length in lengths))


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
            self._voice(measure, bar, start, staff, key)

    def _key(self, attributes: Element, key: Key | None) -> None:
        element = SubElement(attributes, "key")
        SubElement(element, "fifths").text = str(key.signature if key else 0)
        SubElement(element, "mode").text = "minor" if key and key.is_minor else "major"

    def _staves(self, attributes: Element) -> None:
        SubElement(attributes, "staves").text = "2"
        clef = SubElement(attributes, "clef", number="1")
        read = clef_of(self.line.tuning)
        SubElement(clef, "sign").text = read[0]
        SubElement(clef, "line").text = "4" if read == "F" else "2"
        if OCTAVES_UP[read]:
            # Guitars and basses are written an octave above their sound; with this clef pitches are those that sound.
            SubElement(clef, "clef-octave-change").text = str(-OCTAVES_UP[read])
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

    def _voice(self, measure: Element, bar: Bar, start: Fraction, staff: int, key: Key | None) -> None:
        standing = StandingSigns(key)
        signs = bar_signs(self.groups, start, bar.metre)
        for sign, beam in zip(signs, beams(signs, bar.metre), strict=True):
            for voice, note in enumerate(sign.struck):
                self._note(measure, note, sign.value, sign.tied, staff, voice > 0, standing, "" if voice else beam)
            if not sign.struck:
                rest = self._shell(measure, sign.value)
                rest.insert(0, Element("rest", {"measure": "yes"} if sign.whole_bar else {}))
                self._tail(rest, sign.value, staff)

    def _shell(self, measure: Element, value: Value) -> Element:
        note = SubElement(measure, "note")
        SubElement(note, "duration").text = self.units(value.length)
        return note

    def _tail(self, note: Element, value: Value, staff: int, accidental: str = "", beam: str = "") -> None:
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
        self, measure: Element, note: LineNote, value: Value, tied: tuple[bool, bool], staff: int, chord: bool,
        standing: StandingSigns, beam: str,
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
        written = standing.needed(note.pitch) if staff == _STAFF and not tied[0] else None
        self._tail(element, value, staff, "" if written is None else _ACCIDENTALS.get(written, ""), beam)
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
