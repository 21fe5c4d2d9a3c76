"""What each note of an etude line may be, and what it costs: the hard rules as limits, the soft ones as prices.

The rules are drills/RULES.md, D4 (common practice); the prices are whole numbers chosen so
that a step is free, a third nearly so, and no soft rule outweighs the hand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from math import pi, sin
from random import Random
from typing import TYPE_CHECKING

from drills.changes.changes import Changes
from drills.harmony.chord_timeline import Span, Tones, bar_starts, click_quarters, same_chord, tones_of
from drills.lines.etude_options import CHORD_TONES, WITH_CHROMATICS, EtudeOptions
from drills.lines.hand_positions import NEVER
from drills.lines.onset import Onset, is_strong
from drills.lines.rhythm import pulses

if TYPE_CHECKING:
    from drills.lines.hand_positions import Flags, Numbers

__all__ = ["BOTTOM", "KEYS", "NoteStep", "steps_of"]

BOTTOM, KEYS = 0, 128
"""MIDI keys are the index of every table here."""

_WEAK_BEAT_MODE = 6
"""A note of the mode on a weak beat, or held: the chord is heard best with its own tones there."""
_ARRIVAL = 2
"""A new chord that does not begin on its third or seventh (rule 13: the line should arrive)."""
_LAST_ON_ROOT, _LAST_NOT_TARGET = 4, 8
"""A phrase that ends on the root of its chord, or on neither 3, 5 nor 9 (rules 13 and 16)."""
_PHRASE_ON_ROOT = 3
"""A phrase that begins on the root (rule 11)."""
_CHROMATIC = 1
_CHORD_TONE_BETWEEN = 2
"""Where the mode is asked for, a chord tone between the beats (rule 15: an arpeggio in every bar is exercise)."""
_STRAY = 2
"""Semitones from the wished-for contour that cost one (rules 10 and 12: it turns every bar or two).

The seed adds 0 to 3 to each note besides: enough to choose among near equals.
"""


@dataclass(eq=False)
class NoteStep:
    """One note to be found.

    onset: when. span, tones: the chord it falls in; slot: that chord's index.
    cost: by MIDI key, NEVER where not allowed. chord_tone, guide, chromatic: by MIDI key. leapt: among which leaps
        may follow one way, the chord tones and where arpeggios to the ninth are wanted the ninth.
    same: whether the note before falls in the same chord. join: whether a bar line or a new chord lies
        between. leading: pitch classes of third and seventh of the dominant before that resolves here.
    may_move: whether the hand may move before this note. far: whether it may move any distance.
    opens: first note within two beats of a new chord. closes: last of them: a guide tone must
        have sounded by now.
    """

    onset: Onset
    slot: int
    span: Span
    tones: Tones
    cost: Numbers
    chord_tone: Flags
    guide: Flags
    chromatic: Flags
    leapt: Flags
    same: bool = False
    join: bool = False
    leading: tuple[int, int] | None = None
    may_move: bool = False
    far: bool = False
    opens: bool = False
    closes: bool = False
    fixed: frozenset[int] | None = field(default=None)


def _resolves(before: Span, after: Span) -> bool:
    """Whether a dominant seventh goes down a fifth."""
    if before.chord is None or after.chord is None:
        return False
    steps = set(before.chord.quality.semitones)
    return {4, 10} <= steps and (after.chord.root.pitch_class - before.chord.root.pitch_class) % 12 == 5


def steps_of(
    changes: Changes,
    spans: tuple[Span, ...],
    rhythm: tuple[Onset, ...],
    options: EtudeOptions,
    compass: tuple[int, int],
    random: Random,
) -> list[NoteStep]:
    """A step for each onset.

    compass: lowest and highest MIDI key the neck window holds; the contour lies inside it.
    """
    import numpy as np

    starts = bar_starts(changes)
    low, high = compass
    if options.pitches:
        low, high = max(low, options.pitches[0]), min(high, options.pitches[1])
    keys = np.arange(KEYS)
    outside = (keys < low) | (keys > high)
    wished = _contour(options.direction, low, high, options.density, random)
    found: list[NoteStep] = []
    new_at: dict[int, Fraction] = {}
    sounding: Span | None = None
    for index, span in enumerate(spans):
        if span.chord is not None and not (sounding and same_chord(sounding.chord, span.chord)):
            new_at[index] = span.start
        sounding = span
    place = 0
    tables: dict[tuple[object, ...], tuple[Numbers, Flags, Flags, Flags]] = {}
    chord_began = 0
    for number, onset in enumerate(rhythm):
        while place + 1 < len(spans) and spans[place].end <= onset.start:
            place += 1
            if place in new_at:
                chord_began = place
        span = spans[place]
        metre = changes.bars[onset.bar].metre
        where = onset.start - starts[onset.bar]
        before = found[-1] if found else None
        last = number == len(rhythm) - 1
        first_of_chord = before is None or not same_chord(before.span.chord, span.chord)
        click = click_quarters(metre)
        tones = tones_of(span)
        strong = is_strong(metre, where) or first_of_chord
        on_beat = where in pulses(metre)
        on_click = (where / click).denominator == 1
        held = onset.sounding >= click
        key = (span.chord, span.mode, strong, on_beat, on_click, held, onset.sounding >= 2 * click)
        if key not in tables:
            tables[key] = _tables(tones, options, *key[2:])
        cost, chord_tone, guide, chromatic = tables[key]
        cost = cost.copy()
        phrase = before is None or before.onset.start + before.onset.length < onset.struck
        root = tones.chord.root.pitch_class
        if first_of_chord:
            cost[~guide] += _ARRIVAL
        if phrase:
            cost[keys % 12 == root] += _PHRASE_ON_ROOT
        if last or rhythm[number + 1].struck > onset.start + onset.length:
            cost[chromatic] = NEVER  # it would lead nowhere
            third = tones.guide_tones[0]
            cost[keys % 12 == root] += _LAST_ON_ROOT
            cost[~np.isin(keys % 12, (third, (root + 7) % 12, (root + 2) % 12))] += _LAST_NOT_TARGET
        cost += _noise(random) + np.abs(keys - wished(onset.start)) // _STRAY
        cost[outside] = NEVER
        cost = np.minimum(cost, NEVER).astype(np.int32)
        leapt = chord_tone
        if "ninths" in options.figures and tones.ninth is not None:
            leapt = chord_tone | (keys % 12 == tones.ninth)
        step = NoteStep(onset, place, span, tones, cost, chord_tone, guide, chromatic, leapt)
        if before is not None:
            step.same = not first_of_chord
            step.join = onset.bar != before.onset.bar or first_of_chord
            if first_of_chord and _resolves(before.span, span):
                step.leading = before.tones.guide_tones
        step.far = phrase
        step.may_move = phrase or strong
        began = new_at.get(chord_began)
        # Two beats, but no more than two quarters where the beat is longer than a quarter.
        window = 2 * (click if click == Fraction(3, 2) else min(click, Fraction(1)))
        if began is not None and onset.start < began + window:
            step.opens = before is None or before.onset.start < began
            following = rhythm[number + 1].start if not last else None
            span_end = _chord_end(spans, place)
            step.closes = following is None or following >= min(began + window, span_end)
        found.append(step)
    return found


def _noise(random: Random) -> Numbers:
    """A number from 0 to 3 for each MIDI key."""
    import numpy as np

    pairs = np.frombuffer(random.getrandbits(2 * KEYS).to_bytes(KEYS // 4, "big"), np.uint8)
    return (pairs[:, None] >> np.array([0, 2, 4, 6], np.uint8) & 3).ravel().astype(np.int64)


def _chord_end(spans: tuple[Span, ...], place: int) -> Fraction:
    """Where the chord of a span stops sounding, its repetitions included."""
    while place + 1 < len(spans) and same_chord(spans[place].chord, spans[place + 1].chord):
        place += 1
    return spans[place].end


def _tables(
    tones: Tones, options: EtudeOptions, strong: bool, on_beat: bool, on_click: bool, held: bool, long: bool
) -> tuple[Numbers, Flags, Flags, Flags]:
    """Cost, chord tones, guide tones and chromatic notes by MIDI key."""
    import numpy as np

    classes = np.arange(KEYS) % 12
    chord_tone = np.isin(classes, tones.chord_tones)
    guide = np.isin(classes, tones.guide_tones)
    mode = np.isin(classes, tuple(tones.mode_notes))
    chromatic = np.zeros(KEYS, bool)
    cost = np.full(KEYS, NEVER, np.int64)
    cost[chord_tone] = 0
    if options.difficulty > CHORD_TONES and not strong:
        between = mode & ~chord_tone
        if on_beat and options.density != "quarters":
            between = np.zeros(KEYS, bool)  # chord tones on the beats (rule D2, stage 7)
        if on_click or held:
            between &= ~np.isin(classes, tuple(tones.avoid))
        cost[between] = _WEAK_BEAT_MODE if on_beat or held else 0
        if not (on_beat or held):
            cost[chord_tone] = _CHORD_TONE_BETWEEN
            if options.difficulty >= WITH_CHROMATICS:
                chromatic = ~mode & ~chord_tone
                cost[chromatic] = _CHROMATIC
                cost[between] = _CHROMATIC + 1
    if long and tones.has_major_seventh:
        cost[classes == tones.chord.root.pitch_class] = NEVER
    return cost, chord_tone, guide, chromatic


_A_QUARTER = {"quarters": 1, "triplets": 3}
"""Notes to a quarter where they are not two."""


def _contour(direction: str, low: int, high: int, density: str, random: Random) -> Callable[[Fraction], int]:
    """The pitch (MIDI key) a line leans to at a place, as a function of the place in quarters.

    Waves turn after six to eight notes (rule 10) and lean about a semitone a note to either side of the middle.
    """
    centre = (low + high) / 2
    one_way, phase = random.choice((6, 7, 8)), random.random() * 2 * pi
    period = 2 * one_way / _A_QUARTER.get(density, 2)
    wide, reach = min(10.0, (high - low) / 2), min(float(one_way), (high - low) / 2)

    def wished(place: Fraction) -> int:
        if direction == "waves":
            return round(centre + reach * sin(2 * pi * float(place) / period + phase))
        part = float(place % 8) / 8
        return round(centre + wide * (2 * part - 1 if direction == "up" else 1 - 2 * part))

    return wished
