"""Modes and scales: the 21 modes of major, harmonic and melodic minor, and a few others."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from drills.configuration.shipped import data_file, read_toml
from drills.errors import TheoryError
from drills.theory.interval import OCTAVE, Interval, transpose_note
from drills.theory.note import Note

__all__ = ["MODAL", "PARENTS", "Mode", "minor_key_mode", "mode_named", "modes", "parent_degrees"]

PARENTS = ("major", "harmonic minor", "melodic minor")

MODAL = {
    "Dorian": "Dorian", "Phrygian": "Phrygian", "Lydian": "Lydian", "Mixolydian": "Mixolydian",
    "natural minor": "Aeolian", "Locrian": "Locrian",
}  # fmt: skip
"""Scales of a key that are modes of a major scale, by what the key is called -> the mode's name."""


@dataclass(frozen=True, slots=True)
class Mode:
    """A scale read from its own root.

    name: e.g. ``Dorian``. intervals: above the root, rising, without the octave.
    parent: the parent scale, or ``""`` for a scale that is no mode of one.
    degree: 1 to 7 in the parent, or 0.
    """

    name: str
    intervals: tuple[Interval, ...]
    parent: str = ""
    degree: int = 0

    @property
    def degrees(self) -> tuple[str, ...]:
        """Degree labels, e.g. ``("1", "2", "b3", ...)``."""
        return tuple(interval.degree for interval in self.intervals)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Semitones above the root, 0 to 11."""
        return frozenset(interval.semitones % 12 for interval in self.intervals)

    def notes(self, root: Note) -> tuple[Note, ...]:
        """The spelled notes on a root, without the octave."""
        return tuple(transpose_note(root, interval) for interval in self.intervals)

    def __str__(self) -> str:
        return self.name


@cache
def _table() -> dict[str, Any]:
    return read_toml(data_file("modes.toml"))


@cache
def parent_degrees(parent: str) -> tuple[Interval, ...]:
    """The seven intervals of a parent scale, or of a mode that is a key's own; raises TheoryError for another name."""
    rows = _table()["parents"]
    if parent in MODAL:
        return modes()[MODAL[parent]].intervals
    if parent not in rows:
        raise TheoryError(f"scale {parent!r}: expected one of {', '.join((*PARENTS, *MODAL))}")
    return tuple(Interval.from_degree(label) for label in rows[parent])


def _rotate(parent: str, degree: int) -> tuple[Interval, ...]:
    scale = parent_degrees(parent)
    rotated = scale[degree - 1 :] + tuple(interval + OCTAVE for interval in scale[: degree - 1])
    return tuple(interval - rotated[0] for interval in rotated)


@cache
def modes() -> dict[str, Mode]:
    """Every mode and scale by name: the 21 modes first, in the order of their parents."""
    table = _table()
    found = {
        name: Mode(name, _rotate(parent, degree), parent, degree)
        for parent in PARENTS
        for degree, name in enumerate(table["modes"][parent], 1)
    }
    for name, labels in table["scales"].items():
        found[name] = Mode(name, tuple(Interval.from_degree(label) for label in labels))
    return found


def mode_named(name: str) -> Mode:
    """The mode of that name, in any case; raises TheoryError listing the names otherwise."""
    wanted = name.strip().lower()
    for known, mode in modes().items():
        if known.lower() == wanted:
            return mode
    raise TheoryError(f"mode {name[:40]!r}: expected one of {', '.join(modes())}")


_MINOR_KEY_MODES = ("melodic minor", "Locrian", "Ionian", "Dorian", "Phrygian dominant", "Lydian", "altered bb7")
"""The usual mode of each degree of a minor key in use, which takes from all three minor scales (common practice)."""


def minor_key_mode(degree: int) -> Mode:
    """The usual mode of the chord on a degree, 1 to 7, of a minor key in use."""
    return modes()[_MINOR_KEY_MODES[degree - 1]]
