"""Where each chord sounds, in quarter notes from the start, with what it does and how its notes are spelled."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import accumulate

from drills.changes.changes import Bar, Changes, Metre, Slot
from drills.harmony.harmony import Function, analyse
from drills.shapes.form import Form
from drills.shapes.tones import scale_tones
from drills.theory.altered_dominant import with_altered_fifth
from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.mode import Mode
from drills.theory.note import Note

__all__ = ["Span", "Tones", "bar_starts", "click_quarters", "same_chord", "spans_of", "tones_of"]


@dataclass(frozen=True, slots=True)
class Span:
    """One chord of a bar, placed.

    bar, slot: as written and played. start, length: in quarter notes, from the start of the
    changes. function: what the chord does, or None for no chord.
    """

    bar: Bar
    slot: Slot
    start: Fraction
    length: Fraction
    function: Function | None = field(default=None, compare=False)

    @property
    def chord(self) -> Chord | None:
        """The chord, or None for no chord."""
        return self.slot.chord

    @property
    def sounding(self) -> Chord:
        """The chord of a span known to have one; raises ValueError where there is no chord."""
        return self.slot.sounding

    @property
    def spelled(self) -> Chord:
        """The chord whose tones an arpeggio of it plays: the sounding one, or with a raised fifth where it is altered.

        Raises ValueError where there is no chord.
        """
        return with_altered_fifth(self.sounding)

    @property
    def mode(self) -> Mode | None:
        """The mode that goes with the chord, or None."""
        return self.function.mode if self.function else None

    @property
    def end(self) -> Fraction:
        """Where the next chord begins, in quarter notes from the start."""
        return self.start + self.length


def bar_starts(changes: Changes) -> tuple[Fraction, ...]:
    """Where each bar begins, in quarter notes from the start, and last where the whole ends."""
    return tuple(accumulate((bar.metre.quarters for bar in changes.bars), initial=Fraction(0)))


def spans_of(changes: Changes) -> tuple[Span, ...]:
    """Every chord in playing order with its place and its function."""
    functions = iter(analyse(changes))
    found = []
    for bar, start in zip(changes.bars, bar_starts(changes)[:-1], strict=True):
        beat = Fraction(4, bar.metre.unit)
        for slot in bar.chords:
            found.append(Span(bar, slot, start + (slot.beat - 1) * beat, slot.beats * beat, next(functions)))
    return tuple(found)


def click_quarters(metre: Metre) -> Fraction:
    """Length of the felt beat in quarter notes: a dotted quarter in 6/8, 9/8 and 12/8."""
    compound = metre.unit == 8 and metre.beats > 3 and metre.beats % 3 == 0
    return Fraction(3, 2) if compound else Fraction(4, metre.unit)


def same_chord(one: Chord | None, other: Chord | None) -> bool:
    """Whether two chords sound alike, so that going from one to the other is no change."""
    if one is None or other is None:
        return one is other
    return one.same_sound(other)


@dataclass(frozen=True)
class Tones:
    """The notes of one chord and its mode, by pitch class.

    chord: the chord; mode: or None when only the chord's own tones are known.
    """

    chord: Chord
    mode: Mode | None

    @cached_property
    def _scale(self) -> tuple[Interval, ...]:
        if self.mode is None:
            return ()
        if not set(self.chord.quality.semitones) <= self.mode.pitch_classes:
            return self.mode.intervals
        return scale_tones(self.chord.quality, Form("scale", closed=False, mode=self.mode.name), 1)

    @cached_property
    def names(self) -> dict[int, tuple[Note, str]]:
        """Spelled note and degree label by pitch class: the chord's spelling first, then the mode's."""
        found: dict[int, tuple[Note, str]] = {}
        for interval in (*self.chord.quality.intervals, *self._scale):
            note = transpose_note(self.chord.root, interval)
            found.setdefault(note.pitch_class, (note, interval.degree))
        return found

    @cached_property
    def chord_tones(self) -> tuple[int, ...]:
        """Pitch classes of the chord from the root up; an altered dominant leaves its plain fifth out."""
        steps = self.chord.quality.semitones
        if self.mode is not None and not set(steps) <= self.mode.pitch_classes:
            steps = tuple(step for step in steps if step % 12 in self.mode.pitch_classes)
        return tuple((self.chord.root.pitch_class + step) % 12 for step in steps)

    @cached_property
    def mode_notes(self) -> frozenset[int]:
        """Pitch classes of the mode, chord tones included."""
        root = self.chord.root.pitch_class
        scale = {(root + interval.semitones) % 12 for interval in self._scale}
        return frozenset(scale or self.chord_tones)

    @cached_property
    def guide_tones(self) -> tuple[int, int]:
        """Pitch classes of the two tones that tell the chord: 3rd and 7th.

        A sixth stands for a missing seventh and a fourth or second for a missing third;
        a triad gives its third (or what stands for it) and its fifth.
        """
        intervals = self.chord.quality.intervals
        by_step = {interval.steps: interval.semitones for interval in intervals}
        third = next((by_step[step] for step in (2, 3, 1) if step in by_step), intervals[1].semitones)
        seventh = next((by_step[step] for step in (6, 5, 4) if step in by_step), intervals[-1].semitones)
        root = self.chord.root.pitch_class
        return (root + third) % 12, (root + seventh) % 12

    @cached_property
    def ninth(self) -> int | None:
        """Pitch class of the mode's second note, None where there is none or the fifth is not perfect.

        With the third, fifth and seventh it spells a chord, so that a line may leap to it (drills/RULES.md, D4, 5).
        """
        if 7 not in self.chord.quality.semitones:
            return None
        return next((key for key, (_, label) in self.names.items() if label.lstrip("b#") in ("2", "9")), None)

    @cached_property
    def has_major_seventh(self) -> bool:
        """Whether the root lies a semitone above the chord's own seventh."""
        return 11 in self.chord.quality.semitones

    @cached_property
    def avoid(self) -> frozenset[int]:
        """Pitch classes that spoil the chord when they are held or fall on a beat (drills/RULES.md, D4, 2).

        The fourth over a major third; the flat second over a minor chord.
        """
        steps = set(self.chord.quality.semitones)
        found = {5} if 4 in steps else {1} if {3, 7} <= steps else set()
        return frozenset((self.chord.root.pitch_class + step) % 12 for step in found)


def tones_of(span: Span) -> Tones:
    """The notes of a span's chord and mode; raises ValueError where there is no chord."""
    if span.chord is None:
        raise ValueError(f"bar {span.bar.number}, beat {span.slot.beat}: there is no chord here")
    return _tones(span.chord, span.mode)


@lru_cache(maxsize=4096)
def _tones(chord: Chord, mode: Mode | None) -> Tones:
    return Tones(chord, mode)
