"""Tempo: its bounds, the length of a beat, and the rule by which it rises."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from math import isfinite

from drills.errors import SoundError

__all__ = [
    "CLEAN_DAYS_TO_RAISE",
    "FASTEST_BPM",
    "RELAXED_BPM",
    "SLOWEST_BPM",
    "beat_s",
    "checked_tempo",
    "next_tempo",
    "swung",
]

# What mechanical and electronic metronomes offer, with room at the top (common practice).
SLOWEST_BPM, FASTEST_BPM = 30.0, 300.0
# A tempo at which chord, arpeggio, mode and chord take twelve seconds (rule B5).
RELAXED_BPM = 90.0
# Three clean passes on different days, then up by 4 to 8 (rule E).
CLEAN_DAYS_TO_RAISE = 3
_LEAST_STEP_BPM, _MOST_STEP_BPM = 4, 8
# A step of about a sixteenth is felt alike at every tempo; it is then held to 4 to 8.
_STEP_SHARE = 0.06


def checked_tempo(tempo_bpm: float) -> float:
    """Return the tempo as a float; raises SoundError outside 30 to 300 beats a minute."""
    if not (isfinite(tempo_bpm) and SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM):
        raise SoundError(f"tempo: expected {SLOWEST_BPM:g} to {FASTEST_BPM:g} beats a minute, not {tempo_bpm!r}")
    return float(tempo_bpm)


def beat_s(tempo_bpm: float) -> float:
    """Return the length of one beat in seconds; raises SoundError outside the bounds."""
    return 60.0 / checked_tempo(tempo_bpm)


def next_tempo(tempo_bpm: float, passes: Iterable[tuple[Hashable, bool]], step_bpm: int | None = None) -> float:
    """Return the tempo to write on the card after these passes at `tempo_bpm`.

    passes: (practice day, clean) in the order played, all at this tempo. The tempo rises
    only when clean passes fell on three different days and the last pass was clean, by
    `step_bpm` (4 to 8; unless given, about 6 % of the tempo held to those bounds), and never
    above 300. It never falls: slowing down is the player's choice. Source: the tempo-creep
    rule of drills/RULES.md, E (common practice). Raises SoundError for a tempo or step
    out of range.
    """
    tempo = checked_tempo(tempo_bpm)
    if step_bpm is None:
        step_bpm = min(_MOST_STEP_BPM, max(_LEAST_STEP_BPM, round(tempo * _STEP_SHARE)))
    elif not _LEAST_STEP_BPM <= step_bpm <= _MOST_STEP_BPM:
        raise SoundError(f"tempo: step_bpm must be {_LEAST_STEP_BPM} to {_MOST_STEP_BPM}, not {step_bpm!r}")
    played = tuple(passes)
    clean_days = {day for day, clean in played if clean}
    if not played or not played[-1][1] or len(clean_days) < CLEAN_DAYS_TO_RAISE:
        return tempo
    return min(FASTEST_BPM, tempo + step_bpm)


def swung(quarter: float, swing: float = 0.5) -> float:
    """Return where a place in quarters falls when each beat's half lies at `swing` of the beat.

    swing: 0.5 is straight, 2/3 is triplet swing (common practice); from 0.5 to 0.8. Beats
    themselves do not move. Raises SoundError outside the range.
    """
    if not 0.5 <= swing <= 0.8:
        raise SoundError(f"feel: swing must be from 0.5 (straight) to 0.8, not {swing!r}")
    whole = quarter // 1
    part = quarter - whole
    if part <= 0.5:
        return whole + part * 2 * swing
    return whole + swing + (part - 0.5) * 2 * (1 - swing)
