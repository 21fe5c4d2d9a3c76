"""A score: tones with a pitch in hertz and a place in seconds, and the metre they stand in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import isfinite

from drills.errors import SoundError
from drills.theory.note import hz_of_midi

__all__ = [
    "COMMON_TIME",
    "VOICES",
    "Score",
    "ScoreMetre",
    "Tone",
    "later",
    "together",
    "tone",
]

VOICES = ("pluck", "bass", "comping", "drums", "drone", "click")

# The range of hearing below which a pitch is felt rather than heard, and the top of a piano
# with a little to spare: outside it the string model has no sense.
_LOWEST_HZ, _HIGHEST_HZ = 20.0, 5000.0


def _checked(field: str, value: float, low: float, high: float, unit: str) -> None:
    if not (isfinite(value) and low <= value <= high):
        raise SoundError(f"tone: {field} must be from {low:g} to {high:g} {unit}, not {value!r}")


@dataclass(frozen=True, slots=True)
class Tone:
    """One sounded note.

    hz: fundamental, 20 to 5000 Hz. start_s, length_s: seconds from the start of the score,
    length above 0. loudness: 0 (silent) to 1. voice: one of `VOICES`. midi: the key it
    stands for, 0 to 127, or None when it has none. Raises SoundError.
    """

    hz: float
    start_s: float
    length_s: float
    loudness: float = 0.7
    voice: str = "pluck"
    midi: int | None = None

    def __post_init__(self) -> None:
        _checked("hz", self.hz, _LOWEST_HZ, _HIGHEST_HZ, "Hz")
        _checked("start_s", self.start_s, 0.0, 1e6, "s")
        _checked("length_s", self.length_s, 1e-3, 1e6, "s")
        _checked("loudness", self.loudness, 0.0, 1.0, "(1 is loudest)")
        if self.voice not in VOICES:
            raise SoundError(f"tone: voice must be one of {', '.join(VOICES)}, not {self.voice!r}")
        if self.midi is not None:
            _checked("midi", self.midi, 0, 127, "(MIDI key)")

    @property
    def end_s(self) -> float:
        """Seconds from the start of the score to the end of this tone."""
        return self.start_s + self.length_s


@dataclass(frozen=True, slots=True)
class ScoreMetre:
    """A metre and the place, in quarter notes from the start of the score, where it begins."""

    start_quarter: float = 0.0
    beats: int = 4
    unit: int = 4

    def __post_init__(self) -> None:
        if not (1 <= self.beats <= 32 and self.unit in (1, 2, 4, 8, 16)):
            raise SoundError(f"metre: expected 1 to 32 beats over 1, 2, 4, 8 or 16, not {self.beats}/{self.unit}")

    @property
    def bar_quarters(self) -> float:
        """Length of one bar in quarter notes."""
        return self.beats * 4 / self.unit

    @property
    def click_quarters(self) -> float:
        """Length in quarter notes of what the foot taps: a dotted quarter in 6/8, 9/8, 12/8."""
        compound = self.unit == 8 and self.beats > 3 and self.beats % 3 == 0
        return 1.5 if compound else 4 / self.unit


COMMON_TIME = ScoreMetre()
"""Four quarters in a bar, from the start."""


@dataclass(frozen=True, slots=True)
class Score:
    """Tones in order of start, with the tempo that MIDI and the eye need.

    tempo_bpm: quarter notes a minute. metres: at least one, the first at quarter 0.
    count_in_s: seconds of count-in before the first bar. fade_out_s: seconds over which the
    end of the whole fades away.
    """

    tones: tuple[Tone, ...]
    tempo_bpm: float = 60.0
    metres: tuple[ScoreMetre, ...] = (COMMON_TIME,)
    title: str = ""
    count_in_s: float = 0.0
    fade_out_s: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.tempo_bpm) and self.tempo_bpm > 0):
            raise SoundError(f"score: tempo_bpm must be above 0, not {self.tempo_bpm!r}")
        if not self.metres or self.metres[0].start_quarter != 0:
            raise SoundError("score: metres must begin with one that starts at quarter 0")
        object.__setattr__(self, "tones", tuple(sorted(self.tones, key=lambda t: t.start_s)))

    @property
    def length_s(self) -> float:
        """Seconds from the start to the end of the last tone; 0 for an empty score."""
        return max((each.end_s for each in self.tones), default=0.0)


def tone(midi: int, start_s: float, length_s: float, loudness: float = 0.7, voice: str = "pluck") -> Tone:
    """Return the tone of a MIDI key (0 to 127) at its equal-tempered pitch."""
    return Tone(hz_of_midi(midi), start_s, length_s, loudness, voice, midi)


def later(tones: Iterable[Tone], seconds: float) -> tuple[Tone, ...]:
    """Return the same tones, each starting `seconds` later."""
    return tuple(replace(each, start_s=each.start_s + seconds) for each in tones)


def together(first: Score, *others: Score) -> Score:
    """Return the scores sounded at the same time; tempo, metres and title are the first's."""
    tones = [each for score in (first, *others) for each in score.tones]
    return replace(first, tones=tuple(tones))
