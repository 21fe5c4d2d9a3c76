"""From a chord to a MusicXML harmony: kind and degrees (MusicXML 4.0)."""

from __future__ import annotations

import re
from functools import cache
from xml.etree.ElementTree import Element, SubElement

from drills.changes.changes import NO_CHORD, Slot
from drills.changes.musicxml_kinds import KINDS, degrees_of_kind
from drills.theory.chord import Chord
from drills.theory.note import LETTERS, Note

__all__ = ["harmony_element", "kind_and_degrees"]

_FUNCTIONAL = ("Neapolitan", "Italian", "French", "German", "Tristan")


def _degree(label: str) -> tuple[int, int]:
    number = label.lstrip("b#")
    return int(number), label.count("#") - label.count("b")


@cache
def kind_and_degrees(labels: tuple[str, ...]) -> tuple[str, tuple[tuple[str, int, int], ...]]:
    """The kind that needs the fewest degrees beside it, and those degrees as (action, number, semitones).

    labels: degrees of the chord, e.g. ``("1", "3", "5", "b7", "b9")``. With a seventh the suspended kinds
    are passed over: readers disagree about a seventh added to them, so 7sus4 is a dominant without its
    3rd and with a 4th.
    """
    wanted = dict(map(_degree, labels))
    best = None
    for place, kind in enumerate(KINDS):
        if kind in _FUNCTIONAL or (7 in wanted and kind.startswith("suspended")):
            continue
        has = dict(map(_degree, KINDS[kind].split()))
        changes: list[tuple[str, int, int]] = []
        for number in sorted(set(has) | set(wanted)):
            if number not in wanted:
                changes.append(("subtract", number, 0))
            elif number not in has:
                # An added degree counts from a dominant chord, whose seventh is minor.
                changes.append(("add", number, wanted[number] + (number == 7)))
            elif has[number] != wanted[number]:
                changes.append(("alter", number, wanted[number] - has[number]))
        if degrees_of_kind(kind, changes) == wanted and (best is None or len(changes) < best[0]):
            best = (len(changes), place, kind, tuple(changes))
    return best[2], best[3]


def _named(parent: Element, tag: str, note: Note) -> None:
    group = SubElement(parent, tag)
    SubElement(group, f"{tag}-step").text = LETTERS[note.step]
    if note.alter:
        SubElement(group, f"{tag}-alter").text = str(note.alter)


def _labels(chord: Chord) -> tuple[str, ...]:
    # Two tensions on one number (b9 and #9 of 7alt) cannot stand side by side in a harmony; the first is kept.
    numbers = {_degree(label)[0] for label in chord.quality.degrees}
    labels = list(chord.quality.degrees)
    for label in chord.tensions:
        if _degree(label)[0] not in numbers:
            numbers.add(_degree(label)[0])
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
