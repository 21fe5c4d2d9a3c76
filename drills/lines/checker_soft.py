"""Scores a line by the soft rules for a line that is not musically bad (drills/RULES.md, D4, 10 to 18).

Nothing here bans a line: each rule says in how many places it is broken, and a teacher may well want it so.
Like the checker of the hard rules it looks at notes only and shares nothing with the search.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise

from drills.lines.checker import NoteInContext, heard_under
from drills.lines.line import Line
from drills.theory.chord import Chord

__all__ = ["SOFT_RULES", "SoftFault", "soft_faults", "soft_score"]

SOFT_RULES = {
    "10": "turns within about eight notes; between a fifth and two octaves in four bars",
    "11": "more than one length, rests, phrases that begin off beat 1 or off the root",
    "12": "bars of different contour, no literal sequence more than three times",
    "13": "phrases that land on 3, 5 or 9 of the chord, on a strong beat",
    "14": "chromatic notes one at a time, off the beat",
    "15": "not every bar an arpeggio in root order",
    "16": "not every phrase ends on the root",
    "17": "the hand moves no more than the harmony asks",
    "18": "no change of mode on a chord that passes within a beat",
}
"""The soft rules by their number in rule D4."""

_MOST_ONE_WAY = 9
"""Notes: "about eight", with one to spare."""
_NARROWEST, _WIDEST = 7, 24
"""Semitones: a fifth, two octaves."""
_MOST_ALIKE = 3
_FRETS_A_CHANGE = 2
"""No change of chord needs a root move of more than two frets (rule D1, first fact)."""
_STRETCH = 1
"""Frets a finger reaches out of position without the hand having moved (rule C2, 3)."""


@dataclass(frozen=True, slots=True)
class SoftFault:
    """A soft rule that a line breaks: its number in D4, in how many places, and what was found."""

    rule: str
    count: int
    message: str

    def __str__(self) -> str:
        return f"{self.message} (the rule: {SOFT_RULES[self.rule]})"


def soft_faults(line: Line) -> tuple[SoftFault, ...]:
    """Every soft rule the line breaks, in the order of the rules; empty for a line with none."""
    heard, stretches = heard_under(line)
    if not heard:
        return ()
    phrases = list(_phrases(heard))
    bars = [list(bar) for _, bar in groupby(heard, key=lambda each: each.note.bar)]
    found = [
        *_one_way(heard), *_range(line, heard), *_rhythm(heard, phrases), *_contours(bars), *_targets(phrases),
        *_chromatics(heard), *_root_order(bars), *_ends(phrases), *_movement(heard), *_passing(heard, stretches),
    ]  # fmt: skip
    return tuple(found)


def soft_score(line: Line) -> int:
    """Places in which soft rules are broken, all together; 0 is best."""
    return sum(fault.count for fault in soft_faults(line))


def _places(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _phrases(heard: list[NoteInContext]) -> Iterator[list[NoteInContext]]:
    """The notes between rests."""
    phrase = [heard[0]]
    for before, each in pairwise(heard):
        if each.note.start > before.note.end:
            yield phrase
            phrase = []
        phrase.append(each)
    yield phrase


def _above(each: NoteInContext) -> int | None:
    """Semitones above the root of the chord of the moment; None without a chord."""
    return None if each.chord is None else (each.note.midi - each.chord.root.pitch_class) % 12


def _strong(each: NoteInContext) -> bool:
    return each.place == 0 or (each.metre.beats % 2 == 0 and 2 * each.place == each.metre.quarters)


def _one_way(heard: list[NoteInContext]) -> Iterator[SoftFault]:
    signs = [(b.note.midi > a.note.midi) - (b.note.midi < a.note.midi) for a, b in pairwise(heard)]
    runs = [sum(1 for _ in run) + 1 for sign, run in groupby(signs) if sign]
    long = [run for run in runs if run > _MOST_ONE_WAY]
    if long:
        yield SoftFault("10", len(long), f"{max(long)} notes in one direction")


def _range(line: Line, heard: list[NoteInContext]) -> Iterator[SoftFault]:
    begins, last = line.changes.bars[0].number, line.changes.bars[-1].number
    found = []
    for first in range(begins, max(begins, last - 3) + 1):
        keys = [each.note.midi for each in heard if first <= each.note.bar < first + 4]
        if len(keys) > 4 and not _NARROWEST <= max(keys) - min(keys) <= _WIDEST:
            found.append(max(keys) - min(keys))
    if found:
        yield SoftFault("10", len(found), f"a range of {found[0]} semitones in four bars")


def _rhythm(heard: list[NoteInContext], phrases: list[list[NoteInContext]]) -> Iterator[SoftFault]:
    lengths = {each.note.length for each in heard[:-1]}
    if len(heard) > 4 and len(lengths) == 1 and len(phrases) == 1:
        yield SoftFault("11", 1, "one length throughout, no rest")
    if all(phrase[0].place == 0 and _above(phrase[0]) == 0 for phrase in phrases):
        yield SoftFault("11", 1, "every phrase begins on beat 1 and on the root")


def _steps(bar: list[NoteInContext]) -> tuple[int, ...]:
    return tuple(b.note.midi - a.note.midi for a, b in pairwise(bar))


def _contours(bars: list[list[NoteInContext]]) -> Iterator[SoftFault]:
    contours = [tuple((step > 0) - (step < 0) for step in _steps(bar)) for bar in bars if len(bar) > 2]
    if len(contours) > 2 and len(set(contours)) == 1:
        yield SoftFault("12", 1, "every bar has the same contour")
    alike = [sum(1 for _ in run) for steps, run in groupby(map(_steps, bars)) if len(steps) > 1]
    if max(alike, default=0) > _MOST_ALIKE:
        yield SoftFault("12", 1, f"the same figure {max(alike)} bars running")


def _targets(phrases: list[list[NoteInContext]]) -> Iterator[SoftFault]:
    missed = [phrase[-1] for phrase in phrases if not (_strong(phrase[-1]) and _arrives(phrase[-1]))]
    if missed:
        first = missed[0].note
        yield SoftFault(
            "13", len(missed), f"{_places(len(missed), 'phrase')} without a target, first at bar {first.bar}"
        )


def _arrives(each: NoteInContext) -> bool:
    """Whether a note is the 3rd, 5th or 9th of its chord; with no plain fifth, the altered one."""
    if each.chord is None:
        return False
    wanted = {interval.semitones % 12 for interval in each.chord.quality.intervals if interval.steps in (2, 4)}
    return _above(each) in wanted | {2}


def _chromatics(heard: list[NoteInContext]) -> Iterator[SoftFault]:
    outside = [each.chord is not None and each.note.midi % 12 not in each.scale for each in heard]
    two = sum(a and b for a, b in pairwise(outside))
    if two:
        yield SoftFault("14", two, f"{_places(two, 'time')} two chromatic notes in a row")
    on_beat = sum(out and each.place.denominator == 1 for out, each in zip(outside, heard, strict=True))
    if on_beat:
        yield SoftFault("14", on_beat, f"{_places(on_beat, 'chromatic note')} on the beat")


def _root_order(bars: list[list[NoteInContext]]) -> Iterator[SoftFault]:
    def plain(bar: list[NoteInContext]) -> bool:
        chord = bar[0].chord
        if chord is None or len(bar) < 3:
            return False
        keys = [each.note.midi for each in bar[: len(chord.quality.intervals)]]
        wanted = [keys[0] + step for step in chord.quality.semitones[: len(keys)]]
        return _above(bar[0]) == 0 and keys == wanted

    if len(bars) > 1 and all(map(plain, bars)):
        yield SoftFault("15", 1, "every bar is the arpeggio in root order")


def _ends(phrases: list[list[NoteInContext]]) -> Iterator[SoftFault]:
    if all(_above(phrase[-1]) == 0 for phrase in phrases):
        yield SoftFault("16", 1, "every phrase ends on the root")


def _movement(heard: list[NoteInContext]) -> Iterator[SoftFault]:
    hands = [each.note.fret - each.note.finger for each in heard if each.note.fret and each.note.finger]
    moved = sum(abs(b - a) for a, b in pairwise(hands) if abs(b - a) > _STRETCH)
    changes = len({each.stretch for each in heard}) - 1
    asked = _FRETS_A_CHANGE * max(1, changes)
    if moved > asked:
        yield SoftFault("17", 1, f"the hand moves {moved} frets in all where the changes of chord ask {asked} at most")


def _passing(
    heard: list[NoteInContext], stretches: list[tuple[Fraction, Fraction, Chord | None]]
) -> Iterator[SoftFault]:
    short = {index for index, (start, end, chord) in enumerate(stretches) if chord is not None and end - start <= 1}
    found = {
        each.stretch
        for each in heard
        if each.stretch in short and each.chord is not None and each.note.midi % 12 not in each.chord.pitch_classes
    }
    if found:
        yield SoftFault("18", len(found), f"{_places(len(found), 'chord')} of a beat with notes of a mode of its own")
