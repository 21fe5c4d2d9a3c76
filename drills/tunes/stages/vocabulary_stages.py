"""Stages of vocabulary over changes: each kind of figure on every chord, in time, by rule (drills/RULES.md, D6).

Enclosures, approaches and guide tones go from target to target: chord tones on the beats, each led into by its
figure. Passing notes, cells and arpeggios from the third to the ninth are the same row of tones on each chord, from
the root of its arpeggio. All of it is found on the neck by the search of nearest places.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from drills.harmony.chord_timeline import Span, Tones, click_quarters, tones_of
from drills.harmony.neck_layout import fingers_of, nearest_places
from drills.lines.line import CHROMATIC, Line
from drills.lines.note_reasons import chromatic_name, role_of
from drills.lines.vocabulary import above_in_mode, unit_figures
from drills.shapes.shape import Placement
from drills.theory.note import Note, pitch_of
from drills.tunes.stages.stage_material import StageMaterial, note_at

__all__ = ["VOCABULARY_LINES"]

_RANGE = 14
"""Semitones above the first root in which the targets go up and down: a ninth, as far as one place of the hand."""


@dataclass(frozen=True, slots=True)
class _Played:
    """A note before it has a place: the chord it is of, when, its MIDI key, and why it is there."""

    span: Span
    start: Fraction
    length: Fraction
    midi: int
    why: str


def _of_targets(title: str, word: str, parts: int, apart: int, told: Callable[[Tones], Sequence[int]]) -> Callable[
    [StageMaterial], tuple[Line, ...]
]:  # fmt: skip
    """The maker of a line from target to target.

    parts: notes a beat, one of them the target. apart: beats from one target to the next. told: pitch classes of a
    chord that are aimed at.
    """

    def line(given: StageMaterial) -> tuple[Line, ...]:
        goals: list[tuple[Span, Fraction, Fraction, int]] = []
        up, key = True, given.shapes[0].root.pitch.midi
        low, high = _compass(given)
        for span in given.spans:
            beat = click_quarters(span.bar.metre) * apart
            starts = [span.start + number * beat for number in range(-(-span.length // beat))]
            for start, end in zip(starts, [*starts[1:], span.end], strict=True):
                if goals or word == "guides":
                    key, up = _next_target(told(tones_of(span)), key, up, low, high)
                goals.append((span, start, end, key))
        played = []
        for number, (span, start, end, goal) in enumerate(goals):
            after = goals[number + 1] if number + 1 < len(goals) else None
            lead = _lead(word, tones_of(after[0]), goal, after[3], number) if after else ()
            step = click_quarters(span.bar.metre) / parts
            if end - start < step * (len(lead) + 1):
                lead = ()  # the chord is too short to be led out of
            held = end - start - step * len(lead)
            degree = tones_of(span).names[goal % 12][1]
            played.append(_Played(span, start, held, goal, f"{degree} of {span.slot.text}, on the beat"))
            for place, lead_key in enumerate(lead):
                at = start + held + place * step
                if after is None:
                    break
                side = "below" if lead_key < after[3] else "above"
                why = f"from {side} into the {tones_of(after[0]).names[after[3] % 12][1]} of {after[0].slot.text}"
                played.append(_Played(span, at, step, lead_key, why))
        return (_laid(given, title, word, played),)

    return line


def _lead(word: str, tones: Tones, before: int, goal: int, number: int) -> tuple[int, ...]:
    """The notes that lead to a target: an enclosure, or one note from below and from above in turns."""
    above = above_in_mode(tones, goal)
    if word == "enclosures":
        # Neither note is the one just played.
        return (above if above != before else goal + 1, goal - 1)
    below = (goal - 1,) if goal - 1 != before else (above,)
    return ((above,) if above != before else below) if number % 2 else below


def _next_target(classes: Sequence[int], last: int, up: bool, low: int, high: int) -> tuple[int, bool]:
    """The nearest target on in the direction, or back where the range ends; never the same key again."""
    for way in (up, not up):
        keys = [key for key in range(low, high + 1) if key % 12 in classes and key != last and (key > last) == way]
        if keys:
            return min(keys, key=lambda key: abs(key - last)), way
    keys = [key for key in range(low, high + 1) if key % 12 in classes]
    return min(keys, key=lambda key: abs(key - last)), up


def _compass(given: StageMaterial) -> tuple[int, int]:
    """Lowest and highest target: about a ninth from the first root, inside what the strings hold."""
    neck = given.neck
    strings = given.on.numbers if given.on else range(1, neck.tuning.strings + 1)
    lowest = min(neck.sounding.midi(string, 1) for string in strings) + 2
    highest = max(neck.sounding.midi(string, neck.highest) for string in strings) - 3
    low = max(lowest, given.shapes[0].root.pitch.midi - 2)
    return low, min(highest, low + _RANGE)


def _of_rows(title: str, word: str, row: Callable[[Tones, int], Sequence[int]]) -> Callable[
    [StageMaterial], tuple[Line, ...]
]:  # fmt: skip
    """The maker of a line that plays a row of keys in eighths on each chord, again for every four beats of it.

    row: from a chord and the key of its root to eight keys.
    """

    def line(given: StageMaterial) -> tuple[Line, ...]:
        played = []
        for span, shape in zip(given.spans, given.shapes, strict=True):
            tones = tones_of(span)
            keys = row(tones, shape.root.pitch.midi)
            step = Fraction(1, 2)
            count = int(-(-span.length // step))
            for place in range(count):
                key = keys[place % len(keys)]
                if place + 1 == count and role_of(tones, key) == CHROMATIC:
                    key = keys[(place + 1) % len(keys)]  # its goal would come too late
                name = tones.names.get(key % 12)
                part = f"{name[1]} of {span.slot.text}" if name else f"passes between tones of {span.slot.text}"
                length = min(step, span.length - place * step)
                played.append(_Played(span, span.start + place * step, length, key, part))
        return (_laid(given, title, word, played),)

    return line


def _passing_row(tones: Tones, root: int) -> Sequence[int]:
    """Up the arpeggio, and from the root down with the note that puts chord tones on the beats.

    Where the seventh lies a semitone under the root there is no such note, and none is played.
    """
    up = sorted(root + (pitch_class - root) % 12 for pitch_class in tones.chord_tones)[:4]
    top = root + 12
    figure = next((each for each in unit_figures("passing", tones, root) if each[0] == top), None)
    down = sorted(
        (key for key in range(root, top) if key % 12 in tones.mode_notes | set(tones.chord_tones)), reverse=True
    )
    if figure is not None:
        tail = [top, top - 1, top - 2, next((key for key in down if key < top - 2), root)]
    else:
        tail = [top, *down[:3]]
    while len(up) < 4:  # a triad goes up and back to its third
        up.append(up[1])
    return [*up, *tail]


def _cells_row(tones: Tones, root: int) -> Sequence[int]:
    return [key for figure in unit_figures("cells", tones, root) for key in figure]


def _ninths_row(tones: Tones, root: int) -> Sequence[int]:
    third, fifth, seventh, ninth = next(unit_figures("ninths", tones, root))
    return (third, fifth, seventh, ninth, root + 12, seventh, fifth, third)


def _laid(given: StageMaterial, title: str, word: str, played: list[_Played]) -> Line:
    """The notes with their places on the neck, their fingers and their names."""
    neck, first = given.neck, given.shapes[0].root
    strings = given.on.numbers if given.on else None
    keys = [each.midi for each in played]
    start = [(first.string, first.fret)] if keys and keys[0] == first.pitch.midi else []
    places = nearest_places(neck, keys, start, strings)
    fingers = fingers_of(neck, places)
    notes = []
    for number, (each, (string, fret), finger) in enumerate(zip(played, places, fingers, strict=True)):
        tones = tones_of(each.span)
        role = role_of(tones, each.midi)
        name, degree = _named(tones, each.midi, played, number)
        place = Placement(string, fret, pitch_of(name, each.midi), degree, finger)
        notes.append(note_at(each.span, each.start, each.length, place, each.why, role))
    return given.line(title, notes, word)


def _named(tones: Tones, key: int, played: list[_Played], number: int) -> tuple[Note, str]:
    """The note's name and degree in its chord; a chromatic note is named by where it goes and has no degree."""
    if role_of(tones, key) != CHROMATIC:
        return tones.names[key % 12]
    goal = played[number + 1]
    while role_of(tones_of(goal.span), goal.midi) == CHROMATIC:
        number += 1
        goal = played[number + 1]
    return chromatic_name(key, tones_of(goal.span).names[goal.midi % 12][0]), ""


VOCABULARY_LINES: dict[str, Callable[[StageMaterial], tuple[Line, ...]]] = {
    "enclosures": _of_targets("Enclosures", "enclosures", 3, 1, lambda tones: tones.chord_tones),
    "approaches": _of_targets("Approaches from both sides", "approaches", 2, 1, lambda tones: tones.chord_tones),
    "guides": _of_targets("Guide tones, each approached", "guides", 2, 2, lambda tones: tones.guide_tones),
    "passing": _of_rows("Passing notes", "passing", _passing_row),
    "cells": _of_rows("Cells of four notes", "cells", _cells_row),
    "ninths": _of_rows("From the third to the ninth", "ninths", _ninths_row),
}
"""What makes the lines of each kind of figure, by its word."""
