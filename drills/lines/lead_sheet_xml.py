"""A page of changes as a MusicXML 4.0 lead sheet: chord symbols over empty bars, in playing order."""

from __future__ import annotations

from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from drills.changes.changes import Bar, Changes
from drills.lines.harmony_xml import harmony_element

__all__ = ["changes_musicxml"]


def changes_musicxml(changes: Changes) -> str:
    """The page with its repeats written out, its sections as rehearsal marks, its keys, metres and tempo.

    What was read as a page reads back to the same bars. A key that the page does not state has no mode, and a
    signature of none. The player's own choices of mode and the feel have no place in a lead sheet and are left out.
    """
    starts = [(slot.beat - 1) * Fraction(4, bar.metre.unit) for bar, slot in changes.slots]
    lengths = [bar.metre.quarters for bar in changes.bars]
    divisions = lcm(*(each.denominator for each in (*starts, *lengths)))
    root = Element("score-partwise", version="4.0")
    SubElement(SubElement(root, "work"), "work-title").text = changes.title or "Changes"
    parts = SubElement(root, "part-list")
    SubElement(SubElement(parts, "score-part", id="P1"), "part-name").text = "Changes"
    part = SubElement(root, "part", id="P1")
    before: Bar | None = None
    for bar in changes.bars:
        _measure(part, changes, bar, before, divisions)
        before = bar
    indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _measure(part: Element, changes: Changes, bar: Bar, before: Bar | None, divisions: int) -> None:
    measure = SubElement(part, "measure", number=str(bar.number))
    if bar.number == 0:
        measure.set("implicit", "yes")  # a pickup: MusicXML 4.0 does not count it
    attributes = Element("attributes")
    if before is None:
        SubElement(attributes, "divisions").text = str(divisions)
    if before is None or before.key != bar.key:
        key = SubElement(attributes, "key")
        SubElement(key, "fifths").text = str(bar.key.signature if bar.key else 0)
        if bar.key:
            SubElement(key, "mode").text = "minor" if bar.key.is_minor else "major"
    if before is None or before.metre != bar.metre:
        time = SubElement(attributes, "time")
        SubElement(time, "beats").text = str(bar.metre.beats)
        SubElement(time, "beat-type").text = str(bar.metre.unit)
    if len(attributes):
        measure.append(attributes)
    if bar.section and (before is None or bar.written[1] == 0 or before.section != bar.section):
        direction = SubElement(measure, "direction", placement="above")
        SubElement(SubElement(direction, "direction-type"), "rehearsal").text = bar.section
    if before is None and changes.tempo is not None:
        direction = SubElement(measure, "direction", placement="above")
        mark = SubElement(SubElement(direction, "direction-type"), "metronome")
        SubElement(mark, "beat-unit").text = "quarter"
        SubElement(mark, "per-minute").text = f"{changes.tempo:g}"
        SubElement(direction, "sound", tempo=f"{changes.tempo:g}")
    for slot in bar.chords:
        measure.append(harmony_element(slot, int((slot.beat - 1) * Fraction(4, bar.metre.unit) * divisions)))
    note = SubElement(measure, "note")
    SubElement(note, "rest", measure="yes")
    SubElement(note, "duration").text = str(int(bar.metre.quarters * divisions))
