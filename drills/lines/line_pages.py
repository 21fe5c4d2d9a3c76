"""Lines as printed pages: tablature with chord symbols above and counts below, exactly as on screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drills.diagrams.picture import Part, Picture, Stroke, Words
from drills.diagrams.typesetting import lines_that_fit, printed, text_wide
from drills.harmony.chord_timeline import bar_starts
from drills.lines.line import Line
from drills.lines.line_text import Column, bar_columns, row_label

__all__ = ["line_pages"]

_TITLE_PT, _NAME_PT, _CHORD_PT, _IDEA_PT, _FRET_PT, _SMALL_PT = 17.0, 12.5, 11.0, 10.0, 9.0, 8.0
"""Sizes of print in points; names are 12 points or more (drills/RULES.md, F1)."""
_STRING_PT, _COLUMN_PT = 9.5, 13.0
"""From string to string, and the least room of a place in a bar, in points."""
_MOST_BARS = 4
_LEFT_PT, _GAP_PT = 14.0, 18.0
_PAD_PT = 4.0
"""Between a bar line and the first note, in points."""


@dataclass(frozen=True, slots=True)
class _System:
    """Some bars in a row, each with its columns and their widths in points at scale 1."""

    bars: tuple[tuple[Column, ...], ...]
    widths: tuple[tuple[float, ...], ...]

    @property
    def wide(self) -> float:
        return sum(map(sum, self.widths)) + _PAD_PT * len(self.bars)


def _widths(columns: Sequence[Column], row: str) -> tuple[float, ...]:
    """Room for each place of a bar: its frets, its labels, and the chord symbols over them."""
    found = []
    for column in columns:
        label = printed(row_label(column.struck, row)) if row and column.struck else ""
        frets = [text_wide(str(note.fret), _FRET_PT) for note in column.struck]
        needed = max([text_wide(label, _SMALL_PT, bold=row == "fingers"), *frets])
        found.append(max(_COLUMN_PT, needed + 4))
    heads = [place for place, column in enumerate(columns) if column.chord] + [len(columns)]
    for first, after in zip(heads, heads[1:], strict=False):
        symbol = text_wide(printed(columns[first].chord), _CHORD_PT, bold=True) + 4
        found[after - 1] += max(0.0, symbol - sum(found[first:after]))
    return tuple(found)


def _systems(line: Line, row: str, room: float) -> list[_System]:
    """The bars in rows of up to four."""
    starts = bar_starts(line.changes)
    bars = [tuple(bar_columns(line, bar, start)) for bar, start in zip(line.changes.bars, starts, strict=False)]
    found: list[_System] = []
    for columns in bars:
        widths = _widths(columns, row)
        last = found[-1] if found else None
        if last and len(last.bars) < _MOST_BARS and last.wide + _PAD_PT + sum(widths) <= room:
            found[-1] = _System((*last.bars, columns), (*last.widths, widths))
        else:
            found.append(_System((columns,), (widths,)))
    return found


def _drawn(system: _System, line: Line, row: str, x: float, y: float, scale: float) -> list[Part]:
    """One row of bars; y is the baseline of its chord symbols."""
    strings = line.tuning.strings
    top = y + 7
    bottom = top + (strings - 1) * _STRING_PT
    left = x + _LEFT_PT
    right = left + system.wide * scale
    parts: list[Part] = []
    for string in range(strings):
        at = top + string * _STRING_PT
        parts.append(Stroke(left, at, right, at, 0.5, 0.35))
        parts.append(Words(x, at + 2.6, str(string + 1), 7.0))
    place = left
    parts.append(Stroke(left, top, left, bottom, 0.9))
    for columns, widths in zip(system.bars, system.widths, strict=True):
        place += _PAD_PT * scale
        for column, wide in zip(columns, widths, strict=True):
            middle = place + _COLUMN_PT / 2 * min(1.0, scale)
            if column.chord:
                parts.append(Words(place, y, printed(column.chord), _CHORD_PT, bold=True))
            for note in column.struck:
                at = top + (note.string - 1) * _STRING_PT
                half = text_wide(str(note.fret), _FRET_PT) / 2 + 0.8
                # A white stroke over the string, so that it does not run through the number.
                parts.append(Stroke(middle - half, at, middle + half, at, 2.0, 1.0))
                parts.append(Words(middle, at + 3.2, str(note.fret), _FRET_PT, anchor="middle"))
            parts.append(Words(middle, bottom + 12, column.count, _SMALL_PT, anchor="middle"))
            if row and column.struck:
                label = printed(row_label(column.struck, row))
                parts.append(Words(middle, bottom + 22, label, _SMALL_PT, anchor="middle", bold=row == "fingers"))
            place += wide * scale
        parts.append(Stroke(place, top, place, bottom, 0.9))
    return parts


def line_pages(
    lines: Sequence[Line], size: tuple[float, float], *, title: str, idea: str = "", row: str = "fingers",
    margin: float = 40.0,
) -> list[Picture]:  # fmt: skip
    """The lines on as many pages as they need, one after another.

    size: of the paper, in points. title, idea: at the head of the first page. row: what stands under the counts,
    as for `tab_lines`. margin: white around everything, in points.
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
        tall = 7 + (line.tuning.strings - 1) * _STRING_PT + (26 if row else 14)
        systems = _systems(line, row, room)
        spread = min(1.6, min(room / system.wide for system in systems))
        full = spread * max(system.wide for system in systems)
        said = [text for remark in line.remarks for text in lines_that_fit(remark, _SMALL_PT, room)]
        head = _NAME_PT + 6 + 10 * len(said)
        for number, system in enumerate(systems):
            above = (head if not number else 0) + _CHORD_PT + 4
            if y + above + tall > high - margin - 14:
                y = fresh()
            if not number:
                y += _NAME_PT + 6
                pages[-1].append(Words(margin, y, printed(line.title), _NAME_PT, bold=True))
                for text in said:
                    y += 10
                    pages[-1].append(Words(margin, y, text, _SMALL_PT))
            y += _CHORD_PT + 4
            # Rows of as many bars as the widest end where it ends.
            whole = len(system.bars) == max(len(other.bars) for other in systems)
            pages[-1] += _drawn(system, line, row, margin, y, full / system.wide if whole else spread)
            y += tall + _GAP_PT / 3
        y += _GAP_PT / 2
    if not pages:
        fresh()
    return [_finished(parts, number, len(pages), size, margin, title, lines) for number, parts in enumerate(pages, 1)]


def _finished(
    parts: list[Part], number: int, count: int, size: tuple[float, float], margin: float, title: str,
    lines: Sequence[Line],
) -> Picture:  # fmt: skip
    wide, high = size
    pitches = " ".join(pitch.name for pitch in lines[0].tuning.open) if lines else ""
    tuning = f"Tuning {pitches} · " if lines else ""
    foot = [
        Words(margin, high - margin, tuning + "a dot holds, r rests", _SMALL_PT),
        Words(wide - margin, high - margin, f"{number} of {count}", _SMALL_PT, anchor="end"),
    ]
    about = f"Tablature, page {number} of {count}: {', '.join(dict.fromkeys(line.title for line in lines))}."
    return Picture(wide, high, (*parts, *foot), printed(title), about)
