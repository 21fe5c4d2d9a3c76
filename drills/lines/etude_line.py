"""Etude lines: practice melodies over changes, each note with its place, its finger and its reason.

An etude line is found by search and is never called improvisation. The player may change any
note and have the rest found again around it. A demonstration is two such lines over the same changes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from drills.changes.changes import Changes
from drills.errors import EtudeError
from drills.harmony.chord_timeline import bar_starts, spans_of
from drills.lines.etude_options import CHORD_TONES, WITH_MODE, EtudeOptions
from drills.lines.etude_search import Hold, cheapest_line
from drills.lines.etude_steps import KEYS, NoteStep, steps_of
from drills.lines.hand_positions import NEVER, hands_of
from drills.lines.line import CHROMATIC, Line, LineNote
from drills.lines.note_reasons import chromatic_name, reason, role_of
from drills.lines.onset import Onset, is_strong
from drills.lines.rhythm import onsets
from drills.lines.vocabulary import prefer, sounded
from drills.neck.neck import Neck
from drills.theory.note import pitch_of

__all__ = ["Etude", "change_note", "demonstration", "etude_line"]

_DRAWS = 12
"""Rhythms tried where rests are drawn by chance."""

_EARLY_DRAWS, _PHRASE_DRAWS = 8, 14
"""Of phrases the first drawings may anticipate beats, the next only rest; what comes after is plainer."""

_KEEP = 12
"""The cost of changing a note that the player did not ask to change."""


@dataclass(frozen=True, slots=True)
class Etude:
    """An etude line with what it was made from.

    fixed: MIDI keys the player chose, by index of the note; refused: keys the player refused.
    draw: which drawing of rests the line was found over, 0 the first.
    """

    line: Line
    neck: Neck
    options: EtudeOptions
    fixed: tuple[tuple[int, int], ...] = ()
    refused: tuple[tuple[int, int], ...] = ()
    draw: int = 0


def etude_line(changes: Changes, neck: Neck, options: EtudeOptions | None = None) -> Etude:
    """The etude line of least cost that breaks no hard rule of drills/RULES.md, D4.

    The same changes, neck and options always give the same line. Rests that leave no note for a
    chord are drawn anew, a few times. Raises EtudeError, naming the bar, when no such line exists.
    """
    options = options or EtudeOptions()
    for draw in range({"space": _DRAWS, "phrases": _PHRASE_DRAWS + _DRAWS + 1}.get(options.density, 1)):
        try:
            return _solved(changes, neck, options, draw)
        except EtudeError as error:
            none = error
    raise none


def change_note(etude: Etude, index: int, midi: int | None = None) -> Etude:
    """The line with one note changed and the rest found again around it.

    index: of the note, from 0. midi: the key wanted there, or None for any other than now.
    Other notes change only where they must. Raises EtudeError when the index is not
    there or no line obeys every hard rule with that note.
    """
    notes = etude.line.notes
    if not 0 <= index < len(notes):
        raise EtudeError(f"etude line, note {index}: expected 0 to {len(notes) - 1}")
    fixed = {place: key for place, key in etude.fixed if place != index}
    refused = set(etude.refused)
    if midi is None:
        refused.add((index, notes[index].midi))
    else:
        fixed[index] = midi
        refused = {pair for pair in refused if pair[0] != index}
    return _solved(
        etude.line.changes, etude.neck, etude.options, etude.draw,
        tuple(sorted(fixed.items())), tuple(sorted(refused)), etude.line.notes,
    )  # fmt: skip


def _solved(
    changes: Changes,
    neck: Neck,
    options: EtudeOptions,
    draw: int = 0,
    fixed: tuple[tuple[int, int], ...] = (),
    refused: tuple[tuple[int, int], ...] = (),
    before: tuple[LineNote, ...] = (),
) -> Etude:
    import numpy as np

    window = options.window(neck)
    hands = hands_of(neck, window, options.strings)
    random = Random(f"etude line {options.seed}" + (f", draw {draw}" if draw else ""))
    spans = spans_of(changes)
    density = options.density
    if density == "phrases" and draw >= _PHRASE_DRAWS:
        density = "space" if draw < _PHRASE_DRAWS + _DRAWS else "eighths"
    rhythm = onsets(
        changes, spans, density, random, early=draw < _EARLY_DRAWS, triplets="enclosures" in options.figures
    )
    compass = int(hands.midi[hands.valid].min()), int(hands.midi[hands.valid].max())
    steps = steps_of(changes, spans, rhythm, options, compass, random)
    for step in steps:
        if options.places is not None:
            places = options.places.get(step.slot, frozenset())
            step.fixed = frozenset(string * 64 + fret for string, fret in places)
    if options.figures:
        prefer(steps, options.figures, bar_starts(changes), random)
    keys = np.arange(KEYS)
    for index, note in enumerate(before):
        steps[index].cost[(keys != note.midi) & (steps[index].cost < NEVER)] += _KEEP
    for index, midi in fixed:
        _may_stand(steps[index], midi)
        steps[index].cost[keys != midi] = NEVER
    for index, midi in refused:
        steps[index].cost[midi] = NEVER
    holds = cheapest_line(hands, steps, options.widest_shift)
    title = f"Etude line over {changes.title}" if changes.title else "Etude line"
    line = Line(title, changes, neck.sounding, _notes(changes, steps, holds))
    line = replace(line, remarks=tuple(_told_figures(line, word) for word in options.figures))
    return Etude(line, neck, options, fixed, refused, draw)


def _may_stand(step: NoteStep, midi: int) -> None:
    """Raises EtudeError, with the notes that may, when a note may not stand at a step by the hard rules."""
    if step.cost[midi] < NEVER:
        return
    allowed = {key % 12 for key, cost in enumerate(step.cost) if cost < NEVER}
    names = [note.name for key, (note, _) in step.tones.names.items() if key in allowed]
    raise EtudeError(
        f"etude line, bar {step.span.bar.number}, {step.span.slot.text}: that note breaks a hard rule there, or lies "
        f"outside the frets asked for; what may stand there is {', '.join(names) or 'nothing'}"
    )


def _notes(changes: Changes, steps: list[NoteStep], holds: list[Hold]) -> tuple[LineNote, ...]:
    starts = bar_starts(changes)
    pairs = [(step.tones, hold.midi) for step, hold in zip(steps, holds, strict=True)]
    found: list[LineNote] = []
    for index, (step, hold) in enumerate(zip(steps, holds, strict=True)):
        metre = changes.bars[step.onset.bar].metre
        where = step.onset.start - starts[step.onset.bar]
        struck = _place_of(step.onset, starts, changes)
        after = pairs[index + 1] if index + 1 < len(pairs) else None
        role = role_of(step.tones, hold.midi)
        if role == CHROMATIC and after is not None:
            note = chromatic_name(hold.midi, after[0].names[after[1] % 12][0])
            degree = ""
        else:
            note, degree = step.tones.names[hold.midi % 12]
        why = reason(
            step.tones, hold.midi, pairs[index - 1] if index else None, after,
            strong=is_strong(metre, where), new_chord=index == 0 or not step.same,
        )  # fmt: skip
        onset, pitch = step.onset, pitch_of(note, hold.midi)
        if onset.early:
            why = f"{why}; struck half a beat early, before beat {_counted(1 + where * metre.unit / 4)}"
        at = (onset.struck, onset.sounding, *struck)
        found.append(LineNote(*at, hold.string, hold.fret, hold.finger, pitch, degree, role, why, onset.early))
    # No note sounds on past the next.
    ends = [note.start for note in found[1:]] + [note.end for note in found[-1:]]
    return tuple(
        replace(note, length=min(note.length, end - note.start)) for note, end in zip(found, ends, strict=True)
    )


def _place_of(onset: Onset, starts: tuple[Fraction, ...], changes: Changes) -> tuple[int, Fraction]:
    """The number of the bar a note is struck in, and the beat; both in playing order from 1."""
    bar = onset.bar - (onset.struck < starts[onset.bar])
    return changes.bars[bar].number, 1 + (onset.struck - starts[bar]) * changes.bars[bar].metre.unit / 4


def _counted(beat: Fraction) -> str:
    return str(beat) if beat.denominator == 1 else f"{float(beat):g}"


def _told_figures(line: Line, word: str) -> str:
    """How many figures of a kind a line took in, and in which bars."""
    bars = sounded(line, word)
    if not bars:
        return f"{word}: none fits these rhythms and frets; try another seed or density"
    where = ", ".join(map(str, dict.fromkeys(bars)))
    return f"{word}: {len(bars)}, in bar{'s' if len(set(bars)) > 1 else ''} {where}"


_CHORUSES = ((CHORD_TONES, "First chorus: chord tones only"), (WITH_MODE, "Second chorus: the mode too"))


def demonstration(changes: Changes, neck: Neck, options: EtudeOptions | None = None) -> tuple[Etude, Etude]:
    """The two choruses (rule G32): the first of chord tones, note for note; the second of mode notes
    with chord tones on the beats.

    options: density, direction, frets and seed for both; the difficulty is set here.
    Raises EtudeError when a chorus cannot be made within them.
    """
    options = options or EtudeOptions()
    made = []
    for difficulty, title in _CHORUSES:
        etude = etude_line(changes, neck, replace(options, difficulty=difficulty))
        made.append(replace(etude, line=replace(etude.line, title=title)))
    return made[0], made[1]
