"""Lays sheets out as pages: panels in rows at one scale, as large as the paper allows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from drills.diagrams.grid import Grid
from drills.diagrams.grid_picture import grid_picture, length_of_frets
from drills.diagrams.picture import Group, Part, Picture, Rect, Stroke, Words, placed
from drills.diagrams.typesetting import lines_that_fit, printed, size_that_fits, text_wide
from drills.paper.page_style import Footer, PageStyle
from drills.paper.sheet import Panel, Sheet

__all__ = ["FROM_MEMORY", "numbered_pages", "sheet_pages"]

_TITLE_PT, _IDEA_PT, _NAME_PT, _WHERE_PT, _NOTES_PT, _TICK_PT, _FOOT_PT = 17.0, 10.0, 12.5, 9.0, 9.5, 7.5, 8.0
"""Sizes of print in points; names are 12 points or more (drills/RULES.md, F1)."""

FROM_MEMORY = "From memory: find the root, write the first fret, fill in the rest."
"""What a blank asks for."""

_LEAST_PT = 7.5
"""Print under this size is not read by everyone (common practice)."""

_LEAST_SCALE, _MOST_SCALE = 0.7, 1.7
_MOST_COLUMNS, _MOST_COMPACT_COLUMNS = 4, 6
_LEAST_COMPACT = 0.5
_LARGE_SCALE = 1.12
_MOST_LONG = {"neck": 2.0, "box": 1.6}
"""How far frets are drawn out to fill their column or row: a real fret is about 3.5 times as long as strings are apart
at the nut and half of that at fret 12, a natural one of a drawing 1.8 times (computed from a scale of 648 mm)."""

_MOST_APART = 1.2
"""How far rows move apart to fill a page, where lines for a pen fill the rest: a row's height is 1."""

_PEN_LINE_PT, _FEWEST_PEN_LINES = 22.0, 3
_GAP_PT, _PHONE_GAP_PT = 10.0, 4.0
_FIELD_PT = 9.0
_FIELDS = (("Name", 0.52), ("Date", 0.28), ("Tempo ♩ =", 0.2))
"""What a student fills in, and the share of the page's width for each."""

_NEXT_WEEK = "For next week"

_TICKS = ("slow", "in time", "in a tune")
_TICK_ROOM_EM, _TICK_ROOM_PT = 1.2, 9.0
"""What a box to date takes beside its words: in sizes of its print, and in points."""


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where a panel goes: its upper left corner, how wide it may be, and the scale of its drawing."""

    x: float
    y: float
    room: float
    scale: float


@dataclass(frozen=True, slots=True)
class _Measure:
    """What one sheet's panels need, in points, at scale 1 of the drawing."""

    drawn_wide: float
    drawn_high: float
    head: float
    foot: float


@dataclass(frozen=True, slots=True)
class _Filled:
    """A sheet in so many columns: rows a page, pages, the scale, and the drawings with what they need."""

    columns: int
    each: int
    pages: int
    scale: float
    pictures: dict[int, Picture]
    measure: _Measure

    @property
    def panel_pt2(self) -> float:
        """The area of a drawing, in square points."""
        return self.scale**2 * self.measure.drawn_wide * self.measure.drawn_high


def _ways(sheet: Sheet, usual: int, plain: bool) -> list[int]:
    """Numbers of columns a sheet may have, the usual one first: a row is broken only where it means nothing."""
    if sheet.compact and not plain:
        # Upright boxes are narrow: two whole rows of an overview stand side by side.
        return [usual, 2 * usual] if 2 * usual <= _MOST_COMPACT_COLUMNS and len(sheet.panels) > usual else [usual]
    if plain or sheet.together > 1:
        return [usual]
    if sheet.flowing:
        return [usual, *(columns for columns in range(1, _MOST_COLUMNS + 1) if columns != usual)]
    return [usual, *([2 * usual] if 2 * usual <= _MOST_COLUMNS and len(sheet.panels) > usual else [])]


def _filled(
    sheet: Sheet, style: PageStyle, grids: Sequence[Grid], columns: int, room_wide: float, room_high: float, plain: bool
) -> _Filled:
    """A sheet fitted into so many columns, its frets drawn out as far as there is room for it."""
    pictures = _pictures(sheet, style, grids)
    measure = _measure(sheet, style, pictures.values())
    rows = -(-len(sheet.panels) // columns)
    block = sheet.together if columns == 1 else 1
    wide = room_wide / columns - (_PHONE_GAP_PT if style.on_phone else _GAP_PT)
    each, scale = _fit(rows, block, measure, room_high, wide, sheet.compact, plain)
    high = room_high / each - measure.head - measure.foot
    pictures = _pictures(sheet, style, grids, _long(sheet, style, grids, pictures, wide / scale, high / scale))
    return _Filled(columns, each, -(-rows // each), scale, pictures, _measure(sheet, style, pictures.values()))


def sheet_pages(sheet: Sheet, style: PageStyle, footer: Footer, blank: bool = False) -> list[Picture]:
    """A sheet as one page or as many as it needs, all panels at one scale.

    blank: the same page with nothing in the diagrams, to be filled in from memory.
    """
    plain = style.large or style.on_phone
    if sheet.compact:  # on its one full page larger words would only make the drawings smaller
        style = replace(style, large=False)
    k = style.print_scale
    wide, high = style.size
    note = _note_lines(sheet, style)
    top = style.margin + _fields_high(sheet, style) + k * (_TITLE_PT + (_IDEA_PT + 8 if sheet.idea else 4)) + 6
    top += len(note) * k * _IDEA_PT * 1.3
    foot = _foot(sheet, style, footer)
    room_high = high - style.margin - foot - top
    room_wide = wide - 2 * style.margin
    grids = _grids(sheet, style, blank)
    drawn = _pictures(sheet, style, grids)
    usual = _columns(sheet, style, room_wide, _measure(sheet, style, drawn.values()).drawn_wide)
    fits = [
        _filled(sheet, style, grids, columns, room_wide, room_high, plain)
        for columns in _ways(sheet, usual, style.on_phone if sheet.compact else plain)
    ]
    # The usual number of columns stands first: another is taken for larger diagrams, not at the price of a page.
    if sheet.compact:
        # An overview is one page where that can be read.
        fits = [fits[0], *(fit for fit in fits[1:] if fit.scale >= _LEAST_COMPACT)]
        fits.sort(key=lambda fit: fit.pages)
    some = [fit for fit in fits if fit.pages <= fits[0].pages]
    chosen = max(some, key=lambda fit: fit.scale if sheet.compact else fit.panel_pt2)
    columns, each, scale, pictures, measure = chosen.columns, chosen.each, chosen.scale, chosen.pictures, chosen.measure
    rows = [sheet.panels[start : start + columns] for start in range(0, len(sheet.panels), columns)]
    pages = []
    row_high = _row_high(sheet, style, measure.head + scale * measure.drawn_high + measure.foot, room_high, each)
    for start in range(0, len(rows), each):
        parts: list[Part] = _title(sheet, style, blank, start > 0)
        for index, row in enumerate(rows[start : start + each]):
            for column, panel in enumerate(row):
                if panel is None:
                    continue
                x = style.margin + column * room_wide / columns
                spot = _Spot(x, top + index * row_high, room_wide / columns, scale)
                parts.append(_drawn(panel, pictures[id(panel)], spot, measure, sheet, style, blank))
        end = top + row_high * len(rows[start : start + each])
        if not sheet.compact and not style.on_phone:
            parts += _pen_lines(end, high - style.margin - foot, style)
        parts += _foot_parts(sheet, style, footer)
        about = " ".join(f"{printed(p.name)} {p.where}." for row in rows[start : start + each] for p in row if p)
        title = printed(sheet.title) + (", blank" if blank else "")
        pages.append(Picture(wide, high, tuple(parts), title, about))
    return pages


def _grids(sheet: Sheet, style: PageStyle, blank: bool) -> list[Grid]:
    """What is drawn of each panel; blanks are equally long, or the longer one would tell of an open string."""
    grids = [panel.grid(style, blank) for panel in sheet.drawn]
    if not blank:
        return grids
    frets = max(len(grid.frets) for grid in grids)
    return [grid if grid.numbered else replace(grid, last_fret=grid.first_fret + frets - 1) for grid in grids]


def _pictures(sheet: Sheet, style: PageStyle, grids: Sequence[Grid], long: float = 1.0) -> dict[int, Picture]:
    """Each panel drawn, by its identity. long: as for `grid_picture`; a map of the whole neck is long by itself."""
    return {
        id(panel): grid_picture(grid, _orientation(panel, style), 1.0 if panel.whole_neck else long)
        for panel, grid in zip(sheet.drawn, grids, strict=True)
    }


def _long(
    sheet: Sheet, style: PageStyle, grids: Sequence[Grid], pictures: Mapping[int, Picture], wide: float, high: float
) -> float:
    """How far frets are drawn out, the same on a whole sheet. wide, high: room for a drawing at scale 1, in points."""
    found = []
    for panel, grid in zip(sheet.drawn, grids, strict=True):
        if not panel.whole_neck:
            way, picture = _orientation(panel, style), pictures[id(panel)]
            room = wide - picture.wide if way == "neck" else high - picture.high
            found.append(min(_MOST_LONG[way], 1 + room / length_of_frets(grid, way)))
    return max(1.0, min(found, default=1.0))


def _row_high(sheet: Sheet, style: PageStyle, needed: float, room_high: float, rows: int) -> float:
    """The height of a row: what is left of a page goes between its rows, or to the pen when there is enough of it."""
    if style.on_phone:
        return needed
    over = room_high - rows * needed
    pen = 0.0 if sheet.compact else _PEN_LINE_PT * (_FEWEST_PEN_LINES + 2)
    return min(needed * _MOST_APART, needed + (over - pen if over > pen else over) / rows)


def _orientation(panel: Panel, style: PageStyle) -> str:
    if style.on_phone:
        return "box"
    # A whole neck upright would be a hand's breadth wide and a page high.
    return "neck" if panel.whole_neck else style.orientation


def _columns(sheet: Sheet, style: PageStyle, room: float, drawn_wide: float) -> int:
    """Panels in a row: large print and a phone take fewer, and keep what belongs together in one row or one column."""
    roomy = (room / sheet.columns - _GAP_PT) / drawn_wide >= _LARGE_SCALE
    if not (style.large or style.on_phone) or sheet.compact or roomy:
        return sheet.columns
    return 1 if sheet.together == sheet.columns else min(2, sheet.columns)


def _measure(sheet: Sheet, style: PageStyle, pictures: Iterable[Picture]) -> _Measure:
    k = style.print_scale
    drawn = list(pictures)
    maps = all(panel.whole_neck for panel in sheet.drawn)
    head = k * (_NAME_PT + 5) if sheet.compact else k * (_NAME_PT + 7 + (0 if maps else _WHERE_PT + 2))
    notes = 0 if sheet.compact or maps or style.labels == "notes" else k * (_NOTES_PT + 4)
    ticks = 0 if sheet.compact else k * (_TICK_PT + 6)
    # The blank keeps the room of the notes, so that front and back of a leaf agree.
    foot = notes + ticks + (8 if sheet.compact else 16)
    return _Measure(max(p.wide for p in drawn), max(p.high for p in drawn), head, foot)


def _fit(
    rows: int, block: int, measure: _Measure, room_high: float, room_wide: float, compact: bool, large: bool
) -> tuple[int, float]:
    """Rows a page and the scale: as few pages as a readable scale allows, then as large as fits.

    rows: 1 or more. block: rows that stay on one page, even if they must be smaller.
    """
    most = min(_MOST_SCALE * (1.5 if large else 1), room_wide / measure.drawn_wide)
    least = min(_LEAST_COMPACT if compact else _LARGE_SCALE if large else _LEAST_SCALE, most)
    pages = 1
    while True:
        each = -(-rows // pages)
        each = -(-each // block) * block
        scale = min(most, (room_high / each - measure.head - measure.foot) / measure.drawn_high)
        if scale >= least or each <= block:
            return each, max(scale, 0.3)
        pages += 1


def _title(sheet: Sheet, style: PageStyle, blank: bool, continued: bool) -> list[Part]:
    k = style.print_scale
    title = printed(sheet.title) + (" (continued)" if continued else "")
    room = style.size[0] - 2 * style.margin
    size = size_that_fits(title, k * _TITLE_PT, room, bold=True)
    y = style.margin + _fields_high(sheet, style) + k * _TITLE_PT
    parts: list[Part] = [Words(style.margin, y, title, size, bold=True)]
    if _fields_high(sheet, style) and not continued:
        parts += _fields(style)
    if sheet.idea:
        idea = printed(FROM_MEMORY if blank else sheet.idea)
        size = size_that_fits(idea, k * _IDEA_PT, room)
        parts.append(Words(style.margin, y + k * (_IDEA_PT + 6), idea, size))
        y += k * (_IDEA_PT + 6)
    for line in _note_lines(sheet, style):
        y += k * _IDEA_PT * 1.3
        parts.append(Words(style.margin, y, line, k * _IDEA_PT))
    return parts


def _note_lines(sheet: Sheet, style: PageStyle) -> list[str]:
    if not sheet.note:
        return []
    return lines_that_fit(sheet.note, style.print_scale * _IDEA_PT, style.size[0] - 2 * style.margin)


def _fields_high(sheet: Sheet, style: PageStyle) -> float:
    """Room for what a student writes at the head of a page; a screen has none to write on."""
    return style.print_scale * (_FIELD_PT + 9) if sheet.fields and not style.on_phone else 0.0


def _fields(style: PageStyle) -> list[Part]:
    """Lines for name, date and tempo across the head of a page."""
    size = style.print_scale * _FIELD_PT
    y, x = style.margin + size, style.margin
    wide = style.size[0] - 2 * style.margin
    parts: list[Part] = []
    for label, share in _FIELDS:
        end = x + share * wide
        parts.append(Words(x, y, label, size))
        parts.append(Stroke(x + text_wide(label, size) + 4, y + 2, end - 10, y + 2, 0.5, 0.3))
        x = end
    return parts


def _drawn(
    panel: Panel, picture: Picture, spot: _Spot, measure: _Measure, sheet: Sheet, style: PageStyle, blank: bool
) -> Group:
    k, x, y, scale, room = style.print_scale, spot.x, spot.y, spot.scale, spot.room
    name, where = printed(panel.name), printed(panel.where)
    position = "" if blank or not panel.position else panel.position
    parts: list[Part] = []
    if sheet.compact:
        size = k * _NAME_PT
        parts.append(Words(x, y + size, name, size, bold=True))
        after = min(8.0, max(4.0, room - text_wide(name, size, bold=True) - text_wide(where, k * _WHERE_PT) - 6))
        right = text_wide(name, size, bold=True) + after
        small = size_that_fits(where, k * _WHERE_PT, max(0.0, room - right - 6))
        parts.append(Words(x + right, y + size, where, max(_LEAST_PT, small)))
    else:
        size = size_that_fits(name, k * _NAME_PT, room - 6, bold=True)
        parts.append(Words(x, y + k * _NAME_PT, name, size, bold=True))
        line = f"{where}, {position}" if where and position else where or position
        if text_wide(line, _LEAST_PT) > room - 6:
            line = where  # the frets are numbered: the position can be spared
        if line:
            small = size_that_fits(line, k * _WHERE_PT, room - 6)
            parts.append(Words(x, y + k * (_NAME_PT + _WHERE_PT + 3), line, small))
    parts += placed(picture.parts, x - 4, y + measure.head, scale)
    below = y + measure.head + scale * picture.high + 2
    if not sheet.compact:
        if panel.note_names and style.labels != "notes":
            if not blank:
                size = size_that_fits(panel.note_names, k * _NOTES_PT, room - 20)
                parts.append(Words(x + 8, below + k * _NOTES_PT, panel.note_names, size))
            below += k * (_NOTES_PT + 4)
        parts += _ticks(x + 8, below + 2, k, room)
    return Group(f"{name} {where}".strip(), "" if blank else panel.spoken, tuple(parts))


def _ticks(x: float, y: float, k: float, room: float) -> list[Part]:
    """Little boxes to date: slow, in time, in a tune."""
    ems = sum(text_wide(label, 1.0) + _TICK_ROOM_EM for label in _TICKS)
    size = min(k * _TICK_PT, (room - 8 - _TICK_ROOM_PT * len(_TICKS)) / ems)
    parts: list[Part] = []
    for label in _TICKS:
        parts.append(Rect(x, y, size, size, False, 0.6))
        parts.append(Words(x + size + 3, y + size * 0.9, label, size))
        x += text_wide(label, size) + size * _TICK_ROOM_EM + _TICK_ROOM_PT
    return parts


def _pen_lines(top: float, bottom: float, style: PageStyle) -> list[Part]:
    """Faint lines for a teacher's pen down to the foot, under a heading, where the page has room left for some."""
    count = int((bottom - 4 - top - 26) // _PEN_LINE_PT) + 1
    if count < _FEWEST_PEN_LINES:
        return []
    lines: list[Part] = [Words(style.margin, top + 14, _NEXT_WEEK, _IDEA_PT * style.print_scale, bold=True)]
    for number in range(1, count):
        y = top + 26 + number * _PEN_LINE_PT
        lines.append(Stroke(style.margin, y, style.size[0] - style.margin, y, 0.5, 0.5))
    return lines


def _left_out(sheet: Sheet, style: PageStyle) -> list[str]:
    if not sheet.left_out:
        return []
    room = style.size[0] - 2 * style.margin
    return lines_that_fit("Left out: " + "; ".join(map(printed, sheet.left_out)) + ".", _FOOT_PT, room)


def _footer_lines(style: PageStyle, footer: Footer) -> list[str]:
    # At the right is room for the number of the page.
    room = style.size[0] - 2 * style.margin - text_wide("page 100 of 100 ", _FOOT_PT * style.print_scale)
    return lines_that_fit(footer.text, _FOOT_PT * style.print_scale, room)


def numbered_pages(pages: Sequence[Picture], style: PageStyle) -> list[Picture]:
    """The pages with their numbers at the foot, where there are several."""
    if len(pages) < 2:
        return list(pages)
    size, (wide, high) = _FOOT_PT * style.print_scale, style.size
    return [
        replace(
            page,
            parts=(
                *page.parts,
                Words(wide - style.margin, high - style.margin - 2, f"page {number} of {len(pages)}", size, "end"),
            ),
        )
        for number, page in enumerate(pages, 1)
    ]


def _foot(sheet: Sheet, style: PageStyle, footer: Footer) -> float:
    lines = len(_left_out(sheet, style)) * (_FOOT_PT + 2)
    return lines + len(_footer_lines(style, footer)) * (_FOOT_PT * style.print_scale + 2) + 8


def _foot_parts(sheet: Sheet, style: PageStyle, footer: Footer) -> list[Part]:
    y = style.size[1] - style.margin - _foot(sheet, style, footer) + 8
    parts: list[Part] = []
    for line in _left_out(sheet, style):
        parts.append(Words(style.margin, y + _FOOT_PT, line, _FOOT_PT))
        y += _FOOT_PT + 2
    size = _FOOT_PT * style.print_scale
    for line in _footer_lines(style, footer):
        parts.append(Words(style.margin, y + size, line, size))
        y += size + 2
    return parts
