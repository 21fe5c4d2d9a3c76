"""Checks whether a hand can play a line. This part of the line checker looks at fingers and frets only."""

from __future__ import annotations

from collections.abc import Iterator

from drills.lines.line import LineNote

__all__ = ["hand_faults"]

_WIDEST = 5
"""Frets a hand covers without moving, first and last counted (drills/RULES.md, D4, 8)."""


def hand_faults(notes: list[LineNote], opens_group: list[bool], tempo: bool) -> Iterator[tuple[int, str]]:
    """(index, what is wrong) wherever a hand could not play on.

    opens_group: whether each note begins a group of notes under one beam, where the hand may move.
    tempo: whether the line is played in tempo; otherwise the hand may move before any note.

    Inside a group the hand stays: a higher fret takes a higher finger, no two neighbouring notes
    are farther apart than their fingers reach, and all frets span five or fewer. Nowhere does one
    finger play two notes running on different strings at different frets, without a rest between.
    """
    held: list[int] = []
    for index, note in enumerate(notes):
        if note.finger not in range(5) or (note.finger == 0) != (note.fret == 0):
            yield index, f"{note.place} cannot be played with finger {note.finger}"
            continue
        before = notes[index - 1] if index else None
        rested = before is None or note.start > before.end
        if before is not None and not rested and (hop := _hop(before, note)):
            yield index, hop
        if rested or opens_group[index] or not tempo:
            held = []
        if held and before is not None and before.fret and note.fret and not _ordered(before, note):
            yield index, f"the hand moves inside a group, from {before.place} to {note.place}"
        if note.fret:
            held.append(note.fret)
            if max(held) - min(held) >= _WIDEST:
                yield index, f"{note.place} stretches the hand over {max(held) - min(held) + 1} frets"
                held = [note.fret]


def _hop(before: LineNote, note: LineNote) -> str:
    if not note.finger or before.finger != note.finger or before.string == note.string:
        return ""
    if before.fret == note.fret and abs(before.string - note.string) == 1:
        return ""  # the finger rolls
    return f"finger {note.finger} hops from {before.place} to {note.place}"


def _ordered(before: LineNote, note: LineNote) -> bool:
    """Whether both notes lie under one hand: fingers in the order of frets, at most two frets beyond their own."""
    if note.fret == before.fret:
        fingers = note.finger - before.finger
        return (
            fingers == 0
            or (fingers == 1 and note.string < before.string)
            or (fingers == -1 and note.string > before.string)
        )
    low, high = sorted((before, note), key=lambda each: each.fret)
    frets, fingers = high.fret - low.fret, high.finger - low.finger
    return fingers > 0 and -2 <= frets - fingers <= 2
