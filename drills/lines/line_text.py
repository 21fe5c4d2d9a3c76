"""A line as tablature in characters, as lines to be spoken and as plain data.

Time is shown without a staff, by counts under the strings: ``1 & 2 &`` where a note is
struck, ``.`` where it is held, ``r`` where there is silence.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import gcd, lcm
from textwrap import wrap
from typing import Any

from drills.changes.changes import NO_CHORD, Bar
from drills.diagrams.grid import label_of
from drills.harmony.chord_timeline import bar_starts
from drills.lines.line import Line, LineNote

__all__ = [
    "PARTS_OF_A_BEAT",
    "Column",
    "bar_columns",
    "count_of",
    "line_json",
    "line_speech",
    "row_label",
    "tab_lines",
]

PARTS_OF_A_BEAT = {
    Fraction(1, 2): "&",
    Fraction(1, 4): "e",
    Fraction(3, 4): "a",
    Fraction(1, 3): "t",
    Fraction(2, 3): "l",
}
"""Counts inside a beat, as they are said (common practice): 1 e & a, 1 t l."""


def count_of(beat: Fraction) -> str:
    """How a place in a bar is counted: ``1``, ``&``, ``e``; ``+`` for what has no word."""
    part = beat - beat // 1
    return str(beat // 1) if part == 0 else PARTS_OF_A_BEAT.get(part, "+")


@dataclass(frozen=True, slots=True)
class Column:
    """One place of the grid of a bar.

    at: where it lies, in quarter notes from the beginning of the bar. count: what is counted there. chord: the symbol
    that begins there, or "". struck: the notes. opens_bar: whether a bar begins. on_beat: whether a beat begins.
    """

    at: Fraction
    count: str
    chord: str
    struck: tuple[LineNote, ...]
    opens_bar: bool
    on_beat: bool


def _step(places: list[Fraction], beat: Fraction) -> Fraction:
    """The coarsest grid all places and the beats lie on, in quarter notes."""
    below = lcm(beat.denominator, *(place.denominator for place in places))
    above = gcd(int(beat * below), *(int(place * below) for place in places))
    return Fraction(above, below)


def bar_columns(line: Line, bar: Bar, start: Fraction) -> list[Column]:
    """The places of a bar of a line, on the coarsest grid that holds its chords, notes and beats.

    Where that grid would be finer than a quarter of a beat, as where triplets and halves of beats meet, only the
    places at which something happens are kept: a page with a column for every twelfth of a beat cannot be read.
    start: where the bar begins, in quarter notes from the start of the changes.
    """
    beat = Fraction(4, bar.metre.unit)
    groups = [group for group in line.struck() if group[0].bar == bar.number]
    chords = {(slot.beat - 1) * beat: slot.text if slot.chord else NO_CHORD for slot in bar.chords}
    ends = [min(note.end - start, bar.metre.quarters) for group in groups for note in group]
    # A note held over the bar line ends here.
    ends += [note.end - start for note in line.notes if note.start < start < note.end < start + bar.metre.quarters]
    places = [*chords, *(group[0].start - start for group in groups), *ends, bar.metre.quarters]
    step = _step(places, beat)
    by_place = {group[0].start - start: group for group in groups}
    found = []
    sounding_until = max((note.end for note in line.notes if note.bar < bar.number), default=start) - start
    grid = [number * step for number in range(int(bar.metre.quarters / step))]
    if step < beat / 4:
        beats = [number * beat for number in range(int(bar.metre.quarters / beat))]
        grid = sorted({*beats, *(place for place in places if 0 <= place < bar.metre.quarters)})
    for place in grid:
        struck = by_place.get(place, ())
        if struck:
            sounding_until = max(note.end - start for note in struck)
            count = count_of(1 + place / beat)
        else:
            count = "." if place < sounding_until else "r"
        on_beat = (place / beat).denominator == 1
        found.append(Column(place, count, chords.get(place, ""), struck, not place, on_beat))
    return found


def row_label(struck: tuple[LineNote, ...], row: str) -> str:
    """What stands under a count: the fingers from the bass up, or the bass's degree or note (see `tab_lines`)."""
    if row == "fingers":
        return "".join(label_of(note, row) for note in struck)
    return label_of(struck[0], row)


def tab_lines(line: Line, *, width: int = 80, row: str = "fingers") -> list[str]:
    """The line as tablature, string 1 on top, never wider than `width` columns (40 or more).

    row: what stands under the counts: one of `drills.configuration.diagram_style.LABELS`, or ``""`` for nothing. One
    at a time, since a page with everything is hard to read. For notes struck together, the fingers of all from the
    bass up, or the bass's degree or note.
    A bar that is too wide is broken between two places of its grid.
    """
    columns = [
        column
        for bar, start in zip(line.changes.bars, bar_starts(line.changes)[:-1], strict=True)
        for column in bar_columns(line, bar, start)
    ]
    widths = _widths(columns, row)
    lines = [text for said in (line.title, *line.remarks) for text in wrap(said, width)]
    for first, last in _systems(columns, widths, max(20, width - 6)):
        done = last == len(columns) or columns[last].opens_bar
        lines += ["", *_system(line, columns[first:last], widths[first:last], row, done)]
    return [text.rstrip() for text in lines]


def _width(column: Column, row: str) -> int:
    shown = [str(note.fret) for note in column.struck] + [column.count]
    if row and column.struck:
        shown.append(row_label(column.struck, row))
    return max(map(len, shown)) + 1


def _widths(columns: list[Column], row: str) -> list[int]:
    """The width of each column, the last before a new chord widened so that symbols never run together."""
    widths = [_width(column, row) for column in columns]
    heads = [index for index, column in enumerate(columns) if column.chord] + [len(columns)]
    for first, after in pairwise(heads):
        spare = sum(widths[first:after]) - len(columns[first].chord) - 1
        widths[after - 1] += max(0, -spare)
    return widths


def _systems(columns: list[Column], widths: list[int], room: int) -> list[tuple[int, int]]:
    """Where each row of the page begins and ends: broken at bar lines, and a bar too wide before a beat."""
    found = []
    first = 0
    while first < len(columns):
        used, last = 0, first
        while last < len(columns) and used + widths[last] + columns[last].opens_bar <= room:
            used += widths[last] + columns[last].opens_bar
            last += 1
        last = max(last, first + 1)
        if last < len(columns) and not columns[last].opens_bar:
            bars = [place for place in range(first + 1, last) if columns[place].opens_bar]
            beats = [place for place in range(first + 1, last + 1) if columns[place].on_beat]
            last = max(bars or beats or [last])
        found.append((first, last))
        first = last
    return found


def _system(line: Line, columns: list[Column], widths: list[int], row: str, done: bool) -> list[str]:
    """One row of the page; a bar broken off begins with ``:``. done: whether it ends at a bar line."""
    strings = line.tuning.strings
    chords, counts, extra = "   ", "   ", "   "
    tab = [f"{string:>2} " for string in range(1, strings + 1)]
    for column, width in zip(columns, widths, strict=True):
        if column.opens_bar or len(counts) == 3:
            counts, extra = counts + " ", extra + " "
            tab = [text + ("|" if column.opens_bar else ":") for text in tab]
        if column.chord:
            chords = chords.ljust(len(counts)) + column.chord
        counts += column.count.ljust(width)
        label = row_label(column.struck, row) if row and column.struck else ""
        extra += label.ljust(width)
        frets = {note.string: str(note.fret) for note in column.struck}
        tab = [text + frets.get(string, "").ljust(width, "-") for string, text in enumerate(tab, 1)]
    tab = [text + "|" for text in tab] if done else tab
    return [chords, *tab, counts, *([extra] if row else [])]


_WHOLE = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}
_PARTS = {
    Fraction(1, 2): "a half", Fraction(1, 3): "a third", Fraction(2, 3): "two thirds", Fraction(1, 4): "a quarter",
    Fraction(3, 4): "three quarters", Fraction(1, 6): "a sixth", Fraction(5, 6): "five sixths",
}  # fmt: skip


def _held(beats: Fraction) -> str:
    """A length in words: ``half a beat``, ``five sixths of a beat``, ``two beats and a third``."""
    whole, part = beats // 1, beats % 1
    if beats == Fraction(1, 2):
        return "half a beat"
    if part and part not in _PARTS:
        return f"{float(beats):.3g} beats"
    if not whole:
        return f"{_PARTS[part]} of a beat"
    if not part:
        return "one beat" if whole == 1 else f"{_WHOLE.get(whole, whole)} beats"
    return f"{'a beat' if whole == 1 else f'{_WHOLE.get(whole, whole)} beats'} and {_PARTS[part]}"


def line_speech(line: Line) -> list[str]:
    """The line to be spoken: the title, then bar by bar, each note with place, name, finger and part in the chord."""
    lines = [f"{line.title}.", *(f"{remark}." for remark in line.remarks)]
    for bar in line.changes.bars:
        chords = ", ".join(slot.text if slot.chord else NO_CHORD for slot in bar.chords)
        lines.append(f"bar {bar.number}, {chords}:")
        notes = line.in_bar(bar.number)
        if not notes:
            lines.append("  silent.")
        for note in notes:
            beats = note.length * bar.metre.unit / 4
            finger = f"finger {note.finger}" if note.finger else "open"
            part = note.degree or note.role
            early = ", before its beat" if note.early else ""
            lines.append(
                f"  beat {_said(note.beat)}{early}: string {note.string} fret {note.fret}, {note.pitch.note.name}, "
                f"{part}, {finger}, {_held(beats)}."
            )
    return lines


def _said(beat: Fraction) -> str:
    whole, part = beat // 1, beat - beat // 1
    if part == 0:
        return str(whole)
    return f"{whole} and" if part == Fraction(1, 2) else f"{whole} and {part}"


def _number(value: Fraction) -> int | float:
    return int(value) if value.denominator == 1 else float(value)


def line_json(line: Line) -> dict[str, Any]:
    """The line as one JSON object; times in quarter notes, beats in beats of the metre."""
    return {
        "title": line.title,
        "kind": line.kind,
        "remarks": list(line.remarks),
        "tuning": line.tuning.id,
        "notes": [
            {
                "start": _number(note.start), "length": _number(note.length), "bar": note.bar,
                "beat": _number(note.beat), "string": note.string, "fret": note.fret, "finger": note.finger,
                "note": note.pitch.name, "midi": note.midi, "degree": note.degree, "role": note.role, "why": note.why,
                **({"early": _number(note.early)} if note.early else {}),
            }
            for note in line.notes
        ],
    }  # fmt: skip
