"""A bass line over changes, found by exact search: chord tones where a chord is heard, approaches where it is left.

Hard rules, which `tests/band` reads off the notes again: the first note of a new chord is its root (or the slash
bass), the first of a bar a tone of its chord; the last note before another chord, where it is not the chord's only
one, lies a semitone, a whole tone, a fourth or a fifth from the note it leads to; every note is in the compass; no
leap is wider than a major sixth but an octave; no key is struck twice running where the bass walks. What is left is
settled by cost: steps before leaps, chord tones before others, a line that turns seldom and stays near the middle
(common practice throughout; drills/RULES.md, D5).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from drills.changes.changes import WITHOUT_CHORDS, Changes
from drills.errors import TrackError
from drills.harmony.chord_timeline import Span, bar_starts, same_chord, spans_of, tones_of
from drills.lines.rhythm import pulses

__all__ = ["APPROACHES", "BASS_HIGH", "BASS_LOW", "WIDEST_LEAP", "BassNote", "bass_line"]

BASS_LOW, BASS_HIGH = 28, 50
"""Compass in MIDI keys: E1, the lowest string of a bass, to the D nearly two octaves above (common practice)."""

WIDEST_LEAP = 9
"""Semitones of the widest leap, a major sixth; only an octave is wider."""

APPROACHES = (1, 2, 5, 7)
"""Semitones by which a chord is approached, from above or below: a step, or from its fifth or its fourth."""

_MIDDLE = 38
_OCTAVE = 12
_SAME = 60.0
_LEAP = {0: 0.0, 1: 0.0, 2: 0.0, 3: 1.2, 4: 1.6, 5: 1.0, 7: 1.6, 6: 4.0, 8: 5.0, 9: 5.0, _OCTAVE: 2.4}
_NOT_CHORD_TONE, _OUTSIDE, _NOT_ROOT, _TURN, _FAR = 1.0, 4.0, 2.5, 1.0, 0.06
_FIFTH_APPROACH = 0.8
_CHANCE = 1.5
"""Costs, and how much chance may add to one: a chorus is not played twice alike."""


@dataclass(frozen=True, slots=True)
class BassNote:
    """A note of the bass: where it starts and how long it sounds, in quarter notes, its MIDI key, how hard, 0 to 1."""

    start: Fraction
    length: Fraction
    midi: int
    loudness: float


@dataclass(frozen=True, slots=True)
class _Place:
    """A place where the bass plays: its span, and whether a chord is new, a bar begins, or another chord follows."""

    start: Fraction
    length: Fraction
    span: Span
    new: bool
    bar_opens: bool
    leaves: bool


def bass_line(changes: Changes, *, two: bool = False, seed: int = 0) -> tuple[BassNote, ...]:
    """The bass of one chorus; silent where no chord sounds.

    two: half notes (a whole bar where a bar has no middle), else a note on each beat. seed: another line.
    Raises TrackError when the changes hold no chord.
    """
    found: list[BassNote] = []
    places = _places(changes, two)
    if not places:
        raise TrackError(f"track: {WITHOUT_CHORDS}")
    random = Random(f"bass {seed}")
    first = 0
    for index, place in enumerate(places):
        last = index == len(places) - 1
        if last or places[index + 1].start > place.start + place.length:  # a rest comes, or the end
            found += _searched(places[first : index + 1], two, random)
            first = index + 1
    return tuple(found)


def _places(changes: Changes, two: bool) -> list[_Place]:
    """Where notes fall: on the felt beats, or halves of bars, and wherever a chord begins."""
    spans = [span for span in spans_of(changes) if span.chord is not None]
    starts = bar_starts(changes)
    beats: set[Fraction] = set()
    for bar, start in zip(changes.bars, starts[:-1], strict=True):
        felt = pulses(bar.metre)
        if two:
            middle = bar.metre.quarters / 2
            felt = (felt[0], middle) if middle in felt else (felt[0],)
        beats.update(start + place for place in felt)
    beats.update(span.start for span in spans)
    bars = set(starts)
    found: list[_Place] = []
    for index, span in enumerate(spans):
        before = spans[index - 1] if index else None
        after = spans[index + 1] if index + 1 < len(spans) else spans[0]
        new = before is None or not same_chord(before.chord, span.chord) or before.end != span.start
        inside = sorted(beat for beat in beats if span.start <= beat < span.end)
        for number, beat in enumerate(inside):
            last = number == len(inside) - 1
            end = span.end if last else inside[number + 1]
            leaves = last and not same_chord(after.chord, span.chord)
            found.append(_Place(beat, end - beat, span, new and number == 0, beat in bars, leaves))
    return found


def _searched(places: Sequence[_Place], two: bool, random: Random) -> list[BassNote]:
    """The cheapest line through some places without a rest, exactly; the last leads round to the first."""
    keys = range(BASS_LOW, BASS_HIGH + 1)
    costs: dict[tuple[int, int], float] = {}
    backs: list[dict[tuple[int, int], tuple[int, int]]] = []
    for index, place in enumerate(places):
        own = {key: _own_cost(place, key, random) for key in keys if _allowed(place, key)}
        if index == 0:
            costs = {(key, 0): cost + abs(key - _MIDDLE + 4) * 0.3 for key, cost in own.items()}
            continue
        # A chord of one note is heard by that note, which leads nowhere by rule.
        approach = places[index - 1].leaves and not places[index - 1].new
        now: dict[tuple[int, int], float] = {}
        back: dict[tuple[int, int], tuple[int, int]] = {}
        for key, cost in own.items():
            for (before, way), so_far in costs.items():
                step = key - before
                moved = _step_cost(step, approach, two)
                if moved is None:
                    continue
                turned = 1 if step > 0 else -1 if step < 0 else way
                total = so_far + cost + moved + (_TURN if way and turned != way else 0.0)
                state = (key, turned)
                if state not in now or total < now[state]:
                    now[state], back[state] = total, (before, way)
        if not now:
            raise TrackError(f"track, bar {place.span.bar.number}: no bass line leads there by the rules")
        costs = now
        backs.append(back)
    state = min(costs, key=lambda each: (costs[each], each))
    chosen = [state]
    for back in reversed(backs):
        state = back[state]
        chosen.append(state)
    line = [key for key, _ in reversed(chosen)]
    return [
        BassNote(place.start, place.length, key, _loudness(place, two)) for place, key in zip(places, line, strict=True)
    ]


def _allowed(place: _Place, key: int) -> bool:
    """The hard rules on one note: a new chord begins on its root or slash bass, a bar on a tone of its chord."""
    chord = place.span.sounding
    if place.new:
        return key % _OCTAVE == (chord.bass or chord.root).pitch_class
    return not place.bar_opens or key % _OCTAVE in tones_of(place.span).chord_tones


def _own_cost(place: _Place, key: int, random: Random) -> float:
    tones = tones_of(place.span)
    pitch = key % _OCTAVE
    cost = random.random() * _CHANCE + abs(key - _MIDDLE) ** 2 * _FAR / 4
    if place.new:
        return cost
    if place.bar_opens and pitch != tones.chord_tones[0]:
        cost += _NOT_ROOT
    if pitch not in tones.chord_tones:
        cost += _NOT_CHORD_TONE if pitch in tones.mode_notes or place.leaves else _OUTSIDE
    return cost


def _step_cost(step: int, approach: bool, two: bool) -> float | None:
    """What a move costs, None where the rules forbid it. approach: whether it leads into another chord."""
    wide = abs(step)
    if wide > WIDEST_LEAP and wide != _OCTAVE:
        return None
    if step == 0:
        return None if approach or not two else _SAME / 20
    if approach:
        if wide not in APPROACHES:
            return None
        return 0.0 if wide <= 2 else _FIFTH_APPROACH
    return _LEAP[wide]


def _loudness(place: _Place, two: bool) -> float:
    """A new chord is leaned on a little; in four, the second and fourth beats too (common practice)."""
    return 0.78 if place.new else 0.72 if two or place.bar_opens else 0.70
