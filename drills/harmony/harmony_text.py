"""The key and mode of every chord as data, so that the choice is always shown."""

from __future__ import annotations

from drills.changes.changes import Changes
from drills.harmony.harmony import Function
from drills.harmony.path_text import beat_number

__all__ = ["functions_json"]


def functions_json(changes: Changes, functions: tuple[Function | None, ...]) -> list[dict]:
    """One object for each chord: bar, beat, chord, key, numeral, mode, its notes, and whether the player chose it."""
    found = []
    for (bar, slot), function in zip(changes.slots, functions, strict=True):
        entry: dict = {"bar": bar.number, "beat": beat_number(slot.beat), "chord": slot.text}
        if function is not None:
            mode = function.mode
            entry |= {
                "key": function.key_name,
                "numeral": function.numeral,
                "mode": None if mode is None else mode.name,
                "notes": [] if mode is None else [note.name for note in mode.notes(slot.chord.root)],
                "chosen": function.chosen,
            }
        found.append(entry)
    return found
