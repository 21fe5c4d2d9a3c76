"""Small figures that improvisers share, each by rule: what they are made of, and how a line takes them in.

Enclosures, approaches from either side, passing notes, cells of four notes and arpeggios from the third to the ninth
(drills/RULES.md, D6, common practice). A figure is a row of MIDI keys over one chord; nothing here knows the neck.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from drills.errors import EtudeError
from drills.harmony.chord_timeline import Tones, bar_starts, same_chord
from drills.lines.etude_steps import NoteStep
from drills.lines.hand_positions import NEVER
from drills.lines.line import Line

__all__ = ["UNITS", "Unit", "above_in_mode", "needed_difficulty", "prefer", "sounded", "unit_figures"]


@dataclass(frozen=True, slots=True)
class Unit:
    """A kind of figure.

    word: what it is asked for by. name: in words. spacing: of its notes in quarter notes. lands: whether its last
    note stands on a beat; else its first does. chromatic: whether it leaves the mode.
    """

    word: str
    name: str
    spacing: Fraction
    lands: bool
    chromatic: bool


UNITS = (
    Unit("enclosures", "Enclosures", Fraction(1, 3), True, True),
    Unit("approaches", "Approaches from both sides", Fraction(1, 2), True, True),
    Unit("passing", "Passing notes", Fraction(1, 2), False, True),
    Unit("cells", "Cells of four notes", Fraction(1, 2), False, False),
    Unit("ninths", "Arpeggios from the third to the ninth", Fraction(1, 2), False, False),
    Unit("guides", "Guide tones, each approached", Fraction(1, 2), True, True),
)
"""The kinds of figure (drills/RULES.md, D6)."""

_OTHER = 16
"""What any other note costs where a figure is wanted: more than a soft rule, less than what the hand cannot do."""


def above_in_mode(tones: Tones, key: int) -> int:
    """The note of the mode next above a key; a tone above where the mode is not known."""
    return next((key + step for step in (1, 2, 3) if (key + step) % 12 in tones.mode_notes), key + 2)


def _step_of(tones: Tones, number: int) -> int:
    """Semitones from the root to the mode's note of that number (2 the second, 9 the ninth)."""
    octave, place = divmod(number - 1, 7)
    for label, semitones in _degrees(tones).items():
        if label == place + 1:
            return semitones + 12 * octave
    return (0, 2, 4, 5, 7, 9, 11)[place] + 12 * octave


def _degrees(tones: Tones) -> dict[int, int]:
    """Semitones above the root by the number of the degree, the chord's own first.

    The perfect fifth of an altered dominant, which its mode has not, is none of them.
    """
    found: dict[int, int] = {}
    root = tones.chord.root.pitch_class
    for pitch_class, (_, label) in tones.names.items():
        if pitch_class not in tones.mode_notes.union(tones.chord_tones):
            continue
        found.setdefault(int(label.lstrip("b#")), (pitch_class - root) % 12)
    return found


def unit_figures(word: str, tones: Tones, root: int) -> Iterator[tuple[int, ...]]:
    """The figures of a kind over a chord, as MIDI keys, its root at the key `root`.

    Raises EtudeError for an unknown kind.
    """
    targets = [root + (pitch_class - root) % 12 for pitch_class in tones.chord_tones]
    if word == "enclosures":
        yield from ((above_in_mode(tones, key), key - 1, key) for key in targets)
    elif word in ("approaches", "guides"):
        for key in targets:
            if word == "approaches" or key % 12 in tones.guide_tones:
                yield key - 1, key
                yield above_in_mode(tones, key), key
    elif word == "passing":
        # From the root down to the seventh a tone below, through the semitone between (drills/RULES.md, D6).
        rows = sorted({key for key in (*targets, *(each + 12 for each in targets))}, reverse=True)
        yield from ((high, high - 1, low) for high, low in zip(rows, rows[1:], strict=False) if high - low == 2)
    elif word == "cells":
        for numbers in ((1, 2, 3, 5), (3, 4, 5, 7)):
            yield tuple(root + _step_of(tones, number) for number in numbers)
    elif word == "ninths":
        yield tuple(root + _step_of(tones, number) for number in (3, 5, 7, 9))
    else:
        raise EtudeError(f"figures {word[:24]!r}: expected some of {', '.join(unit.word for unit in UNITS)}")


def needed_difficulty(words: tuple[str, ...]) -> int:
    """The least difficulty of an etude line that can hold them: 3 with chromatic notes, else 2; 1 for none.

    Raises EtudeError for an unknown kind.
    """
    known = [unit.word for unit in UNITS]
    for word in words:
        if word not in known:
            raise EtudeError(f"etude line, with {word[:24]!r}: expected some of {', '.join(known)}")
    if not words:
        return 1
    return 3 if any(unit.chromatic for unit in UNITS if unit.word in words) else 2


def _windows(unit: Unit, places: list[tuple[Fraction, Fraction]], size: int) -> Iterator[int]:
    """Where so many notes follow each other at the unit's spacing with the right one on a beat.

    places: when each note is struck, and its place in the bar, both in quarter notes.
    """
    for first in range(len(places) - size + 1):
        struck = [at for at, _ in places[first : first + size]]
        even = all(b - a == unit.spacing for a, b in zip(struck, struck[1:], strict=False))
        on_beat = places[first + size - 1 if unit.lands else first][1]
        if even and on_beat.denominator == 1:
            yield first


def prefer(steps: list[NoteStep], words: tuple[str, ...], starts: tuple[Fraction, ...], random: Random) -> None:
    """Makes the wanted figures the cheaper notes, here and there, with room between them to lead from one to the next.

    starts: where each bar begins, in quarter notes. Raises EtudeError for an unknown kind.
    """
    import numpy as np

    needed_difficulty(words)
    keys = np.arange(len(steps[0].cost)) if steps else np.arange(0)
    places = [(step.onset.struck, step.onset.start - starts[step.onset.bar]) for step in steps]
    found = []
    for unit in (unit for unit in UNITS if unit.word in words):
        size = len(next(iter(unit_figures(unit.word, steps[0].tones, 60)), (0, 0, 0)))
        found += [(first, unit, size) for first in _windows(unit, places, size)]
    random.shuffle(found)
    taken: set[int] = set()
    for first, unit, size in found:
        room = range(first - 2, first + size + 2)
        goal = steps[first + size - 1 if unit.lands else first]
        inside = unit.lands or all(same_chord(step.span.chord, goal.span.chord) for step in steps[first : first + size])
        if taken & set(room) or not inside or any(step.onset.early for step in steps[first : first + size]):
            continue
        best: tuple[int, tuple[int, ...]] | None = None
        for octave in range(2, 7):
            root = 12 * octave + goal.tones.chord.root.pitch_class
            for figure in unit_figures(unit.word, goal.tones, root):
                price = sum(int(steps[first + number].cost[key]) for number, key in enumerate(figure))
                if price < NEVER and (best is None or price < best[0]):
                    best = price, figure
        if best is None:
            continue
        for number, key in enumerate(best[1]):
            cost = steps[first + number].cost
            cost[(keys != key) & (cost < NEVER)] += _OTHER
        taken |= set(range(first, first + size))


def sounded(line: Line, word: str) -> tuple[int, ...]:
    """The bars in which a kind of figure really sounds, by the number of the bar of its last note; some twice."""
    from drills.harmony.chord_timeline import spans_of, tones_of

    unit = next(each for each in UNITS if each.word == word)
    starts, spans = bar_starts(line.changes), spans_of(line.changes)
    places = []
    for note in line.notes:
        at = note.start + note.early
        bar = max(number for number, start in enumerate(starts[:-1]) if start <= at)
        places.append((note.start, at - starts[bar]))
    found = []
    for size in (2, 3, 4):
        for first in _windows(unit, places, size):
            notes = line.notes[first : first + size]
            goal = notes[-1] if unit.lands else notes[0]
            at = goal.start + goal.early
            span = next((each for each in spans if each.start <= at < each.end and each.chord is not None), None)
            if span is None:
                continue
            tones, row = tones_of(span), tuple(note.midi for note in notes)
            roots = [key for key in range(row[0] - 24, row[0] + 13) if key % 12 == tones.chord.root.pitch_class]
            if any(row == figure for root in roots for figure in unit_figures(word, tones, root)):
                found.append(notes[-1].bar)
    return tuple(found)
