"""Reads the staff of a printed line back from where its signs stand, knowing only how a staff is read.

It shares no code with what draws: five lines are found by their ink, a head's pitch by its height between them, its
length by head, stem, flag or beam, dots and a 3.
"""

from __future__ import annotations

from dataclasses import dataclass

from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from drills.configuration.shipped import data_file
from drills.diagrams.picture import MusicSign, Patch, Ring, Stroke, Words

HEADS = {"\U0001d158": "quarter", "\U0001d157": "half", "\U0001d15d": "whole"}
RESTS = {"\U0001d13b": "whole", "\U0001d13c": "half", "\U0001d13d": "quarter", "\U0001d13e": "eighth",
         "\U0001d13f": "16th"}  # fmt: skip
ALTERED = {"♭": -1, "♮": 0, "♯": 1, "\U0001d12a": 2, "\U0001d12b": -2}
LOWEST = {"\U0001d11e": 4 * 7 + 2, "\U0001d120": 3 * 7 + 2, "\U0001d122": 1 * 7 + 4}
"""The sounding pitch of the lowest line under each clef, in letters above C0: E4, E3, and G1 for a bass."""

_FONT = TTFont(data_file("fonts/NotoMusic-Regular.ttf"), lazy=True)
_GLYPHS, _NAMES = _FONT.getGlyphSet(), _FONT.getBestCmap()
_KNOWN: dict[str, tuple[float, float, float, float]] = {}


def ink(sign: MusicSign) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a sign's ink on the page, by the font's own outline."""
    if sign.text not in _KNOWN:
        pen = BoundsPen(_GLYPHS)
        _GLYPHS[_NAMES[ord(sign.text)]].draw(pen)
        _KNOWN[sign.text] = pen.bounds
    left, low, right, high = (edge * sign.size / 1000 for edge in _KNOWN[sign.text])
    return sign.x + left, sign.y - high, sign.x + right, sign.y - low


@dataclass(frozen=True)
class ReadSign:
    """A head or a rest: its bar counted from 0, what its shape says, how many dots, the sounding pitch or None."""

    bar: int
    type: str
    dots: int
    pitch: tuple[str, int, int] | None


def staves_of(page) -> list[list[float]]:
    """The heights of the five lines of each staff of a page, from the top; strings of tablature are grey."""
    long = [p for p in page.parts if isinstance(p, Stroke) and p.y1 == p.y2 and p.x2 - p.x1 > 40 and not p.grey]
    lines = sorted({stroke.y1 for stroke in long})
    assert len(lines) % 5 == 0
    return [lines[first : first + 5] for first in range(0, len(lines), 5)]


def threes(page) -> int:
    """How many beats are marked as divided in three."""
    return sum(isinstance(p, Words) and (p.text, p.size, p.bold) == ("3", 7.5, True) for p in page.parts)


def read_pages(pages) -> list[ReadSign]:
    """All heads and rests of pages in order, those of a chord from the lowest up."""
    found: list[ReadSign] = []
    bars = 0
    last: dict[int, tuple[str, int, int]] = {}
    for page in pages:
        staves = staves_of(page)
        middles = [(lines[0] + lines[4]) / 2 for lines in staves]
        for number, lines in enumerate(staves):
            # Tablature lies under its staff: what is nearer to the next staff belongs to that.
            above = (middles[number - 1] + middles[number]) / 2 if number else 0.0
            below = (middles[number] + middles[number + 1]) / 2 if number + 1 < len(staves) else page.high
            signs = [p for p in page.parts if isinstance(p, MusicSign) and above < p.y < below]
            read, count = _read_staff(signs, page, lines, last)
            found += [ReadSign(bars + sign.bar, sign.type, sign.dots, sign.pitch) for sign in read]
            bars += count
    return found


def _read_staff(
    signs: list[MusicSign], page, lines: list[float], last: dict[int, tuple[str, int, int]]
) -> tuple[list[ReadSign], int]:
    """What one staff says and how many bars it has; last: what was read at each place, for a tie."""
    gap = lines[1] - lines[0]
    upright = [p for p in page.parts if isinstance(p, Stroke) and p.x1 == p.x2]
    whole = [s for s in upright if abs(s.y1 - lines[0]) < 0.01 and abs(s.y2 - lines[4]) < 0.01]
    bar_lines = sorted({stroke.x1 for stroke in whole})
    stems = [s for s in upright if s not in whole and min(abs(y - lines[2]) for y in (s.y1, s.y2)) < 9 * gap]
    rings = [p for p in page.parts if isinstance(p, Ring)]
    (clef,) = (sign for sign in signs if sign.text in LOWEST)
    heads = [sign for sign in signs if sign.text in HEADS]
    before: dict[MusicSign, MusicSign] = {}
    key: list[tuple[float, int, int]] = []
    for sign in sorted((each for each in signs if each.text in ALTERED), key=lambda each: each.x):
        place = LOWEST[clef.text] + round((lines[4] - _marks(sign)) / (gap / 2))
        right = ink(sign)[2]
        owners = [h for h in heads if 0 <= ink(h)[0] - right < 3 * gap and _step(h, clef, lines) == place]
        # A sign without a head beside it belongs to the key.
        if owners:
            before[min(owners, key=lambda head: ink(head)[0])] = sign
        else:
            key.append((right, place % 7, ALTERED[sign.text]))
    found = []
    standing: dict[tuple[int, int], int] = {}
    for sign in sorted(
        [*heads, *(s for s in signs if s.text in RESTS)], key=lambda each: (_column(each, stems), -each.y)
    ):
        left, top, right, bottom = ink(sign)
        bar = sum(line < left for line in bar_lines) - 1
        near = [r for r in rings if 0 < r.x - right < 1.4 * gap and abs(r.y - (top + bottom) / 2) < 0.8 * gap]
        if sign.text in RESTS:
            found.append(ReadSign(bar, RESTS[sign.text], len(near), None))
            continue
        place = _step(sign, clef, lines)
        if last.get(place) is not None and _is_tied_to(sign, page):
            found.append(ReadSign(bar, _kind(sign, stems, page), min(len(near), 1), last[place]))
            continue
        if sign in before:
            standing[bar, place] = ALTERED[before[sign].text]
        of_key = {letter: by for end, letter, by in key if end < left}
        alter = standing.get((bar, place), of_key.get(place % 7, 0))
        last[place] = ("CDEFGAB"[place % 7], alter, place // 7)
        found.append(ReadSign(bar, _kind(sign, stems, page), min(len(near), 1), last[place]))
    return found, len(bar_lines) - 1


def _step(head: MusicSign, clef: MusicSign, lines: list[float]) -> int:
    """Letters above C0 of a head, exactly on a line or between two."""
    _, top, _, bottom = ink(head)
    place = 2 * (lines[4] - (top + bottom) / 2) / (lines[1] - lines[0])
    assert abs(place - round(place)) < 0.1
    return LOWEST[clef.text] + round(place)


def _marks(sign: MusicSign) -> float:
    """The height an accidental stands for: the middle of its ink, of a flat the middle of its bowl."""
    _, top, _, bottom = ink(sign)
    return bottom - (bottom - top) * (0.27 if sign.text in "♭\U0001d12b" else 0.5)


def _stem(head: MusicSign, stems: list[Stroke]) -> Stroke | None:
    left, top, right, bottom = ink(head)
    touching = [s for s in stems if left - 1 < s.x1 < right + 1 and min(s.y1, s.y2) < bottom and max(s.y1, s.y2) > top]
    return touching[0] if touching else None


def _column(sign: MusicSign, stems: list[Stroke]) -> float:
    """Where a sign stands across the page; heads on one stem stand together."""
    stem = _stem(sign, stems) if sign.text in HEADS else None
    left, _, right, _ = ink(sign)
    return round(stem.x1 if stem else (left + right) / 2, 1)


def _kind(head: MusicSign, stems: list[Stroke], page) -> str:
    kind = HEADS[head.text]
    return "eighth" if kind == "quarter" and _hangs(head, stems, page) else kind


def _is_tied_to(head: MusicSign, page) -> bool:
    """Whether a bow, level at its ends, ends at a head: it then keeps the alteration of the one before."""
    left, top, right, bottom = ink(head)
    for patch in (p for p in page.parts if isinstance(p, Patch) and len(p.corners) > 4):
        start, end = min(patch.corners), max(patch.corners)
        level = abs(start[1] - end[1]) < 0.01
        if level and left - 2 < end[0] < (left + right) / 2 and top - 6 < end[1] < bottom + 6:
            return True
    return False


def _hangs(head: MusicSign, stems: list[Stroke], page) -> bool:
    """Whether a beam or a flag hangs at the end of a head's stem."""
    stem = _stem(head, stems)
    assert stem is not None
    for patch in (p for p in page.parts if isinstance(p, Patch)):
        xs, ys = zip(*patch.corners, strict=True)
        if min(xs) - 0.5 < stem.x1 < max(xs) + 0.5 and min(ys) - 0.5 < stem.y2 < max(ys) + 0.5:
            return True
    return False
