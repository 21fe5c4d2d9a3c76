"""When each note of a line is due in the sound of somebody who plays it over its track."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.lines.backing import DEFAULT_BPM
from drills.lines.rhythm import swings
from drills.listening.bars import Due
from drills.sound.tempo import beat_s, swung

if TYPE_CHECKING:
    from drills.lines.line import Line
    from drills.sound.score import Score

__all__ = ["due_of", "track_tones"]

_EVEN, _TWO_TO_ONE = 0.5, 2 / 3
"""Where the second half of a quarter may fall: soloists swing from hardly at all to the triplet (common practice)."""


def due_of(line: Line, first_s: float) -> tuple[Due, ...]:
    """What is due when, in order. first_s: seconds from the beginning of the sound to the first beat of the line.

    Off-beat eighths of a page that swings may fall anywhere between even and two to one.
    """
    page = line.changes
    quarter_s = beat_s(page.tempo or DEFAULT_BPM)
    last = _TWO_TO_ONE if page.feel != "straight" and swings(page, "swing") else _EVEN
    return tuple(
        Due(
            group[0].bar,
            tuple(note.midi for note in group),
            first_s + swung(float(group[0].start), _EVEN) * quarter_s,
            first_s + swung(float(group[0].start), last) * quarter_s,
        )
        for group in line.struck()
    )


def track_tones(track: Score, from_s: float) -> tuple[tuple[float, int], ...]:
    """Seconds and MIDI number of what a track sounds. from_s: where the track begins in the sound."""
    return tuple((from_s + tone.start_s, tone.midi) for tone in track.tones if tone.midi is not None)
