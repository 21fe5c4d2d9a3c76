"""The notes of a line drawn on a staff: heads, ledger lines, accidentals, stems, flags, beams, dots, triplets, ties.

The proportions, in gaps between two lines, are those of E. Gould, Behind Bars (2011): stems of three and a half, beams
half a gap thick that slope by a gap at most, stems away from the middle line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from drills.changes.changes import Bar
from drills.diagrams.clefs import place_on_staff
from drills.diagrams.picture import Drawn, Patch, Ring, Stroke, Words
from drills.diagrams.spline import smooth
from drills.diagrams.staff_signs import ACCIDENTALS, SIGNS, staff_sign, staff_sign_wide
from drills.lines.notation import StandingSigns, Struck, WrittenSign, bar_signs, beams
from drills.lines.staff_opening import STAFF_GAP_PT
from drills.theory.key import Key

__all__ = ["StaffBar", "StaffDrawing", "sign_room", "staff_bar"]

_G = STAFF_GAP_PT
_STEM, _STEM_WIDE, _LINE_WIDE = 3.5 * _G, 0.13 * _G, 0.6
_BEAM, _MOST_SLOPE = 0.5 * _G, 0.2
_MIDDLE = 4
"""The middle line, in steps above the lowest."""
_FLAGS = {"eighth": 1, "16th": 2, "32nd": 3}
_FLAG = ((0.0, 0.0), (0.15, 0.75), (0.85, 1.5), (1.0, 2.2), (0.75, 3.0)), ((0.85, 2.2), (0.65, 1.7), (0.0, 1.1))
"""The outer and the inner edge of the flag of a stem that goes up, in gaps from its tip, downward."""
_HEADS = {"whole": "whole head", "half": "void head"}
_CLEAR_STEPS = 6
"""Accidentals of one chord so many steps apart may stand one above the other."""
_TRIPLET_PT = 7.5


@dataclass(frozen=True, slots=True)
class StaffBar:
    """A bar ready to be drawn.

    signs: what it holds. beams: for each sign its part in a beam (`notation.beams`). altered: for each sign and each of
    its notes, the alteration to write before it, or None. key: of the bar.
    """

    signs: tuple[WrittenSign, ...]
    beams: tuple[str, ...]
    altered: tuple[tuple[int | None, ...], ...]
    key: Key | None


def staff_bar(groups: tuple[Struck, ...], bar: Bar, start: Fraction, key: Key | None) -> StaffBar:
    """A bar of a line. groups: its notes by what is struck together. start: of the bar, in quarter notes."""
    standing = StandingSigns(key)
    signs = bar_signs(groups, start, bar.metre)
    altered = tuple(
        tuple(None if sign.tied[0] else standing.needed(note.pitch) for note in sign.struck) for sign in signs
    )
    return StaffBar(tuple(signs), tuple(beams(signs, bar.metre)), altered, key)


def _head(sign: WrittenSign) -> str:
    return _HEADS.get(sign.value.type, "black head")


def _has_stem(sign: WrittenSign) -> bool:
    return sign.value.type not in ("whole", "")


def _columns(places: Sequence[int]) -> list[int]:
    """For each place of a chord, from the highest down, how many columns its accidental stands to the left."""
    taken: list[int] = []
    found = []
    for place in places:
        column = next((number for number, low in enumerate(taken) if low - place >= _CLEAR_STEPS), len(taken))
        taken[column : column + 1] = [place]
        found.append(column)
    return found


def _accidentals(sign: WrittenSign, altered: Sequence[int | None], clef_name: str) -> list[tuple[str, int, int]]:
    """Name, place and column of each accidental of a sign, from the highest down."""
    shown = sorted(
        (
            (place_on_staff(note.pitch, clef_name), ACCIDENTALS[by])
            for note, by in zip(sign.struck, altered, strict=True)
            if by in ACCIDENTALS
        ),
        reverse=True,
    )
    return [(name, place, column) for (place, name), column in zip(shown, _columns([p for p, _ in shown]), strict=True)]


def sign_room(sign: WrittenSign, altered: Sequence[int | None], clef_name: str) -> tuple[float, float]:
    """The room a sign takes to the left and to the right of its middle, in points."""
    if not sign.struck:
        half = staff_sign_wide(_rest_name(sign), _G) / 2
        return half + 1, half + 1 + sign.value.dots * 0.6 * _G
    head = staff_sign_wide(_head(sign), _G)
    columns = 1 + max((column for _, _, column in _accidentals(sign, altered, clef_name)), default=-1)
    widest = max((staff_sign_wide(name, _G) for name, _, _ in _accidentals(sign, altered, clef_name)), default=0.0)
    beside = head if _has_seconds(sign, clef_name) else 0.0
    flag = 1.0 * _G if sign.value.type in _FLAGS else 0.0
    left = head / 2 + beside + columns * (widest + 0.25 * _G) + 1
    return left, head / 2 + beside + max(flag, sign.value.dots * 0.6 * _G) + 1


def _has_seconds(sign: WrittenSign, clef_name: str) -> bool:
    places = sorted(place_on_staff(note.pitch, clef_name) for note in sign.struck)
    return any(high - low <= 1 for low, high in pairwise(places))


def _rest_name(sign: WrittenSign) -> str:
    name = f"{'whole' if sign.whole_bar else sign.value.type or 'quarter'} rest"
    return name if name in SIGNS else "32nd rest"


@dataclass(slots=True)
class _Placed:
    """A sign at its place across the page, and how its stem goes: up, and to which height."""

    sign: WrittenSign
    altered: tuple[int | None, ...]
    x: float
    up: bool = True
    tip: float = 0.0


def _y(place: int) -> float:
    return (8 - place) * _G / 2


class StaffDrawing:
    """A staff as it fills; the highest line is at y = 0, y grows downward.

    parts: what is drawn. top, bottom: how far it reaches, in points.
    """

    def __init__(self, clef_name: str):
        self.clef_name = clef_name
        self.parts: list[Drawn] = []
        self.top, self.bottom = -1.4 * _G, (7.0 if clef_name == "G8" else 5.8) * _G
        self._tied_from: tuple[_Placed, ...] = ()

    def _reaches(self, *heights: float) -> None:
        self.top, self.bottom = min(self.top, *heights), max(self.bottom, *heights)

    def bar(self, bar: StaffBar, at: Callable[[Fraction], float], centre: float, left: float) -> None:
        """Draws a bar. at: where a place of the bar, in quarter notes, lies across the page. centre: of the bar, for
        the rest that fills it. left: where a tie from the row above begins."""
        placed = [
            _Placed(sign, altered, centre if sign.whole_bar else at(sign.at))
            for sign, altered in zip(bar.signs, bar.altered, strict=True)
        ]
        for group in _beamed(placed, bar.beams):
            self._stems(group)
        for each in placed:
            if each.sign.struck:
                self._notes(each)
            else:
                self._rest(each)
        for group in _triplets(placed):
            self._triplet(group, _one_beam(placed, bar.beams, group))
        for before, each in zip([self._tied_from[-1] if self._tied_from else None, *placed], placed, strict=False):
            if each.sign.tied[0]:
                self._tie(before, each, left)
        self._tied_from = (placed[-1],) if placed and placed[-1].sign.tied[1] else ()

    def close(self, right: float) -> None:
        """Ends the row: a note that sounds on gets a tie that ends at its edge."""
        for each in self._tied_from:
            for place, down in self._tie_places(each):
                self._bow(each.x + 0.8 * _G, right, _y(place), down)
        self._tied_from = ()

    def _places(self, sign: WrittenSign) -> list[int]:
        return sorted(place_on_staff(note.pitch, self.clef_name) for note in sign.struck)

    def _stems(self, group: Sequence[_Placed]) -> None:
        """Sets the direction and the tips of stems that share a beam, or of one; draws beam and flags."""
        places = [self._places(each.sign) for each in group]
        low, high = min(map(min, places)), max(map(max, places))
        up = _MIDDLE - low > high - _MIDDLE
        ends = [_y(max(each)) if up else _y(min(each)) for each in places]
        way = -1 if up else 1
        span = group[-1].x - group[0].x
        slope = 0.0
        if span:
            outer = (min if up else max)(ends)
            if outer in (ends[0], ends[-1]):
                most = min(_G, _MOST_SLOPE * span)
                slope = max(-most, min(most, (ends[-1] - ends[0]) / 2)) / span
        stem = _STEM if len(group) == 1 else _STEM * 0.95
        wanted = [end + way * stem for end in ends] + [2 * _G] * len(ends)
        firsts = [tip - slope * (group[number % len(group)].x - group[0].x) for number, tip in enumerate(wanted)]
        first = (min if up else max)(firsts)
        for each in group:
            each.up, each.tip = up, first + slope * (each.x - group[0].x)
        if len(group) > 1:
            a, b = self._stem_x(group[0]), self._stem_x(group[-1])
            half = _STEM_WIDE / 2
            y1, y2 = group[0].tip, group[-1].tip
            inward = -way * _BEAM
            self.parts.append(Patch(((a - half, y1), (b + half, y2), (b + half, y2 + inward), (a - half, y1 + inward))))
        elif (count := _FLAGS.get(group[0].sign.value.type, 0)) > 0:
            x = self._stem_x(group[0])
            for number in range(count):
                top = group[0].tip - way * 0.75 * _G * number
                outer_edge, inner_edge = _FLAG
                edge = [*smooth(outer_edge), *smooth((outer_edge[-1], *inner_edge))]
                self.parts.append(Patch(tuple((x + _G * right, top - way * _G * down) for right, down in edge)))

    def _stem_x(self, each: _Placed) -> float:
        half = staff_sign_wide(_head(each.sign), _G) / 2 - _STEM_WIDE / 2
        return each.x + (half if each.up else -half)

    def _notes(self, each: _Placed) -> None:
        sign = each.sign
        name = _head(sign)
        wide = staff_sign_wide(name, _G)
        places = self._places(sign)
        aside = 0
        before: int | None = None
        rightmost = each.x + wide / 2
        for place in places if each.up else places[::-1]:
            aside = 1 - aside if before is not None and abs(place - before) <= 1 else 0
            beside = wide - (_STEM_WIDE if _has_stem(sign) else 0.0)  # two heads share their stem
            x = each.x - wide / 2 + aside * beside * (1 if each.up else -1)
            rightmost = max(rightmost, x + wide)
            before = place
            self.parts.append(staff_sign(name, x, _y(place), _G))
            self._ledgers(place, x, wide)
            self._reaches(_y(place) - _G / 2, _y(place) + _G / 2)
        for accidental, place, column in _accidentals(sign, each.altered, self.clef_name):
            own = staff_sign_wide(accidental, _G)
            lefts = each.x - wide / 2 - (wide if not each.up and _has_seconds(sign, self.clef_name) else 0.0)
            x = lefts - 0.2 * _G - own - column * (own + 0.25 * _G)
            self.parts.append(staff_sign(accidental, x, _y(place), _G))
            self._reaches(_y(place) - 1.7 * _G, _y(place) + 1.4 * _G)
        for place in places:
            for dot in range(sign.value.dots):
                self._dot(rightmost + (0.45 + 0.5 * dot) * _G, _y(place + (place % 2 == 0)))
        if _has_stem(sign):
            x = self._stem_x(each)
            end = _y(places[0]) if each.up else _y(places[-1])
            self.parts.append(Stroke(x, end, x, each.tip, _STEM_WIDE))
            self._reaches(each.tip)

    def _ledgers(self, place: int, x: float, wide: float) -> None:
        lines = [*range(-2, place - 1, -2), *range(10, place + 1, 2)]
        for line in lines:
            self.parts.append(Stroke(x - 0.35 * _G, _y(line), x + wide + 0.35 * _G, _y(line), _LINE_WIDE + 0.2))

    def _dot(self, x: float, y: float) -> None:
        self.parts.append(Ring(x, y, 0.2 * _G, True, width=0.0))

    def _rest(self, each: _Placed) -> None:
        name = _rest_name(each.sign)
        wide = staff_sign_wide(name, _G)
        self.parts.append(staff_sign(name, each.x - wide / 2, _y(_MIDDLE), _G))
        if not each.sign.whole_bar:
            for dot in range(each.sign.value.dots):
                self._dot(each.x + wide / 2 + (0.4 + 0.5 * dot) * _G, _y(_MIDDLE + 1))

    def _triplet(self, group: Sequence[_Placed], beamed: bool) -> None:
        """The 3 over or under a beat in thirds, with a bracket unless one beam holds the beat together."""
        sounding = [each for each in group if each.sign.struck]
        up = sounding[0].up if sounding else True
        heights = [each.tip for each in sounding] + [
            _y(place) + (-0.5 if up else 0.5) * _G for each in sounding for place in self._places(each.sign)
        ]
        edge = (min if up else max)([*heights, 0.0 if up else 4 * _G] if not beamed else heights)
        way = -1 if up else 1
        xs = [self._stem_x(each) if beamed else each.x for each in group]
        middle = (xs[0] + xs[-1]) / 2
        if beamed:
            edge = (group[0].tip + group[-1].tip) / 2
        baseline = edge + way * 0.4 * _G + (0 if up else 0.73 * _TRIPLET_PT)
        if not beamed:
            y = edge + way * 0.9 * _G
            baseline = y + 0.36 * _TRIPLET_PT
            for start, end in ((xs[0] - 0.7 * _G, middle - 0.9 * _G), (middle + 0.9 * _G, xs[-1] + 0.7 * _G)):
                if end > start:
                    self.parts.append(Stroke(start, y, end, y, _LINE_WIDE))
            for x in (xs[0] - 0.7 * _G, xs[-1] + 0.7 * _G):
                self.parts.append(Stroke(x, y, x, y - way * 0.5 * _G, _LINE_WIDE))
        self.parts.append(Words(middle, baseline, "3", _TRIPLET_PT, anchor="middle", bold=True))
        self._reaches(baseline - 0.8 * _TRIPLET_PT, baseline + 1)

    def _tie_places(self, each: _Placed) -> list[tuple[int, bool]]:
        """Each head's place, and whether its tie bends down: away from the stem, in a chord away from its middle."""
        places = self._places(each.sign)
        if len(places) == 1:
            return [(places[0], each.up)]
        return [(place, number < len(places) / 2) for number, place in enumerate(places)]

    def _tie(self, before: _Placed | None, each: _Placed, left: float) -> None:
        bends = self._tie_places(before if before else each)
        for place, down in bends:
            self._bow(before.x + 0.3 * _G if before else left, each.x - 0.3 * _G, _y(place), down)

    def _bow(self, start: float, end: float, head: float, down: bool) -> None:
        way = 1 if down else -1
        y = head + way * 0.75 * _G
        deep = min(1.0 * _G, 0.35 * _G + 0.06 * (end - start))
        middle = (start + end) / 2
        outer = smooth(((start, y), (middle, y + way * deep), (end, y)))
        inner = smooth(((end, y), (middle, y + way * (deep - 0.25 * _G)), (start, y)))
        self.parts.append(Patch(tuple([*outer, *inner])))
        self._reaches(y + way * deep)


def _beamed(placed: Sequence[_Placed], parts: Sequence[str]) -> list[list[_Placed]]:
    """The struck signs by what shares a stem's beam; alone where there is none."""
    found: list[list[_Placed]] = []
    for each, part in zip(placed, parts, strict=True):
        if not each.sign.struck:
            continue
        if part in ("continue", "end"):
            found[-1].append(each)
        else:
            found.append([each])
    return found


def _triplets(placed: Sequence[_Placed]) -> list[list[_Placed]]:
    """The signs in thirds, beat by beat."""
    found: dict[int, list[_Placed]] = {}
    for each in placed:
        if each.sign.value.triplet:
            found.setdefault(int(each.sign.at // 1), []).append(each)
    return list(found.values())


def _one_beam(placed: Sequence[_Placed], parts: Sequence[str], group: Sequence[_Placed]) -> bool:
    """Whether one beam holds exactly these signs."""
    return any(len(one) > 1 and one == list(group) for one in _beamed(placed, parts))
