"""Tests a line against the hard rules for a line that is not musically bad (drills/RULES.md, D4, 1 to 9).

It is written apart from the search that makes lines and shares nothing with it but the values: what
it is given is notes, and it looks at each rule by itself, as a teacher with a pencil would.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise

from drills.changes.changes import Metre
from drills.harmony.harmony import analyse
from drills.lines.checker_hand import hand_faults
from drills.lines.line import Line, LineNote
from drills.theory.chord import Chord
from drills.theory.mode import Mode
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities

__all__ = ["RULES", "Fault", "NoteInContext", "check_line", "heard_under"]

RULES = {
    "1": "no note outside the chord on beat 1 or 3",
    "2": "no avoid note long or on a beat",
    "3": "a bar line is joined within a major third, and a new chord's 3rd or 7th sounds within two beats",
    "4": "the 7th of V falls and its 3rd stays or rises",
    "5": "a leap above a sixth steps back; two leaps one way spell a chord",
    "6": "no note twice running, no two notes rocking more than twice",
    "7": "right spelling",
    "8": "playable",
    "9": "on the instrument",
}
"""The hard rules by their number in rule D4."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A broken rule: its number in D4, the index of the note, where it is, and what is wrong in words."""

    rule: str
    index: int
    bar: int
    beat: Fraction
    message: str

    def __str__(self) -> str:
        return f"bar {self.bar}, beat {self.beat}: {self.message} (the rule: {RULES[self.rule]})"


@dataclass(frozen=True, slots=True)
class NoteInContext:
    """A note with what sounds under it.

    chord: or None. numeral: the chord's place in its key. scale: the right name of each pitch class. metre: of
    its bar. place: in the bar, in quarter notes. stretch: index of the run of one chord it falls in. bar: its
    number. at: where it belongs, in quarter notes from the beginning. A note that anticipates a beat is heard with
    the chord, bar and place of that beat.
    """

    note: LineNote
    chord: Chord | None
    numeral: str
    scale: dict[int, Note]
    metre: Metre
    place: Fraction
    stretch: int
    bar: int
    at: Fraction


def heard_under(line: Line) -> tuple[list[NoteInContext], list[tuple[Fraction, Fraction, Chord | None]]]:
    """Every note with its chord, and the stretches of one chord as (start, end, chord)."""
    functions = iter(analyse(line.changes))
    slots = []
    stretches: list[tuple[Fraction, Fraction, Chord | None]] = []
    at = Fraction(0)
    bars = []
    for bar in line.changes.bars:
        bars.append(at)
        for slot in bar.chords:
            function = next(functions)
            start = at + (slot.beat - 1) * 4 / Fraction(bar.metre.unit)
            end = start + slot.beats * 4 / Fraction(bar.metre.unit)
            chord = slot.chord
            if stretches and _alike(stretches[-1][2], chord):
                stretches[-1] = (stretches[-1][0], end, chord)
            else:
                stretches.append((start, end, chord))
            slots.append((start, end, chord, function, len(stretches) - 1))
        at += Fraction(4 * bar.metre.beats, bar.metre.unit)
    heard = []
    index = 0
    for note in line.notes:
        at = note.start + note.early
        while index + 1 < len(slots) and at >= slots[index][1]:
            index += 1
        _, _, chord, function, stretch = slots[index]
        place = note.bar - line.changes.bars[0].number
        while place + 1 < len(bars) and at >= bars[place + 1]:
            place += 1
        bar = line.changes.bars[place]
        numeral = function.numeral if function else ""
        scale = _spelling(chord, function.mode if function else None)
        heard.append(NoteInContext(note, chord, numeral, scale, bar.metre, at - bars[place], stretch, bar.number, at))
    return heard, stretches


def _alike(one: Chord | None, other: Chord | None) -> bool:
    if one is None or other is None:
        return one is None and other is None
    return one.root.pitch_class == other.root.pitch_class and one.quality.name == other.quality.name


def _spelling(chord: Chord | None, mode: Mode | None) -> dict[int, Note]:
    """The right name of each pitch class: the chord's own names, then the mode's."""
    if chord is None:
        return {}
    names = {note.pitch_class: note for note in mode.notes(chord.root)} if mode else {}
    return names | {note.pitch_class: note for note in chord.notes}


def check_line(
    line: Line, *, frets: tuple[int, int] | None = None, most_frets: int = 36, tempo: bool = True
) -> tuple[Fault, ...]:
    """Every broken hard rule, in the order of the notes; empty for a good line.

    frets: the window the line was asked to keep, both ends included. most_frets: the top
    fret of the player's neck. tempo: whether the line is to be played in tempo, so
    that the hand may move only on a beat.
    """
    heard, stretches = heard_under(line)
    notes = [each.note for each in heard]
    faults = [
        *_anticipations(heard),
        *_strong_beats(heard),
        *_avoided(heard),
        *_joins(heard),
        *_told(heard, stretches),
        *_resolutions(heard),
        *_leaps(heard),
        *_repeats(notes),
        *_spelled(heard),
        *_on_instrument(line, frets, most_frets),
    ]
    faults += [_fault("8", index, heard, message) for index, message in hand_faults(notes, _groups(heard), tempo)]
    return tuple(sorted(faults, key=lambda fault: (fault.index, fault.rule)))


def _fault(rule: str, index: int, heard: list[NoteInContext], message: str) -> Fault:
    note = heard[index].note
    return Fault(rule, index, note.bar, note.beat, message)


def _beat_quarters(metre: Metre) -> Fraction:
    """A beat in quarter notes: three eighths in 6/8, 9/8 and 12/8."""
    if metre.unit == 8 and metre.beats % 3 == 0 and metre.beats > 3:
        return Fraction(3, 2)
    return Fraction(4, metre.unit)


def _in_the_middle(each: NoteInContext) -> bool:
    """Whether a note stands in the middle of a bar of an even number of beats."""
    return each.metre.beats % 2 == 0 and 2 * each.place == each.metre.quarters


def _groups(heard: list[NoteInContext]) -> list[bool]:
    """Whether each note begins a group under one beam: at a bar line, the middle of a bar or a new chord."""
    found = []
    for index, each in enumerate(heard):
        before = heard[index - 1] if index else None
        new = before is None or before.bar != each.bar or before.stretch != each.stretch
        found.append(new or _in_the_middle(each))
    return found


def _anticipations(heard: list[NoteInContext]) -> Iterator[Fault]:
    """A note anticipates a beat by half a beat at most, sounds over it, and nothing else is struck before the beat."""
    for index, each in enumerate(heard):
        if not each.note.early:
            continue
        beat = Fraction(4, each.metre.unit)
        over = each.note.end > each.at
        alone = index + 1 == len(heard) or heard[index + 1].note.start > each.at
        if not (0 < each.note.early <= beat / 2 and (each.place / beat).denominator == 1 and over and alone):
            yield _fault("1", index, heard, f"{each.note.place} anticipates no beat: it must sound over one")


def _strong_beats(heard: list[NoteInContext]) -> Iterator[Fault]:
    for index, each in enumerate(heard):
        if each.chord is None or not (each.place == 0 or _in_the_middle(each)):
            continue
        if each.note.midi % 12 not in each.chord.pitch_classes:
            where = "1" if each.place == 0 else "3" if each.metre.beats == 4 else "the middle of the bar"
            yield _fault("1", index, heard, f"{each.note.place} on beat {where} is no note of {each.chord.name}")


def _avoided(heard: list[NoteInContext]) -> Iterator[Fault]:
    for index, each in enumerate(heard):
        if each.chord is None:
            continue
        above = (each.note.midi - each.chord.root.pitch_class) % 12
        steps = set(each.chord.quality.semitones)
        beat = _beat_quarters(each.metre)
        on_beat_or_long = (each.place / beat).denominator == 1 or each.note.length >= beat
        name = f"{each.note.place} over {each.chord.name}"
        if above == 5 and 4 in steps and on_beat_or_long:
            yield _fault("2", index, heard, f"{name}: the fourth against its third")
        if above == 1 and each.numeral == "iii" and on_beat_or_long:
            yield _fault("2", index, heard, f"{name}: the flat second on iii")
        if above == 0 and 11 in steps and each.note.length >= 2 * beat:
            yield _fault("2", index, heard, f"{name}: the root held over its own seventh")


def _joins(heard: list[NoteInContext]) -> Iterator[Fault]:
    for index, (before, each) in enumerate(pairwise(heard), 1):
        size = abs(each.note.midi - before.note.midi)
        if before.bar != each.bar and size > 4:
            yield _fault("3", index, heard, f"{before.note.place} to {each.note.place} joins by {size} semitones")


def _told(heard: list[NoteInContext], stretches: list[tuple[Fraction, Fraction, Chord | None]]) -> Iterator[Fault]:
    """A new chord's third or seventh within its first two beats, where the line sounds at all."""
    first: dict[int, int] = {}
    for index, each in enumerate(heard):
        first.setdefault(each.stretch, index)
    for stretch, index in first.items():
        start, end, chord = stretches[stretch]
        if chord is None:
            continue
        limit = min(end, start + 2 * _beat_quarters(heard[index].metre))
        early = [each for each in heard[index:] if each.stretch == stretch and each.at < limit]
        told = {(chord.root.pitch_class + step) % 12 for step in _telling(chord)}
        if early and not any(each.note.midi % 12 in told for each in early):
            yield _fault("3", index, heard, f"neither 3rd nor 7th of {chord.name} within two beats")


def _telling(chord: Chord) -> set[int]:
    """Semitones of the 3rd (or what is suspended in its place) and the 7th (or 6th); a triad's 3rd and 5th."""
    seconds_to_fourths = [interval.semitones for interval in chord.quality.intervals if interval.steps in (1, 3)]
    thirds = [interval.semitones for interval in chord.quality.intervals if interval.steps == 2]
    fifths = [interval.semitones for interval in chord.quality.intervals if interval.steps == 4]
    tops = [interval.semitones for interval in chord.quality.intervals if interval.steps in (5, 6)]
    return {*(thirds or seconds_to_fourths), *(tops or fifths)}


def _resolutions(heard: list[NoteInContext]) -> Iterator[Fault]:
    for index, (before, each) in enumerate(pairwise(heard), 1):
        if before.chord is None or each.chord is None or before.stretch == each.stretch:
            continue
        steps = set(before.chord.quality.semitones)
        fifth_down = (each.chord.root.pitch_class - before.chord.root.pitch_class) % 12 == 5
        if not (fifth_down and 4 in steps and 10 in steps):
            continue
        above = (before.note.midi - before.chord.root.pitch_class) % 12
        moved = each.note.midi - before.note.midi
        if above == 10 and moved not in (-1, -2):
            yield _fault("4", index, heard, f"the 7th of {before.chord.name}, {before.note.place}, does not fall")
        if above == 4 and moved not in (0, 1, 2):
            yield _fault("4", index, heard, f"the 3rd of {before.chord.name}, {before.note.place}, does not rise")


@cache
def _chord_sets() -> frozenset[frozenset[int]]:
    """Pitch-class sets of every known chord on every root."""
    return frozenset(
        frozenset((root + step) % 12 for step in quality.semitones)
        for quality in shipped_qualities()
        for root in range(12)
    )


@cache
def _spells(classes: frozenset[int]) -> bool:
    return any(classes <= known for known in _chord_sets())


def _leaps(heard: list[NoteInContext]) -> Iterator[Fault]:
    keys = [each.note.midi for each in heard]
    for index in range(1, len(keys)):
        size = keys[index] - keys[index - 1]
        after = keys[index + 1] - keys[index] if index + 1 < len(keys) else 0
        if abs(size) > 9 and not (size * after < 0 and abs(after) <= 2):
            yield _fault("5", index, heard, f"a leap of {abs(size)} semitones is not followed by a step back")
        if min(size, after) > 2 or max(size, after) < -2:
            three = frozenset(key % 12 for key in keys[index - 1 : index + 2])
            if not _spells(three):
                yield _fault("5", index, heard, "two leaps in one direction spell no chord")


def _repeats(notes: list[LineNote]) -> Iterator[Fault]:
    keys = [note.midi for note in notes]
    for index in range(1, len(keys)):
        note = notes[index]
        if keys[index] == keys[index - 1]:
            yield Fault("6", index, note.bar, note.beat, f"{note.place} twice running")
        if index >= 5 and keys[index - 5 : index - 3] * 3 == keys[index - 5 : index + 1]:
            yield Fault("6", index, note.bar, note.beat, f"{notes[index - 1].place} and {note.place} rock")


def _spelled(heard: list[NoteInContext]) -> Iterator[Fault]:
    for index, each in enumerate(heard):
        if each.chord is None:
            continue
        name = each.note.pitch.note
        right = each.scale.get(name.pitch_class)
        if right is not None and right != name:
            yield _fault("7", index, heard, f"{name} over {each.chord.name} is spelled {right}")
        if right is None and index + 1 < len(heard):
            goal = heard[index + 1].note.pitch.note
            if (goal.step - name.step) % 7 not in (0, 1, 6):
                yield _fault("7", index, heard, f"{name} does not lead by letter to {goal}")


def _on_instrument(line: Line, frets: tuple[int, int] | None, most_frets: int) -> Iterator[Fault]:
    for index, note in enumerate(line.notes):
        where = (index, note.bar, note.beat)
        if not 0 <= note.fret <= most_frets:
            yield Fault("9", *where, f"fret {note.fret} is not on a neck of {most_frets}")
            continue
        sounding = line.tuning.midi(note.string, note.fret)
        if sounding != note.midi:
            yield Fault("9", *where, f"{note.place} names key {note.midi}, but the string sounds {sounding}")
        if frets and not frets[0] <= note.fret <= frets[1]:
            yield Fault("8", *where, f"{note.place} is outside frets {frets[0]} to {frets[1]}")
