"""Lines over the band: one chorus after another in one performance."""

from __future__ import annotations

from collections.abc import Sequence

from drills.band.band import band
from drills.band.feel import solo_ratio, swing_place
from drills.errors import TrackError
from drills.harmony.chord_timeline import bar_starts
from drills.lines.backing import DEFAULT_BPM
from drills.lines.line import Line
from drills.lines.rhythm import swings
from drills.shapes.finder import ShapeFinder
from drills.sound.patterns import melody
from drills.sound.score import Score, Tone, together
from drills.sound.tempo import beat_s

__all__ = ["over_band"]


def over_band(
    lines: Sequence[Line], finder: ShapeFinder, *, tempo_bpm: float | None = None, count_in_bars: int = 1, seed: int = 0
) -> Score:
    """Each line over a chorus of the band, in turn, after one count-in.

    The lines are over the same changes. Their eighths swing as soloists' do at the tempo, less than the cymbal's
    (`drills.band.feel.solo_ratio`), unless the page is straight. Raises TrackError for no line, for lines over
    different changes, or for changes without a chord.
    """
    if not lines or any(line.changes != lines[0].changes for line in lines):
        raise TrackError("track, lines: expected one or more over the same changes")
    page = lines[0].changes
    tempo = tempo_bpm or page.tempo or DEFAULT_BPM
    under = band(page, finder, tempo_bpm=tempo, through=(0,) * len(lines), count_in_bars=count_in_bars, seed=seed)
    swung = page.feel != "straight" and swings(page, "swing")
    swing = swing_place(solo_ratio(tempo)) if swung else 0.5
    once_s = float(bar_starts(page)[-1]) * beat_s(tempo)
    tones: list[Tone] = []
    for turn, line in enumerate(lines):
        notes = [(float(note.start), float(note.length), note.midi) for note in line.notes]
        tones += melody(notes, tempo, swing=swing, start_s=under.count_in_s + turn * once_s)
    return together(under, Score(tuple(tones), tempo)) if tones else under
