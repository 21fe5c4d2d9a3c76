"""The band: bass, comping and drums over changes as one score, a voice for each."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from fractions import Fraction

from drills.band.comping_rhythm import comping_strokes
from drills.band.drum_patterns import BRUSH_SWEEP, drums
from drills.band.feel import Feel, feel_of
from drills.band.walking_bass import BASS_HIGH, BASS_LOW, bass_line
from drills.changes.changes import WITHOUT_CHORDS, Changes
from drills.errors import TrackError
from drills.harmony.chord_timeline import bar_starts, spans_of
from drills.lines.backing import DEFAULT_BPM, metres_of
from drills.lines.comping import Grip, led_grips
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.sound.backing_track import metres_played, nearest_shift
from drills.sound.click import clicks, count_in_quarters
from drills.sound.drum_voice import drum_tone
from drills.sound.patterns import strum
from drills.sound.score import Score, Tone, later, tone
from drills.sound.tempo import beat_s, swung

__all__ = ["PLAYERS", "band"]

PLAYERS = ("bass", "drums", "comping")
"""Who plays, and may be left out."""

_STRUM_S = 0.012
_BASS_LOOSE, _COMP_LOOSE = 0.96, 0.92
"""The part of its place that a note sounds: a bass lets go just before the next, a grip a little sooner."""


def band(
    changes: Changes,
    finder: ShapeFinder,
    *,
    tempo_bpm: float | None = None,
    feel: str | None = None,
    ratio: float | None = None,
    two: bool | None = None,
    through: Sequence[int] = (0,),
    without: Collection[str] = (),
    count_in_bars: int = 1,
    click: bool = False,
    fade_out_s: float = 2.0,
    seed: int = 0,
    on: StringSet | None = None,
) -> Score:
    """The changes played by a band, once for each of `through`, after a count-in.

    tempo_bpm: quarter notes a minute, that of the page when not said. feel, ratio, two: see `feel_of`. through:
    semitones by which each chorus is moved. without: names of `PLAYERS` to leave out; when all are, the click is left.
    click: whether it goes on after the count-in. seed: another performance. on: the string set of the grips, all
    strings when None. No two choruses are played alike.
    Raises TrackError for changes without a chord, an unknown feel or player; SoundError for a tempo out of range.
    """
    if unknown := sorted(set(without) - set(PLAYERS)):
        raise TrackError(f"track, without {unknown[0]!r}: expected some of {', '.join(PLAYERS)}")
    if not any(span.chord is not None for span in spans_of(changes)):
        raise TrackError(f"track: {WITHOUT_CHORDS}")
    tempo = tempo_bpm or changes.tempo or DEFAULT_BPM
    quarter_s = beat_s(tempo)
    how = feel_of(changes, tempo, feel, ratio, two)
    metres = metres_of(changes)
    counted = count_in_quarters(metres[0], count_in_bars)
    once = float(bar_starts(changes)[-1])
    grips = _grips(changes, finder, on) if "comping" not in without else ()
    tones: list[Tone] = list(clicks(tempo, counted, metres[:1])) if counted else []
    for turn, semitones in enumerate(through):
        played = _chorus(changes, grips, how, quarter_s, nearest_shift(semitones), set(without), f"{seed} {turn}")
        start_s = (counted + turn * once) * quarter_s
        tones += later(played, start_s)
        if click or set(without) == set(PLAYERS):
            tones += clicks(tempo, once, metres, start_s)
    shown = metres_played(metres, counted, once, len(through))
    return Score(tuple(tones), tempo, shown, changes.title or "Track", counted * quarter_s, fade_out_s)


def _grips(changes: Changes, finder: ShapeFinder, on: StringSet | None) -> tuple[Grip, ...]:
    return led_grips(finder, tuple(span.sounding for span in spans_of(changes) if span.chord is not None), on=on)


def _chorus(
    changes: Changes, grips: tuple[Grip, ...], how: Feel, quarter_s: float, shift: int, without: set[str], seed: str
) -> list[Tone]:
    """One chorus of the players that play, its first bar at second 0."""
    tones: list[Tone] = []
    number = sum(map(ord, seed)) * 7919 + len(seed)
    if "bass" not in without:
        tones += _bass(changes, how, quarter_s, shift, number)
    if "comping" not in without:
        tones += _comping(changes, grips, how, quarter_s, shift, number)
    if "drums" not in without:
        tones += _drums(changes, how, quarter_s, number)
    return tones


def _bass(changes: Changes, how: Feel, quarter_s: float, shift: int, number: int) -> Iterator[Tone]:
    line = bass_line(changes, two=how.two, seed=number)
    keys = [note.midi + shift for note in line]
    # A chorus in another key is folded back into the compass as a whole.
    fold = 12 if min(keys) < BASS_LOW else -12 if max(keys) > BASS_HIGH + 5 else 0
    for note, key in zip(line, keys, strict=True):
        # Even eighths are felt in a half note's last one, struck again and softer (common practice).
        again = Fraction(1, 2) if how.name == "straight" and how.two and note.length >= 2 else Fraction(0)
        start_s, length_s = _span(note.start, note.length - again, quarter_s, how.swing)
        yield tone(key + fold, start_s, length_s * _BASS_LOOSE, note.loudness, "bass")
        if again:
            start_s, length_s = _span(note.start + note.length - again, again, quarter_s, how.swing)
            yield tone(key + fold, start_s, length_s * _BASS_LOOSE, note.loudness - 0.12, "bass")


def _comping(
    changes: Changes, grips: tuple[Grip, ...], how: Feel, quarter_s: float, shift: int, number: int
) -> Iterator[Tone]:
    for stroke in comping_strokes(changes, how.name, seed=number):
        keys = tuple(key + shift for key in grips[stroke.chord].keys)
        start_s, length_s = _span(stroke.start, stroke.length, quarter_s, how.swing)
        length_s *= _COMP_LOOSE
        spread = min(_STRUM_S, length_s / (2 * len(keys)))
        for each in strum(keys, start_s, length_s, spread_s=spread, loudness=stroke.loudness):
            yield Tone(each.hz, each.start_s, each.length_s, each.loudness, "comping", each.midi)


def _drums(changes: Changes, how: Feel, quarter_s: float, number: int) -> Iterator[Tone]:
    for stroke in drums(changes, how.name, seed=number):
        start_s, length_s = _span(stroke.start, stroke.length, quarter_s, how.swing)
        yield drum_tone(stroke.key, start_s, stroke.loudness, length_s if stroke.key == BRUSH_SWEEP else None)


def _span(start: Fraction, length: Fraction, quarter_s: float, swing: float) -> tuple[float, float]:
    first, last = swung(float(start), swing), swung(float(start + length), swing)
    return first * quarter_s, (last - first) * quarter_s
