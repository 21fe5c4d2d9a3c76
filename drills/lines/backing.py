"""A track from changes: count-in, click, bass roots and led grips; a line over it; a drone or a vamp of one chord."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random

from drills.changes.changes import WITHOUT_CHORDS, Changes, Section, WrittenBar
from drills.errors import TrackError
from drills.harmony.chord_timeline import bar_starts, same_chord, spans_of
from drills.lines.comping import led_grips
from drills.lines.line import Line
from drills.lines.rhythm import swings
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.sound.backing_track import STRAIGHT, SWING, TrackChord, nearest_shift, track
from drills.sound.patterns import drone, melody
from drills.sound.score import Score, ScoreMetre, Tone, later, together
from drills.theory.chord import Chord

__all__ = [
    "DEFAULT_BPM",
    "ROUNDS",
    "backing",
    "chord_drone",
    "drones",
    "line_score",
    "metres_of",
    "over_track",
    "rounds",
    "track_chords",
    "vamp_changes",
]

DEFAULT_BPM = 80.0
"""A slow tempo at which eighth notes are comfortable (common practice)."""

ROUNDS = ("fourths", "chromatic", "random")
"""Orders of the twelve keys."""

_BASS_LOW, _BASS_HIGH = 28, 43
"""Compass of the bass roots: E1, the lowest string of a bass, to the G a tenth above (MIDI keys)."""


def rounds(order: str, count: int = 12, seed: int = 0) -> tuple[int, ...]:
    """Semitones by which each round through the keys is moved, the first as written.

    order: one of ROUNDS. count: 1 to 12 keys. Raises TrackError otherwise.
    """
    if order not in ROUNDS or not 1 <= count <= 12:
        raise TrackError(f"track, rounds: expected {', '.join(ROUNDS)} and 1 to 12 keys, got {order!r} and {count!r}")
    if order == "random":
        others = list(range(1, 12))
        Random(f"rounds {seed}").shuffle(others)
        return (0, *others)[:count]
    step = 5 if order == "fourths" else 1
    return tuple(step * place % 12 for place in range(count))


def metres_of(changes: Changes) -> tuple[ScoreMetre, ...]:
    """The metres of a page as a score has them, each where it begins."""
    found: list[ScoreMetre] = []
    for bar, start in zip(changes.bars, bar_starts(changes)[:-1], strict=True):
        if not found or (found[-1].beats, found[-1].unit) != (bar.metre.beats, bar.metre.unit):
            found.append(ScoreMetre(float(start), bar.metre.beats, bar.metre.unit))
    return tuple(found)


def _swing(changes: Changes, feel: str | None) -> float:
    """Where the second half of a beat falls; metres counted in eighths are never swung."""
    feel = changes.feel if feel is None else feel
    if feel not in ("", "swing", "straight"):
        raise TrackError(f"track, feel {feel!r}: expected swing or straight")
    return SWING if swings(changes, feel) else STRAIGHT


def _tempo(changes: Changes, tempo_bpm: float | None) -> float:
    return tempo_bpm or changes.tempo or DEFAULT_BPM


def _bass(chord: Chord, before: int | None) -> int:
    """The bass key nearest to the one before, within the compass; the slash bass where there is one."""
    wanted = (chord.bass or chord.root).pitch_class
    keys = [key for key in range(_BASS_LOW, _BASS_HIGH + 1) if key % 12 == wanted]
    middle = 33 if before is None else before
    return min(keys, key=lambda key: (abs(key - middle), key))


def track_chords(
    changes: Changes, finder: ShapeFinder, *, grips: bool = True, on: StringSet | None = None
) -> tuple[TrackChord, ...]:
    """Every chord of the changes with its bass root and its grip, placed in quarter notes.

    Extended and altered chords keep their tensions in the grip where a hand can hold them, and a
    slash chord its bass. N.C. is left silent. on: the string set the grips lie on, all strings when None.
    Raises TrackError when a chord has no grip.
    """
    spans = [span for span in spans_of(changes) if span.chord is not None]
    if not spans:
        raise TrackError(f"track: {WITHOUT_CHORDS}")
    led = led_grips(finder, tuple(span.sounding for span in spans), on=on) if grips else ()
    found, bass = [], None
    for index, span in enumerate(spans):
        bass = _bass(span.sounding, bass)
        keys = led[index].keys if grips else ()
        found.append(TrackChord(float(span.start), float(span.length), bass, keys))
    # A silent bar at the end still belongs to the round.
    end = float(bar_starts(changes)[-1])
    if found[-1].start_beat + found[-1].beats < end - 1e-9:
        last = found[-1].start_beat + found[-1].beats
        found.append(TrackChord(last, end - last, None))
    return tuple(found)


def backing(
    changes: Changes,
    finder: ShapeFinder,
    *,
    tempo_bpm: float | None = None,
    feel: str | None = None,
    through: Sequence[int] = (0,),
    comping: str = "held",
    grips: bool = True,
    count_in_bars: int = 1,
    click: bool = True,
    fade_out_s: float = 2.0,
    on: StringSet | None = None,
) -> Score:
    """The track of the changes as a score, for WAV or a Standard MIDI File.

    tempo_bpm: quarter notes a minute, that of the changes when not said. feel: ``swing``,
    ``straight`` or None for that of the changes. through: see `rounds`. comping, count_in_bars, click,
    fade_out_s: as for `drills.sound.backing_track.track`. on: as for `track_chords`. Raises TrackError or SoundError.
    """
    return track(
        track_chords(changes, finder, grips=grips, on=on),
        _tempo(changes, tempo_bpm),
        metres=metres_of(changes),
        count_in_bars=count_in_bars,
        rounds=through,
        swing=_swing(changes, feel),
        comping=comping,
        click=click,
        fade_out_s=fade_out_s,
        title=changes.title or "Track",
    )


def line_score(line: Line, *, tempo_bpm: float | None = None, feel: str | None = None) -> Score:
    """The line alone as a score, quarter 0 at second 0."""
    tempo = _tempo(line.changes, tempo_bpm)
    notes = [(float(note.start), float(note.length), note.midi) for note in line.notes]
    tones = melody(notes, tempo, swing=_swing(line.changes, feel))
    return Score(tones, tempo, metres_of(line.changes), title=line.title)


def over_track(
    line: Line,
    finder: ShapeFinder,
    *,
    tempo_bpm: float | None = None,
    feel: str | None = None,
    through: Sequence[int] = (0,),
    comping: str = "held",
    count_in_bars: int = 1,
    click: bool = True,
) -> Score:
    """The line over its track, in each of the rounds."""
    under = backing(
        line.changes, finder, tempo_bpm=tempo_bpm, feel=feel, through=through, comping=comping,
        count_in_bars=count_in_bars, click=click,
    )  # fmt: skip
    tempo = _tempo(line.changes, tempo_bpm)
    once_s = float(line.length) * 60.0 / tempo
    tones: list[Tone] = []
    for turn, semitones in enumerate(through):
        shift = nearest_shift(semitones)
        notes = [(float(note.start), float(note.length), note.midi + shift) for note in line.notes]
        start_s = under.count_in_s + turn * once_s
        tones += melody(notes, tempo, swing=_swing(line.changes, feel), start_s=start_s)
    if not tones:
        return under
    return together(under, Score(tuple(tones), tempo))


def _different(changes: Changes) -> tuple[Chord, ...]:
    """Each different chord of the changes, in the order they are met; raises TrackError when there is none."""
    found: list[Chord] = []
    for _, slot in changes.slots:
        if slot.chord is not None and not any(same_chord(slot.chord, known) for known in found):
            found.append(slot.chord)
    if not found:
        raise TrackError(f"track: {WITHOUT_CHORDS}")
    return tuple(found)


def chord_drone(chord: Chord, finder: ShapeFinder, length_s: float) -> Score:
    """The chord held for any number of seconds: its bass root and its grip, swelling and dying slowly."""
    grip = led_grips(finder, (chord,))[0]
    return drone((_bass(chord, None), *grip.keys), length_s)


def drones(changes: Changes, finder: ShapeFinder, length_s: float) -> Score:
    """Each different chord of the changes held for so many seconds, one after another."""
    scores = [chord_drone(chord, finder, length_s) for chord in _different(changes)]
    tones = [tone for turn, score in enumerate(scores) for tone in later(score.tones, turn * length_s)]
    return replace(scores[0], tones=tuple(tones), title=f"{changes.title or 'Changes'}, a drone for each chord")


def vamp_changes(changes: Changes, bars: int) -> Changes:
    """Changes that stay on each different chord for so many bars of the head's metre."""
    written = []
    for chord in _different(changes):
        slot = next(slot for _, slot in changes.slots if slot.chord is not None and same_chord(slot.chord, chord))
        whole = replace(slot, beat=Fraction(1), beats=Fraction(changes.metre.beats))
        written += [WrittenBar((whole,), changes.metre, changes.key)] * bars
    return replace(changes, sections=(Section("", tuple(written)),), form=(), before=(), after=())
