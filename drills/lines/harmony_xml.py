"""The chord symbol of a slot as a MusicXML 4.0 harmony element."""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element, SubElement

from drills.changes.changes import NO_CHORD, Slot
from drills.theory.chord import Chord
from drills.theory.chord_kinds import kind_and_degrees, parse_label
from drills.theory.note import LETTERS, Note

__all__ = ["harmony_element"]


def _named(parent: Element, tag: str, note: Note) -> None:
    group = SubElement(parent, tag)
    SubElement(group, f"{tag}-step").text = LETTERS[note.step]
    if note.alter:
        SubElement(group, f"{tag}-alter").text = str(note.alter)


def _labels(chord: Chord) -> tuple[str, ...]:
    # Two tensions on one number (b9 and #9 of 7alt) cannot stand side by side in a harmony; the first is kept.
    numbers = {parse_label(label)[0] for label in chord.quality.degrees}
    labels = list(chord.quality.degrees)
    for label in chord.tensions:
        if parse_label(label)[0] not in numbers:
            numbers.add(parse_label(label)[0])
            labels.append(label)
    return tuple(labels)


def harmony_element(slot: Slot, offset: int) -> Element:
    """The harmony of a slot, `offset` divisions after where it is written; N.C. has the kind ``none``."""
    harmony = Element("harmony")
    if slot.chord is None:
        root = SubElement(harmony, "root")
        SubElement(root, "root-step", text="").text = "C"
        SubElement(harmony, "kind", text=NO_CHORD).text = "none"
    else:
        kind, degrees = kind_and_degrees(_labels(slot.chord))
        _named(harmony, "root", slot.chord.root)
        shown = re.sub(r"^[A-Ga-g][b#♭♯]*|/[A-G][b#♭♯]*$", "", slot.text)
        SubElement(harmony, "kind", text=shown).text = kind
        if slot.chord.bass is not None:
            _named(harmony, "bass", slot.chord.bass)
        for action, number, semitones in degrees:
            degree = SubElement(harmony, "degree")
            SubElement(degree, "degree-value").text = str(number)
            SubElement(degree, "degree-alter").text = str(semitones)
            SubElement(degree, "degree-type").text = action
    if offset:
        SubElement(harmony, "offset").text = str(offset)
    return harmony
