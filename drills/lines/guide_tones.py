"""Guide-tone lines: two voices through the thirds and sevenths of the changes, each moving as little as it can."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from drills.changes.changes import Changes
from drills.errors import NotPlayableError
from drills.harmony.chord_timeline import Span, spans_of, tones_of
from drills.lines.line import Line, LineNote
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.shapes.grip_fingering import grip_fingerings
from drills.shapes.hand import OUT_OF_REACH
from drills.shapes.root_places import RootPlace
from drills.theory.note import pitch_of

__all__ = ["GuideTones", "guide_tones"]

_STAY = 5
"""Frets the lines may stray from where they began: they are sung as much as played, and stay in one voice's range."""

Places = tuple[tuple[int, int], tuple[int, int]]
"""(string, fret) of the upper and of the lower voice."""


@dataclass(frozen=True, slots=True)
class GuideTones:
    """The two voices as lines: together they hold third and seventh of every chord."""

    upper: Line
    lower: Line


def _options(neck: Neck, span: Span, on: StringSet | None) -> list[Places]:
    """Both guide tones of a chord on neighbouring strings (of a set), either one on top, held by one hand."""
    third, seventh = tones_of(span).guide_tones
    found = []
    for string in range(1, neck.tuning.strings):
        if on is not None and not {string, string + 1} <= set(on.numbers):
            continue
        for top, bottom in ((third, seventh), (seventh, third)):
            for fret, other in product(neck.frets_of(string, top), neck.frets_of(string + 1, bottom)):
                above = neck.sounding.midi(string, fret) > neck.sounding.midi(string + 1, other)
                if above and abs(fret - other) <= 4:
                    found.append(((string, fret), (string + 1, other)))
    return found


def _close_by(options: list[Places], first: Places) -> list[Places]:
    """The places near where the lines began, so that they turn back instead of running down the neck."""
    return [
        places
        for places in options
        if all(fret and abs(fret - first[0][1]) <= _STAY for _, fret in places) and abs(places[0][0] - first[0][0]) <= 1
    ]


def _move(before: Places, after: Places, neck: Neck) -> tuple[int, int, int]:
    """Semitones both voices move; frets moved; strings crossed."""
    tuning = neck.sounding
    voices = sum(abs(tuning.midi(*b) - tuning.midi(*a)) for a, b in zip(before, after, strict=True))
    frets = sum(abs(b[1] - a[1]) for a, b in zip(before, after, strict=True))
    return voices, frets, abs(before[0][0] - after[0][0])


def _start(places: Places, root: RootPlace) -> tuple[int, int]:
    """Distance from the grip over a root: the guide tones of a shell lie two and three strings above it."""
    return abs(places[0][0] - max(1, root.string - 3)), sum(abs(fret - root.fret) for _, fret in places)


def guide_tones(changes: Changes, neck: Neck, root: RootPlace, on: StringSet | None = None) -> GuideTones:
    """The two guide-tone lines that begin over a root and move least in semitones, exactly.

    root: where the first chord's root lies. on: the string set they keep to, all strings when None.
    The lines stay within five frets and one string
    of where they begin wherever that is possible. A tie goes to fewer frets, fewer strings
    crossed, then the lower places. Where a bar repeats the chord the voices stay.
    Raises NotPlayableError when a chord's guide tones lie nowhere on neighbouring strings.
    """
    spans = [span for span in spans_of(changes) if span.chord is not None]
    best: dict[Places, tuple[int, ...]] = {}
    backs: list[dict[Places, Places]] = []
    for index, span in enumerate(spans):
        options = _options(neck, span, on)
        if not options:
            raise NotPlayableError(f"{span.sounding.name}: its 3rd and 7th lie on no two neighbouring strings here")
        if index == 0:
            # The beginning is settled by the root, not by what follows.
            first = min(options, key=lambda places: (_start(places, root), places))
            best = {first: (0, 0, 0)}
            continue
        options = _close_by(options, first) or options
        now, back = {}, {}
        for places in options:
            cost, before = min(
                (tuple(a + b for a, b in zip(cost, _move(old, places, neck), strict=True)), old)
                for old, cost in best.items()
            )
            now[places], back[places] = cost, before
        best = now
        backs.append(back)
    if not spans:
        return GuideTones(*(Line(f"Guide tones, {name} line", changes, neck.sounding, (), "guide tones")
                            for name in ("upper", "lower")))  # fmt: skip
    places = min(best, key=lambda each: (best[each], each))
    way = [places]
    for back in reversed(backs):
        places = back[places]
        way.append(places)
    way.reverse()
    return GuideTones(*(_voice(changes, neck, spans, way, voice) for voice in (0, 1)))


def _voice(changes: Changes, neck: Neck, spans: list[Span], way: list[Places], voice: int) -> Line:
    notes = []
    for span, places in zip(spans, way, strict=True):
        string, fret = places[voice]
        tones = tones_of(span)
        name, degree = tones.names[neck.sounding.midi(string, fret) % 12]
        pitch = pitch_of(name, neck.sounding.midi(string, fret))
        finger = _finger(neck, places, voice)
        why = f"{degree} of {span.sounding.name}, held: with the other line it tells the chord"
        beat = Fraction(span.slot.beat)
        notes.append(
            LineNote(span.start, span.length, span.bar.number, beat, string, fret, finger, pitch, degree, why=why)
        )
    which = ("upper", "lower")[voice]
    return Line(f"Guide tones, {which} line", changes, neck.sounding, tuple(notes), "guide tones")


def _finger(neck: Neck, places: Places, voice: int) -> int:
    """The finger when both voices are held at once."""
    held = grip_fingerings(places[::-1], 1, lambda a, b: neck.reach_mm(a, b) <= neck.reach_limit_mm)
    if held and held[0][0] < OUT_OF_REACH:
        return held[0][1][1 - voice]
    return min(1, places[voice][1])
