"""When the notes of an etude line start and how long they last."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

from drills.changes.changes import Changes, Metre
from drills.errors import EtudeError
from drills.harmony.chord_timeline import Span, bar_starts, click_quarters, same_chord
from drills.lines.onset import Onset
from drills.lines.phrase_rhythm import phrased, plays_phrases

__all__ = ["DENSITIES", "onsets", "pulses", "swings"]

DENSITIES = ("quarters", "eighths", "triplets", "space", "phrases")
"""A note a beat, two, three; two-bar phrases of eighths with rests around; phrases of mixed rhythm that breathe."""


def pulses(metre: Metre) -> tuple[Fraction, ...]:
    """Where a bar is felt, in quarter notes from its first beat.

    Quarters in 4/4 and in 2/2, dotted quarters in 6/8 and its kin, two and three eighths
    in 7/8 (2 + 2 + 3, common practice).
    """
    unit = Fraction(4, metre.unit)
    if metre.unit <= 4:
        return tuple(Fraction(place) for place in range(int(metre.quarters)))
    three = metre.beats % 3 == 0
    step = 3 if three else 2
    count = max(1, metre.beats // step)
    return tuple(place * step * unit for place in range(count))


def swings(changes: Changes, feel: str) -> bool:
    """Whether a feel swings these changes: metres counted in eighths never are (common practice)."""
    return feel == "swing" and all(bar.metre.unit <= 4 for bar in changes.bars)


def onsets(
    changes: Changes,
    spans: tuple[Span, ...],
    density: str,
    random: Random,
    *,
    early: bool = True,
    triplets: bool = False,
) -> tuple[Onset, ...]:
    """The rhythm of a line over changes; silent where no chord sounds.

    early: whether phrases may strike strong beats half a beat early. triplets: whether they have more
    of those. In metres that are not counted in quarters or
    halves phrases are those of ``space``. The last
    bar ends on a long note at its middle, or at its last beat where the middle is none
    (as the rules' own lines do). Raises EtudeError for an unknown density or when
    there is nothing to play on.
    """
    if density not in DENSITIES:
        raise EtudeError(f"etude line, density {density!r}: expected one of {', '.join(DENSITIES)}")
    starts = bar_starts(changes)
    found: list[Onset] = []
    if density == "phrases" and all(plays_phrases(bar.metre) for bar in changes.bars):
        found += phrased(changes.bars, starts, random, early=early, triplets=triplets)
    elif density in ("space", "phrases"):
        index = 0
        while index < len(changes.bars):
            pair = range(index, min(index + 2, len(changes.bars)))
            found += _phrase(changes, starts, pair, random)
            index += 2
    else:
        for index, bar in enumerate(changes.bars):
            found += _even(bar.metre, starts[index], index, density)
    last = len(changes.bars) - 1
    if density not in ("space", "phrases") or found[-1].bar != last:
        found = _closed(found, changes.bars[last].metre, starts[last], last)
    silent = [span for span in spans if span.chord is None]
    found = [each for each in found if not any(span.start <= each.start < span.end for span in silent)]
    if not found:
        raise EtudeError("etude line: no chord sounds where a note could start; write some changes")
    cut = [_cut(each, silent) for each in found]
    return tuple(_within_chord(each, spans) for each in cut) if density == "phrases" else tuple(cut)


def _cut(onset: Onset, silent: list[Span]) -> Onset:
    end = min([onset.start + onset.length, *(span.start for span in silent if span.start > onset.start)])
    early = Fraction(0) if any(span.start <= onset.struck < span.end for span in silent) else onset.early
    return replace(onset, length=end - onset.start, early=early)


def _within_chord(onset: Onset, spans: tuple[Span, ...]) -> Onset:
    """The note let go where its chord does: only one that is struck early sounds into the next."""
    end = onset.start + onset.length
    for before, after in pairwise(spans):
        if onset.start < after.start < end and not same_chord(before.chord, after.chord):
            end = after.start
    return replace(onset, length=end - onset.start)


def _grid(metre: Metre, density: str) -> Fraction:
    unit = Fraction(4, metre.unit)
    if density == "triplets" and metre.unit <= 4:
        return Fraction(1, 3)
    return min(Fraction(1, 2), unit)


def _even(metre: Metre, start: Fraction, index: int, density: str) -> list[Onset]:
    if density == "quarters":
        places = pulses(metre)
    else:
        step = _grid(metre, density)
        places = tuple(step * count for count in range(int(metre.quarters / step)))
    ends = (*places[1:], metre.quarters)
    return [Onset(start + place, end - place, index) for place, end in zip(places, ends, strict=True)]


def _closed(found: list[Onset], metre: Metre, start: Fraction, index: int) -> list[Onset]:
    """The line with its last note held from the middle of the last bar, or its last beat."""
    felt = pulses(metre)
    middle = metre.quarters / 2
    place = middle if middle in felt else felt[-1]
    kept = [each for each in found if each.start < start + place]
    return [*kept, Onset(start + place, metre.quarters - place, index)]


def _phrase(changes: Changes, starts: tuple[Fraction, ...], pair: range, random: Random) -> list[Onset]:
    """A question or an answer: off the first beat, eighths through a bar, landing in the next, and air."""
    first = pair[0]
    metre = changes.bars[first].metre
    step = _grid(metre, "eighths")
    felt = pulses(metre)
    # A line begins on the "and" of 1 (drills/RULES.md, D2, stage 9); later phrases may come in a beat after it.
    late = random.random() >= 0.6
    begin = felt[1] + step if late and first > 0 and len(felt) >= 3 else step
    if len(pair) == 1:
        return _landing(_run(metre, starts[first], first, begin, felt[-1], step), metre, starts[first], first, felt[-1])
    found = _run(metre, starts[first], first, begin, metre.quarters, step)
    second = pair[1]
    metre = changes.bars[second].metre
    felt = pulses(metre)
    land = felt[0] if len(felt) < 3 or random.random() < 0.5 else felt[min(2, len(felt) - 2)]
    found += _run(metre, starts[second], second, Fraction(0), land, _grid(metre, "eighths"))
    return _landing(found, metre, starts[second], second, land)


def _run(metre: Metre, start: Fraction, index: int, begin: Fraction, end: Fraction, step: Fraction) -> list[Onset]:
    places = []
    place = begin
    while place < end:
        places.append(place)
        place += step
    return [Onset(start + each, step, index) for each in places]


def _landing(found: list[Onset], metre: Metre, start: Fraction, index: int, place: Fraction) -> list[Onset]:
    later = [each for each in pulses(metre) if each > place]
    length = (later[0] if later else metre.quarters) - place
    return [*found, Onset(start + place, max(length, click_quarters(metre) / 2), index)]
