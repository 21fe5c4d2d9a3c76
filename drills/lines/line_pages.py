"""Lines as printed pages: a staff, and under it tablature with chord symbols above and counts below, as on screen."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

from drills.changes.changes import Bar, Metre
from drills.diagrams.clefs import clef_of
from drills.diagrams.picture import Drawn, Part, Picture, Stroke, Words, placed
from drills.diagrams.typesetting import lines_that_fit, printed, text_wide
from drills.harmony.chord_timeline import bar_starts
from drills.harmony.home_key import home_key
from drills.lines.line import Line
from drills.lines.line_text import Column, bar_columns, row_label
from drills.lines.staff_drawing import StaffBar, StaffDrawing, sign_room, staff_bar
from drills.lines.staff_opening import STAFF_GAP_PT, opening
from drills.theory.key import Key

__all__ = ["line_pages"]

_TITLE_PT, _NAME_PT, _CHORD_PT, _IDEA_PT, _FRET_PT, _SMALL_PT = 17.0, 12.5, 11.0, 10.0, 9.0, 8.0
"""Sizes of print in points; names are 12 points or more (drills/RULES.md, F1)."""
_STRING_PT, _COLUMN_PT = 9.5, 13.0
"""From string to string, and the least room of a place in a bar, in points."""
_MOST_STRETCH = 1.6
"""So many times its least width a row is stretched at most where all rows are short."""

_MOST_BARS = 4
_LEFT_PT, _GAP_PT = 14.0, 18.0
_PAD_PT = 4.0
"""Between a bar line and the first note, in points."""
_STAFF_TO_TAB_PT, _LETTER_PT = 7.0, 10.0
"""Between the lowest of the staff and the highest string, and the size of the letters at the head of tablature."""


@dataclass(frozen=True, slots=True)
class _Place:
    """A place of a bar: its column of tablature, and its room to the left and right of its middle, in points."""

    column: Column
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class _BarRoom:
    """A bar with the room its places need, in points at scale 1.

    opens: where a key or a metre begins with it, the key before, the key, and the metre or None.
    """

    bar: Bar
    places: tuple[_Place, ...]
    staff: StaffBar | None
    opens: tuple[Key | None, Key | None, Metre | None] | None

    @property
    def wide(self) -> float:
        return sum(place.left + place.right for place in self.places)


@dataclass(frozen=True, slots=True)
class _System:
    """Some bars in a row.

    first: whether it is the first of its line, where the metre is written.
    """

    bars: tuple[_BarRoom, ...]
    first: bool

    @property
    def wide(self) -> float:
        return sum(bar.wide for bar in self.bars)


class _Setter:
    """Sets one line. row, staff: as for `line_pages`."""

    def __init__(self, line: Line, row: str, staff: bool):
        self.line = line
        self.row = row
        self.clef = clef_of(line.tuning) if staff else ""
        self.home = home_key(line.changes)

    def systems(self, room: float) -> list[_System]:
        """The bars in rows of up to four, on `room` points."""
        found: list[_System] = []
        before: Bar | None = None
        starts = bar_starts(self.line.changes)
        for bar, start in zip(self.line.changes.bars, starts, strict=False):
            made = self._bar(bar, start, before)
            before = bar
            if found and len(found[-1].bars) < _MOST_BARS:
                longer = _System((*found[-1].bars, made), found[-1].first)
                if self.fixed(longer) + longer.wide <= room:
                    found[-1] = longer
                    continue
            found.append(_System((made,), not found))
        return found

    def _bar(self, bar: Bar, start: Fraction, before: Bar | None) -> _BarRoom:
        columns = bar_columns(self.line, bar, start)
        key = bar.key or self.home
        staff = staff_bar(self.line.struck(), bar, start, key) if self.clef else None
        room: dict[Fraction, tuple[float, float]] = {}
        for sign, altered in zip(staff.signs, staff.altered, strict=True) if staff else ():
            room[sign.at] = sign_room(sign, altered, self.clef)
        places = [_Place(column, *self._room(column, room.get(column.at, (0.0, 0.0)))) for column in columns]
        heads = [number for number, column in enumerate(columns) if column.chord] + [len(columns)]
        for first, after in zip(heads, heads[1:], strict=False):
            symbol = text_wide(printed(columns[first].chord), _CHORD_PT, bold=True) + 4
            short = symbol - sum(place.left + place.right for place in places[first:after])
            last = places[after - 1]
            places[after - 1] = _Place(last.column, last.left, last.right + max(0.0, short))
        opens = None
        if before is not None:
            was = before.key or self.home
            if was != key or before.metre != bar.metre:
                opens = (was, key, bar.metre if before.metre != bar.metre else None)
        return _BarRoom(bar, tuple(places), staff, opens)

    def _room(self, column: Column, sign: tuple[float, float]) -> tuple[float, float]:
        label = printed(row_label(column.struck, self.row)) if self.row and column.struck else ""
        frets = [text_wide(str(note.fret), _FRET_PT) for note in column.struck]
        needed = max([text_wide(label, _SMALL_PT, bold=self.row == "fingers"), *frets]) + 4
        least = max(_COLUMN_PT, needed)
        left = max(_COLUMN_PT / 2, sign[0])
        return left, max(least - _COLUMN_PT / 2, least / 2, sign[1])

    def opening(self, system: _System, number: int, x: float) -> tuple[list[Drawn], float]:
        """What stands on the staff before the notes of a bar of a row, and where it ends; nothing without a staff."""
        bar = system.bars[number]
        if not self.clef:
            return [], x
        key = bar.bar.key or self.home
        if number == 0:
            metre = bar.bar.metre if system.first or (bar.opens and bar.opens[2]) else None
            return opening(x, clef_name=self.clef, show_clef=True, key=key, metre=metre)
        if bar.opens is None:
            return [], x
        was, now, metre = bar.opens
        shown = now if was != now else None
        found = opening(
            x + _PAD_PT, clef_name=self.clef, show_clef=False, key=shown, cancelled=was if was != now else None,
            metre=metre,
        )  # fmt: skip
        return found if found[0] else ([], x)

    def fixed(self, system: _System) -> float:
        """The width of what does not stretch, in points."""
        return sum(self.opening(system, number, 0.0)[1] + _PAD_PT for number in range(len(system.bars)))

    def scales(self, systems: Sequence[_System], room: float) -> list[float]:
        """How far each row is stretched, so that all end at one edge.

        A last row of fewer bars than any above it has bars as wide as theirs, and ends before the edge.
        """
        spread = min(_MOST_STRETCH, min((room - self.fixed(system)) / system.wide for system in systems))
        full = max(self.fixed(system) + spread * system.wide for system in systems)
        edge = [(full - self.fixed(system)) / system.wide for system in systems]
        *above, last = systems
        if not above or len(last.bars) >= min(len(system.bars) for system in above):
            return edge
        bars = sum(len(system.bars) for system in above)
        bar = sum(full - self.fixed(system) for system in above) / bars
        return [*edge[:-1], min(edge[-1], max(1.0, bar * len(last.bars) / last.wide))]

    def drawn(self, system: _System, x: float, scale: float) -> tuple[list[Part], float, float]:
        """One row of bars with the highest string at y = 0; how high it reaches, and how low, in points."""
        strings = self.line.tuning.strings
        bottom = (strings - 1) * _STRING_PT
        left = x + _LEFT_PT
        right = left + self.fixed(system) + system.wide * scale
        parts: list[Part] = []
        for string in range(strings):
            at = string * _STRING_PT
            parts.append(Stroke(left, at, right, at, 0.5, 0.35))
            parts.append(Words(x, at + 2.6, str(string + 1), 7.0))
        staff = StaffDrawing(self.clef) if self.clef else None
        bar_lines = [left]
        chords: list[Words] = []
        place = left
        for number, bar in enumerate(system.bars):
            signs, place = self.opening(system, number, place)
            begin, place = place, place + _PAD_PT
            middles: list[tuple[Fraction, float]] = []
            for each in bar.places:
                middle = place + each.left * min(1.0, scale)
                middles.append((each.column.at, middle))
                if each.column.chord:
                    edge = middle - min(each.left, _COLUMN_PT / 2) * min(1.0, scale)
                    chords.append(Words(edge, 0.0, printed(each.column.chord), _CHORD_PT, bold=True))
                parts += self._frets(each.column, middle, bottom)
                place += (each.left + each.right) * scale
            middles.append((bar.bar.metre.quarters, place))
            bar_lines.append(place)
            if staff and bar.staff:
                staff.parts += signs
                centre = (begin + place) / 2
                staff.bar(bar.staff, partial(_between, tuple(middles)), centre, begin)
        high = -7.0
        if staff:
            staff.close(right)
            up = staff.bottom + _STAFF_TO_TAB_PT
            lines = [line * STAFF_GAP_PT - up for line in range(5)]
            parts += [Stroke(left, at, right, at, 0.6) for at in lines]
            parts += placed(staff.parts, 0.0, -up)
            parts += [Stroke(at, -up, at, 4 * STAFF_GAP_PT - up, 0.9) for at in bar_lines]
            parts.append(Stroke(left, -up, left, bottom, 0.9))
            middle = bottom / 2 + 0.36 * _LETTER_PT
            for number, letter in enumerate("TAB", -1):
                parts.append(Words(left + 5, middle + number * _LETTER_PT, letter, _LETTER_PT, bold=True))
            high = staff.top - up - 3.0
        parts += [Stroke(at, 0.0, at, bottom, 0.9) for at in bar_lines]
        parts += placed(chords, 0.0, high)
        return parts, high - _CHORD_PT, bottom + (22 if self.row else 12)

    def _frets(self, column: Column, middle: float, bottom: float) -> list[Part]:
        parts: list[Part] = []
        for note in column.struck:
            at = (note.string - 1) * _STRING_PT
            half = text_wide(str(note.fret), _FRET_PT) / 2 + 0.8
            # A white stroke over the string, so that it does not run through the number.
            parts.append(Stroke(middle - half, at, middle + half, at, 2.0, 1.0))
            parts.append(Words(middle, at + 3.2, str(note.fret), _FRET_PT, anchor="middle"))
        parts.append(Words(middle, bottom + 12, column.count, _SMALL_PT, anchor="middle"))
        if self.row and column.struck:
            label = printed(row_label(column.struck, self.row))
            parts.append(Words(middle, bottom + 22, label, _SMALL_PT, anchor="middle", bold=self.row == "fingers"))
        return parts


def _between(known: Sequence[tuple[Fraction, float]], at: Fraction) -> float:
    """Where a place of a bar lies across the page: in the middle of its column, or in proportion between two."""
    number = min(bisect_right([place for place, _ in known], at), len(known) - 1)
    (before, left), (after, right) = known[number - 1], known[number]
    return left + (right - left) * float((at - before) / (after - before))


def line_pages(
    lines: Sequence[Line], size: tuple[float, float], *, title: str, idea: str = "", row: str = "fingers",
    margin: float = 40.0, staff: bool = True,
) -> list[Picture]:  # fmt: skip
    """The lines on as many pages as they need, one after another.

    size: of the paper, in points. title, idea: at the head of the first page. row: what stands under the counts,
    as for `tab_lines`. margin: white around everything, in points. staff: whether a staff stands above the tablature.
    """
    wide, high = size
    room = wide - 2 * margin - _LEFT_PT
    pages: list[list[Part]] = []
    y = high

    def fresh() -> float:
        pages.append(
            [Words(margin, margin + _TITLE_PT, printed(title) + (", on" if pages else ""), _TITLE_PT, bold=True)]
        )
        at = margin + _TITLE_PT + 6
        if len(pages) == 1:
            for text in lines_that_fit(printed(idea), _IDEA_PT, room):
                at += 13
                pages[-1].append(Words(margin, at, text, _IDEA_PT))
        return at + 8

    for line in lines:
        setter = _Setter(line, row, staff)
        systems = setter.systems(room)
        scales = setter.scales(systems, room)
        said = [text for remark in line.remarks for text in lines_that_fit(remark, _SMALL_PT, room)]
        head = _NAME_PT + 6 + 10 * len(said)
        for number, system in enumerate(systems):
            parts, top, bottom = setter.drawn(system, margin, scales[number])
            if y + (head if not number else 0) + bottom - top + 4 > high - margin - 14:
                y = fresh()
            if not number:
                y += _NAME_PT + 6
                pages[-1].append(Words(margin, y, printed(line.title), _NAME_PT, bold=True))
                for text in said:
                    y += 10
                    pages[-1].append(Words(margin, y, text, _SMALL_PT))
            y += 4 - top
            pages[-1] += placed(parts, 0.0, y)
            y += bottom + 4 + _GAP_PT / 3
        y += _GAP_PT / 2
    if not pages:
        fresh()
    return [
        _finished(parts, number, len(pages), size, margin, title, lines, staff) for number, parts in enumerate(pages, 1)
    ]


def _finished(
    parts: list[Part], number: int, count: int, size: tuple[float, float], margin: float, title: str,
    lines: Sequence[Line], staff: bool,
) -> Picture:  # fmt: skip
    wide, high = size
    pitches = " ".join(pitch.name for pitch in lines[0].tuning.open) if lines else ""
    tuning = f"Tuning {pitches} · " if lines else ""
    foot = [
        Words(margin, high - margin, tuning + "a dot holds, r rests", _SMALL_PT),
        Words(wide - margin, high - margin, f"{number} of {count}", _SMALL_PT, anchor="end"),
    ]
    what = "Staff and tablature" if staff else "Tablature"
    about = f"{what}, page {number} of {count}: {', '.join(dict.fromkeys(line.title for line in lines))}."
    return Picture(wide, high, (*parts, *foot), printed(title), about)
