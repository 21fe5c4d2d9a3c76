"""The click: a count-in, then a tick on every beat, the first of each bar higher."""

from __future__ import annotations

from collections.abc import Sequence

from drills.errors import SoundError
from drills.sound.drum_voice import drum_tone
from drills.sound.score import COMMON_TIME, Score, ScoreMetre, Tone
from drills.sound.tempo import beat_s

__all__ = ["click_track", "clicks", "count_in_quarters", "unpitched"]

# A fifth apart: told apart at any volume, and by ears that have lost their top.
_BAR_HZ, _BEAT_HZ = 1760.0, 1174.66
_BAR_LOUDNESS, _BEAT_LOUDNESS = 0.8, 0.6
_CLICK_S = 0.040
# General MIDI level 1 percussion: 76 is the high wood block, 77 the low one.
_BAR_KEY, _BEAT_KEY = 76, 77
_MOST_BARS = 100_000


def clicks(
    tempo_bpm: float,
    quarters: float,
    metres: Sequence[ScoreMetre] = (COMMON_TIME,),
    start_s: float = 0.0,
) -> tuple[Tone, ...]:
    """Return the clicks of `quarters` quarter notes of music, the first at `start_s` seconds.

    metres: in order, each from its own `start_quarter` on, which opens a bar.
    """
    quarter_s = beat_s(tempo_bpm)
    tones = []
    for number, metre in enumerate(metres):
        last = metres[number + 1].start_quarter if number + 1 < len(metres) else quarters
        in_bar = round(metre.bar_quarters / metre.click_quarters)
        count = 0
        # Places are multiplied, not added up: a sum would drift over a long track.
        while (place := metre.start_quarter + count * metre.click_quarters) < last - 1e-9:
            opens = count % in_bar == 0
            tones.append(
                Tone(
                    hz=_BAR_HZ if opens else _BEAT_HZ,
                    start_s=start_s + place * quarter_s,
                    length_s=_CLICK_S,
                    loudness=_BAR_LOUDNESS if opens else _BEAT_LOUDNESS,
                    voice="click",
                    midi=_BAR_KEY if opens else _BEAT_KEY,
                )
            )
            count += 1
    return tuple(tones)


def count_in_quarters(metre: ScoreMetre, bars: int = 1) -> float:
    """Return the length of the count-in in quarter notes; "beat one" falls right after it."""
    if not 0 <= bars <= 8:
        raise SoundError(f"count-in: expected 0 to 8 bars, not {bars!r}")
    return bars * metre.bar_quarters


_HI_HAT_KEY = 42
_BAR_STROKE, _BEAT_STROKE = 0.9, 0.5


def unpitched(tones: Sequence[Tone]) -> tuple[Tone, ...]:
    """The same clicks as strokes of a closed hi-hat, the first of each bar louder: noise above 6.5 kHz and no pitch.

    Whoever listens for notes while a click sounds takes none of them for a note.
    """
    return tuple(
        drum_tone(_HI_HAT_KEY, tone.start_s, _BAR_STROKE if tone.midi == _BAR_KEY else _BEAT_STROKE) for tone in tones
    )


def click_track(
    tempo_bpm: float, bars: int, metre: ScoreMetre = COMMON_TIME, *, count_in_bars: int = 1, pitched: bool = True
) -> Score:
    """Return a count-in and `bars` bars of click; `count_in_s` of the score is beat one. pitched: see `unpitched`.

    Raises SoundError for a tempo outside 30 to 300 or bars outside 1 to 100,000.
    """
    if not 1 <= bars <= _MOST_BARS:
        raise SoundError(f"click: expected 1 to {_MOST_BARS} bars, not {bars!r}")
    counted = count_in_quarters(metre, count_in_bars)
    tones = clicks(tempo_bpm, counted + bars * metre.bar_quarters, (metre,))
    tones = tones if pitched else unpitched(tones)
    return Score(tones, tempo_bpm, (metre,), title="Click", count_in_s=counted * beat_s(tempo_bpm))
