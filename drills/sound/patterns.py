"""How a shape is sounded: strummed, at once, note by note, held as a drone, or as the phrase.

Everything takes MIDI keys in the order played, or any shape whose `.notes` carry `.midi`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from drills.errors import SoundError
from drills.sound.score import Score, Tone, tone
from drills.sound.tempo import RELAXED_BPM, beat_s, swung

__all__ = [
    "Playable",
    "drone",
    "keys_of",
    "line",
    "melody",
    "phrase",
    "strum",
    "up_down",
]

# Thirty milliseconds from string to string is a slow, clear strum (common practice).
_STRUM_S = 0.03
# A note is held a little into the next, which a hand on a guitar does without thinking.
_LEGATO_S = 0.02
_PHRASE_FADE_S = 0.6
_CHORD_LOUDNESS, _LINE_LOUDNESS, _DRONE_LOUDNESS = 0.55, 0.7, 0.6


class _Sounding(Protocol):
    """A note that knows its MIDI key."""

    @property
    def midi(self) -> int: ...


class Playable(Protocol):
    """A shape: its `notes`, in the order played, each carry the MIDI key as `midi`."""

    @property
    def notes(self) -> Iterable[_Sounding]:
        """The placements in the order played."""


def keys_of(source: Playable | Iterable[int]) -> tuple[int, ...]:
    """Return the MIDI keys of a shape or of a plain sequence; raises SoundError when empty."""
    keys = tuple(source) if isinstance(source, Iterable) else tuple(each.midi for each in source.notes)
    if not keys:
        raise SoundError("sound: there is no note to play; give at least one MIDI key")
    return keys


def strum(
    source: Playable | Iterable[int],
    start_s: float = 0.0,
    length_s: float = 2.0,
    *,
    spread_s: float = _STRUM_S,
    loudness: float = _CHORD_LOUDNESS,
) -> tuple[Tone, ...]:
    """Return a chord struck string by string, `spread_s` seconds apart, ending together.

    length_s counts from the first string; raises SoundError when the last would not sound.
    """
    keys = keys_of(source)
    if not 0 <= spread_s * (len(keys) - 1) < length_s:
        raise SoundError(f"strum: {len(keys)} strings {spread_s:g} s apart do not fit into {length_s:g} s")
    return tuple(
        tone(key, start_s + place * spread_s, length_s - place * spread_s, loudness) for place, key in enumerate(keys)
    )


def line(
    source: Playable | Iterable[int],
    start_s: float,
    note_s: float,
    *,
    last_s: float | None = None,
    loudness: float = _LINE_LOUDNESS,
) -> tuple[Tone, ...]:
    """Return the notes one after another, `note_s` seconds each, the last held for `last_s`."""
    keys = keys_of(source)
    ends = (note_s if last_s is None else last_s) + _LEGATO_S
    return tuple(
        tone(
            key,
            start_s + place * note_s,
            ends if place == len(keys) - 1 else note_s + _LEGATO_S,
            loudness,
        )
        for place, key in enumerate(keys)
    )


def melody(
    notes: Iterable[tuple[float, float, int]],
    tempo_bpm: float,
    *,
    swing: float = 0.5,
    start_s: float = 0.0,
    loudness: float = _LINE_LOUDNESS,
) -> tuple[Tone, ...]:
    """Return a written line in time: each note is (start, length, MIDI key), in quarter notes.

    swing: where the second half of a quarter falls, see `tempo.swung`. start_s: seconds at
    which quarter 0 falls, such as the end of a count-in.
    """
    quarter_s = beat_s(tempo_bpm)
    tones = []
    for start, length, key in notes:
        first, last = swung(start, swing) * quarter_s, swung(start + length, swing) * quarter_s
        tones.append(tone(key, start_s + first, last - first + _LEGATO_S, loudness))
    return tuple(tones)


def up_down(source: Playable | Iterable[int]) -> tuple[int, ...]:
    """Return the keys forwards and back again, the turning note sounded once."""
    keys = keys_of(source)
    return keys + keys[-2::-1]


def drone(source: Playable | Iterable[int], length_s: float, *, loudness: float = _DRONE_LOUDNESS) -> Score:
    """Return the notes held for `length_s` seconds, of any length, swelling and dying slowly."""
    keys = keys_of(source)
    each = loudness / len(keys) ** 0.5
    return Score(tuple(tone(key, 0.0, length_s, each, "drone") for key in keys), title="Drone")


def phrase(
    grip: Playable | Iterable[int],
    arpeggio: Playable | Iterable[int],
    mode: Playable | Iterable[int],
    tempo_bpm: float = RELAXED_BPM,
    title: str = "",
) -> Score:
    """Return the sound of one place: chord, arpeggio up and down, mode up and down, chord again.

    The lines run in eighth notes, the rests of the bars are held. A seventh chord with its
    octave and a seven-note mode take eighteen quarters: twelve seconds at the relaxed tempo of
    90 (drills/RULES.md, B5). Raises SoundError for an empty part or a tempo out of bounds.
    """
    quarter = beat_s(tempo_bpm)
    tones = [*strum(grip, 0.0, 2 * quarter)]
    at_quarter = 2.0
    for part in (arpeggio, mode):
        keys = up_down(part)
        # The last note is held to the next full quarter, so that the foot keeps its beat.
        length = (len(keys) + 1) // 2 if len(keys) % 2 else len(keys) // 2 + 1
        held = length - (len(keys) - 1) / 2
        tones += line(keys, at_quarter * quarter, quarter / 2, last_s=held * quarter)
        at_quarter += length
    tones += strum(grip, at_quarter * quarter, 3 * quarter)
    return Score(tuple(tones), tempo_bpm, title=title, fade_out_s=_PHRASE_FADE_S)
