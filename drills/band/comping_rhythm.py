"""Comping in rhythm: short figures, one a bar, chosen so that none runs on and each chord is heard.

A stroke that comes early belongs to the chord it comes before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from drills.changes.changes import Changes
from drills.harmony.chord_timeline import Span, bar_starts, spans_of

__all__ = ["CELLS", "GripStroke", "comping_strokes"]

_Q = Fraction

CELLS: dict[str, tuple[tuple[tuple[Fraction, Fraction], ...], ...]] = {
    "swing": (
        ((_Q(0), _Q(3, 2)), (_Q(3, 2), _Q(1, 2))),
        ((_Q(3, 2), _Q(1, 2)),),
        ((_Q(1), _Q(1, 2)), (_Q(5, 2), _Q(3, 2))),
        ((_Q(1, 2), _Q(1)), (_Q(3), _Q(1, 2))),
        ((_Q(3, 2), _Q(1, 2)), (_Q(7, 2), _Q(1, 2))),
        ((_Q(1), _Q(1, 2)), (_Q(3), _Q(1, 2))),
        ((_Q(0), _Q(1)), (_Q(5, 2), _Q(1, 2))),
        ((_Q(7, 2), _Q(1, 2)),),
    ),
    "ballad": (
        ((_Q(0), _Q(4)),),
        ((_Q(0), _Q(2)), (_Q(2), _Q(2))),
        ((_Q(1), _Q(3)),),
        ((_Q(0), _Q(5, 2)), (_Q(5, 2), _Q(3, 2))),
    ),
    "straight": (
        ((_Q(0), _Q(1)), (_Q(3, 2), _Q(1)), (_Q(3), _Q(1))),
        ((_Q(1, 2), _Q(1)), (_Q(2), _Q(1)), (_Q(7, 2), _Q(1, 2))),
        ((_Q(1), _Q(1, 2)), (_Q(5, 2), _Q(1))),
        ((_Q(0), _Q(3, 2)), (_Q(5, 2), _Q(1))),
    ),
    "waltz": (
        ((_Q(1), _Q(1, 2)), (_Q(2), _Q(1, 2))),
        ((_Q(3, 2), _Q(1)),),
        ((_Q(0), _Q(3, 2)), (_Q(3, 2), _Q(1, 2))),
        ((_Q(1), _Q(3, 2)),),
        ((_Q(5, 2), _Q(1, 2)),),
    ),
}
"""Figures of a bar by feel: start and length of each stroke in quarter notes from the bar's first beat.

Common practice: the dotted figure of 1923 and its turns, strokes off the beat, room left for who plays over them. In
a bar of another length those strokes are played that lie in it.
"""

EARLY = Fraction(1, 2)
"""An off-beat stroke so close before the next chord belongs to that chord."""


@dataclass(frozen=True, slots=True)
class GripStroke:
    """A grip struck: start and length in quarter notes, the number of its chord among those that sound, how hard."""

    start: Fraction
    length: Fraction
    chord: int
    loudness: float


def comping_strokes(changes: Changes, feel: str, *, seed: int = 0) -> tuple[GripStroke, ...]:
    """The strokes of one chorus, in order, none over another.

    feel: a key of `CELLS`. Numbers of chords count the spans that have one. Every chord is heard at least once, at
    its start where no figure reaches it; no figure comes three bars running, and none where no chord sounds.
    """
    random = Random(f"comping {feel} {seed}")
    spans = [span for span in spans_of(changes) if span.chord is not None]
    cells = CELLS[feel]
    places: dict[Fraction, Fraction] = {}
    last: list[int] = []
    for bar, start in zip(changes.bars, bar_starts(changes)[:-1], strict=True):
        allowed = [number for number in range(len(cells)) if last[-2:] != [number, number]]
        number = random.choice(allowed)
        last.append(number)
        for place, length in cells[number]:
            if place < bar.metre.quarters:
                places[start + place] = length
    end = bar_starts(changes)[-1]
    heard = [(at, length, _chord_at(spans, at, end)) for at, length in places.items()]
    known = {chord for _, _, chord in heard}
    heard += [(span.start, Fraction(1), index) for index, span in enumerate(spans) if index not in known]
    strokes = sorted((at, length, chord) for at, length, chord in heard if chord is not None)
    return tuple(_loud(each, random) for each in _apart(strokes, spans, end))


def _chord_at(spans: Sequence[Span], at: Fraction, end: Fraction) -> int | None:
    """Which chord a stroke is of: the one that sounds, or the next where it comes early; None where it is silent."""
    early = at.denominator != 1
    for index, span in enumerate(spans):
        if span.start <= at < span.end:
            after = index + 1
            if early and span.end - at <= EARLY:
                if after < len(spans) and spans[after].start == span.end:
                    return after
                if after == len(spans) and span.end == end:
                    return index
            return index
        if early and 0 < span.start - at <= EARLY and (index == 0 or spans[index - 1].end <= at):
            return index
    return None


def _apart(
    strokes: Sequence[tuple[Fraction, Fraction, int]], spans: Sequence[Span], end: Fraction
) -> list[tuple[Fraction, Fraction, int]]:
    """The strokes, one at a time: each let go before the next, and where its chord ends."""
    found = []
    once = {at: (at, length, chord) for at, length, chord in strokes}
    order = sorted(once.values())
    for number, (at, length, chord) in enumerate(order):
        limit = order[number + 1][0] if number + 1 < len(order) else end
        found.append((at, min(length, limit - at, max(spans[chord].end, at + Fraction(1, 4)) - at), chord))
    return found


def _loud(stroke: tuple[Fraction, Fraction, int], random: Random) -> GripStroke:
    """Off the beat a little harder than on it, and no two alike."""
    at, length, chord = stroke
    return GripStroke(
        at, length, chord, round((0.44 if at.denominator != 1 else 0.38) + random.uniform(-0.03, 0.03), 3)
    )
