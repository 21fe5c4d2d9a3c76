"""MusicXML 4.0 chord kinds: one table, read from a kind to its degrees and from degrees to the nearest kind."""

from __future__ import annotations

from functools import cache

from drills.theory.note import NATURAL_SEMITONES
from drills.theory.quality import Quality, shipped_qualities

__all__ = ["KINDS", "DegreeChange", "degrees_of_kind", "kind_and_degrees", "kind_of", "parse_label"]

DegreeChange = tuple[str, int, int]
"""One ``degree`` of a harmony: ``add``, ``alter`` or ``subtract``, the degree number, and semitones."""

KINDS: dict[str, str] = {
    "major": "1 3 5",
    "minor": "1 b3 5",
    "diminished": "1 b3 b5",
    "dominant": "1 3 5 b7",
    "major-seventh": "1 3 5 7",
    "augmented": "1 3 #5",
    "minor-seventh": "1 b3 5 b7",
    "diminished-seventh": "1 b3 b5 bb7",
    "augmented-seventh": "1 3 #5 b7",
    "half-diminished": "1 b3 b5 b7",
    "major-minor": "1 b3 5 7",
    "major-sixth": "1 3 5 6",
    "minor-sixth": "1 b3 5 6",
    "dominant-ninth": "1 3 5 b7 9",
    "major-ninth": "1 3 5 7 9",
    "minor-ninth": "1 b3 5 b7 9",
    "dominant-11th": "1 3 5 b7 9 11",
    "major-11th": "1 3 5 7 9 11",
    "minor-11th": "1 b3 5 b7 9 11",
    "dominant-13th": "1 3 5 b7 9 13",
    "major-13th": "1 3 5 7 9 13",
    "minor-13th": "1 b3 5 b7 9 13",
    "suspended-second": "1 2 5",
    "suspended-fourth": "1 4 5",
    "power": "1 5",
    # The four functional kinds, by the chord that sounds over the root given.
    "Neapolitan": "1 3 5",
    "Italian": "1 3 5 b7",
    "French": "1 3 b5 b7",
    "German": "1 3 5 b7",
    "Tristan": "1 b3 b5 b7",
}
"""Degrees of each kind-value of the W3C MusicXML 4.0 schema.

A 13th has no 11th, as in the symbols of this project (common practice). Where two kinds serve a chord
equally well, the earlier one is written: a raised fifth under a major seventh is an altered major-seventh.
"""

_FUNCTIONAL = ("Neapolitan", "Italian", "French", "German", "Tristan")
"""Kinds that say what a chord does; they are read and never written."""

_LOOSE = {kind.lower(): labels for kind, labels in KINDS.items()} | {
    "minor-major": KINDS["major-minor"],
    "dominant-seventh": KINDS["dominant"],
}
"""Kinds as some programs write them against the standard."""


def parse_label(label: str) -> tuple[int, int]:
    """The number of a degree label and its alteration in semitones: ``bb7`` is ``(7, -2)``."""
    number = label.lstrip("b#")
    return int(number), label.count("#") - label.count("b")


def degrees_of_kind(kind: str, changes: list[DegreeChange]) -> dict[int, int] | None:
    """Degree numbers with their alteration against the major scale, or None for a kind without notes.

    changes: what the harmony's ``degree`` elements say. An added degree counts from a dominant
    chord, so an added plain 7 is the minor seventh; altering counts from the kind (MusicXML 4.0,
    degree-type).
    """
    labels = KINDS.get(kind) or _LOOSE.get(kind.lower())
    if labels is None:
        return None
    degrees = dict(map(parse_label, labels.split()))
    for action, number, semitones in changes:
        if action == "subtract":
            degrees.pop(number, None)
        elif action == "alter" and number in degrees:
            degrees[number] += semitones
        else:
            degrees[number] = semitones - (number == 7)
    return degrees


@cache
def kind_and_degrees(labels: tuple[str, ...]) -> tuple[str, tuple[DegreeChange, ...]]:
    """The kind that needs the fewest degrees beside it, and those degrees.

    labels: degrees of the chord, e.g. ``("1", "3", "5", "b7", "b9")``. With a seventh the suspended kinds
    are passed over: readers disagree about a seventh added to them, so 7sus4 is a dominant without its
    3rd and with a 4th.
    """
    wanted = dict(map(parse_label, labels))
    written = [kind for kind in KINDS if kind not in _FUNCTIONAL and not (7 in wanted and kind.startswith("suspended"))]
    choices = [
        (kind, changes) for kind in written if degrees_of_kind(kind, changes := _changes(kind, wanted)) == wanted
    ]
    kind, changes = min(choices, key=lambda choice: len(choice[1]))
    return kind, tuple(changes)


def _changes(kind: str, wanted: dict[int, int]) -> list[DegreeChange]:
    """What must be subtracted, added and altered to come from a kind's degrees to those wanted."""
    has = dict(map(parse_label, KINDS[kind].split()))
    changes: list[DegreeChange] = []
    for number in sorted(set(has) | set(wanted)):
        if number not in wanted:
            changes.append(("subtract", number, 0))
        elif number not in has:
            # An added degree counts from a dominant chord, whose seventh is minor.
            changes.append(("add", number, wanted[number] + (number == 7)))
        elif has[number] != wanted[number]:
            changes.append(("alter", number, wanted[number] - has[number]))
    return changes


@cache
def kind_of(quality: Quality) -> tuple[str, tuple[DegreeChange, ...]]:
    """The kind and degrees of a quality; a player's own quality is ``other`` with all its degrees added."""
    if any(quality.degrees == shipped.degrees for shipped in shipped_qualities()):
        return kind_and_degrees(quality.degrees)
    added = []
    for interval in quality.intervals[1:]:
        step = interval.steps % 7
        # An added seventh counts from the minor seventh of the dominant chord.
        natural = NATURAL_SEMITONES[step] - (step == 6)
        added.append(("add", interval.steps + 1, interval.semitones % 12 - natural))
    return "other", tuple(added)
