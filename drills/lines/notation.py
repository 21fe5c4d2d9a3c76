"""A bar of a line as written notation: signs with a value, cut where the beats of the bar must stay visible.

The rules are those of common practice, as set down by E. Gould, Behind Bars (2011): the middle of a bar in two or four
stays visible, a note that begins off the beat is cut at the next beat unless it is a plain quarter, and rests are cut
at every beat.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drills.changes.changes import Metre
from drills.lines.line import LineNote
from drills.lines.rhythm import pulses
from drills.theory.key import Key
from drills.theory.note import LETTERS, Pitch

__all__ = ["StandingSigns", "Struck", "Value", "WrittenSign", "bar_signs", "beams", "note_values", "signature_letters"]

_TYPES = {
    Fraction(4): "whole", Fraction(2): "half", Fraction(1): "quarter", Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th", Fraction(1, 8): "32nd", Fraction(1, 16): "64th", Fraction(1, 32): "128th",
}  # fmt: skip
_HALF = Fraction(1, 2)
_SHARPS = "FCGDAEB"
"""The order of the sharps of a key signature; that of the flats is its reverse."""

Struck = tuple[LineNote, ...]


@dataclass(frozen=True, slots=True)
class Value:
    """A length one sign can show.

    length: in quarter notes. type: ``quarter`` and its kin, "" for a length that no sign shows. dots: after it.
    triplet: whether it is two thirds of what the sign alone says.
    """

    length: Fraction
    type: str = ""
    dots: int = 0
    triplet: bool = False


@dataclass(frozen=True, slots=True)
class WrittenSign:
    """A sign in a bar.

    at: in quarter notes from the beginning of the bar. value: how long. struck: the notes, none for a rest.
    tied: whether it is tied to the sign before, and to the one after. whole_bar: whether it is the rest of a whole bar.
    """

    at: Fraction
    value: Value
    struck: Struck = ()
    tied: tuple[bool, bool] = (False, False)
    whole_bar: bool = False


def _value(length: Fraction) -> Value | None:
    for full, name in _TYPES.items():
        for dots, factor in ((0, Fraction(1)), (1, Fraction(3, 2)), (2, Fraction(7, 4))):
            if length == full * factor:
                return Value(length, name, dots)
        if length == full * Fraction(2, 3):
            return Value(length, name, 0, True)
    return None


def note_values(length: Fraction) -> tuple[Value, ...]:
    """The signs, tied together, that show a length in quarter notes, longest first.

    A length no signs can show is given as one value without a type.
    """
    found: list[Value] = []
    rest = length
    while rest > 0:
        value = _value(rest)
        if value is None:
            fitting = [full for full in _TYPES if full <= rest]
            if not fitting:
                return (Value(length),)
            value = Value(fitting[0], _TYPES[fitting[0]])
        found.append(value)
        rest -= value.length
    return tuple(found)


def _middle(metre: Metre) -> Fraction | None:
    """The middle of a bar of two or four beats, else None."""
    return metre.quarters / 2 if metre.unit <= 4 and metre.quarters in (2, 4) else None


def _reach(at: Fraction, end: Fraction, metre: Metre, sounds: bool) -> Fraction:
    """How far the sign that begins at a place of a bar may go; both in quarter notes from the beginning of the bar."""
    felt = pulses(metre)
    beat = next((place for place in felt if place > at), metre.quarters)
    middle = _middle(metre)
    if at not in felt:
        syncopated = sounds and metre.unit <= 4 and end == at + 1 and beat - at == _HALF and beat != middle
        return end if syncopated else min(end, beat)
    if end <= beat:
        return end
    if not sounds:
        return at + 2 if middle == 2 and at in (0, 2) and end >= at + 2 else beat
    if metre.unit > 4:
        return max([place for place in felt if place <= end] or [end]) if end < metre.quarters else end
    if end.denominator % 3 == 0:
        return Fraction(end // 1)
    if middle is not None and at < middle < end:
        plain = (value := _value(end - at)) is not None and value.dots <= 1
        return end if plain and (at == 0 or (end in felt or end == metre.quarters)) else middle
    return end


def _cut(at: Fraction, end: Fraction, metre: Metre, sounds: bool) -> list[tuple[Fraction, Value]]:
    found = []
    while at < end:
        stop = _reach(at, end, metre, sounds)
        for value in note_values(stop - at):
            found.append((at, value))
            at += value.length
    return found


def bar_signs(groups: tuple[Struck, ...], start: Fraction, metre: Metre) -> list[WrittenSign]:
    """What a bar holds, in order: struck notes and rests.

    groups: all notes of the line, by what is struck together, in order. start: where the bar begins, in quarter notes.
    """
    found: list[WrittenSign] = []
    at, full = Fraction(0), metre.quarters
    for group in (*groups, ()):
        first = max(group[0].start - start, Fraction(0)) if group else full
        last = min(max(note.end for note in group) - start, full) if group else full
        if group and (last <= 0 or first >= full):
            continue
        if at == 0 and first == full:
            return [WrittenSign(at, Value(full), whole_bar=True)]
        found += [WrittenSign(place, value) for place, value in _cut(at, first, metre, False)]
        pieces = _cut(first, last, metre, True)
        for number, (place, value) in enumerate(pieces):
            before = number > 0 or group[0].start - start < 0
            after = number < len(pieces) - 1 or group[0].end - start > full
            found.append(WrittenSign(place, value, group, (before, after)))
        at = max(at, last)
    return found


def beams(signs: list[WrittenSign], metre: Metre) -> list[str]:
    """For each sign ``begin``, ``continue`` or ``end`` under one beam of eighths, else ``""``.

    Beams join half bars of a common metre and the felt beats of others; triplets a quarter (common practice).
    """
    felt = pulses(metre)
    common = metre.unit == 4 and metre.beats % 2 == 0
    groups: list[tuple[bool, int] | None] = []
    for sign in signs:
        if not sign.struck or sign.value.type != "eighth" or sign.value.dots:
            groups.append(None)
        elif sign.value.triplet or not common:
            groups.append((sign.value.triplet, sum(place <= sign.at for place in felt)))
        else:
            groups.append((False, int(sign.at // 2)))
    found = []
    for index, group in enumerate(groups):
        before = group is not None and index > 0 and groups[index - 1] == group
        after = group is not None and index + 1 < len(groups) and groups[index + 1] == group
        found.append("continue" if before and after else "end" if before else "begin" if after else "")
    return found


def signature_letters(key: Key | None) -> str:
    """The letters a key signature raises or lowers, in the order they are written; none without a key."""
    count = key.signature if key else 0
    return _SHARPS[: max(0, count)] or _SHARPS[::-1][: max(0, -count)]


class StandingSigns:
    """Which accidentals must be written in a bar: those that differ from the key and from what stood before."""

    def __init__(self, key: Key | None):
        by = 1 if key and key.signature > 0 else -1
        self._key = {LETTERS.index(letter): by for letter in signature_letters(key)}
        self._standing: dict[tuple[int, int], int] = {}

    def needed(self, pitch: Pitch) -> int | None:
        """The alteration to write before a note, 0 for a natural, or None where nothing is needed."""
        place = (pitch.note.step, pitch.octave)
        if self._standing.get(place, self._key.get(pitch.note.step, 0)) == pitch.note.alter:
            return None
        self._standing[place] = pitch.note.alter
        return pitch.note.alter
