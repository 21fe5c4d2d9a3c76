"""A track to play over: count-in, click, bass roots and grips, from chords placed in quarters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drills.errors import SoundError
from drills.sound.click import clicks, count_in_quarters
from drills.sound.patterns import strum
from drills.sound.score import COMMON_TIME, Score, ScoreMetre, Tone, later, tone
from drills.sound.tempo import beat_s, swung

__all__ = ["COMPING", "STRAIGHT", "SWING", "TrackChord", "metres_played", "nearest_shift", "track"]

STRAIGHT, SWING = 0.5, 2 / 3
"""Where the second half of a beat falls: in its middle, or on the third triplet."""

# Where grips are struck inside a bar, in quarters from its first beat, and for how long
# (common practice: the afterbeats, and the dotted figure named after a dance of 1923).
COMPING: dict[str, tuple[tuple[float, float], ...] | None] = {
    "held": None,
    "afterbeats": ((1.0, 0.5), (3.0, 0.5)),
    "charleston": ((0.0, 1.0), (1.5, 0.5)),
}
_GRIP_LOUDNESS, _BASS_LOUDNESS = 0.4, 0.75
_STRUM_S = 0.012
_SHORTEST_QUARTERS = 1 / 64


@dataclass(frozen=True, slots=True)
class TrackChord:
    """One chord of a track.

    start_beat, beats: place and length in quarter notes. bass_midi: the root to sound, None
    for no bass. grip_midis: the keys of the grip, low to high, empty for N.C.
    """

    start_beat: float
    beats: float
    bass_midi: int | None
    grip_midis: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if self.start_beat < 0 or self.beats < _SHORTEST_QUARTERS:
            raise SoundError(
                f"track: a chord must start at 0 or later and last at least 1/64 of a quarter, "
                f"not start {self.start_beat!r}, length {self.beats!r}"
            )


def track(
    chords: Sequence[TrackChord],
    tempo_bpm: float,
    *,
    metres: Sequence[ScoreMetre] = (COMMON_TIME,),
    count_in_bars: int = 1,
    rounds: Sequence[int] = (0,),
    swing: float = STRAIGHT,
    comping: str = "held",
    click: bool = True,
    fade_out_s: float = 2.0,
    title: str = "Track",
) -> Score:
    """Return the chords played once for each of `rounds`, after a count-in.

    rounds: semitones by which each round is moved from the first, such as 0, 5, 10 ... for
    fourths; a round is folded by octaves to lie nearest. swing: 0.5 straight to 2/3 triplet;
    quarters stay, what falls between them moves. comping: a name of `COMPING`. Bass roots
    sound at each chord and again every two quarters while it lasts. Raises SoundError for
    an empty track, an unknown comping or a tempo outside 30 to 300.
    """
    if not chords or not rounds:
        raise SoundError("track: there is no chord to play; give at least one chord and one round")
    if comping not in COMPING:
        raise SoundError(f"track: comping must be one of {', '.join(COMPING)}, not {comping!r}")
    quarter_s = beat_s(tempo_bpm)
    counted = count_in_quarters(metres[0], count_in_bars)
    once = _whole_bars(chords, metres)
    placed = _repeated(metres, once, len(rounds))
    tones: list[Tone] = []
    if counted:
        tones += clicks(tempo_bpm, counted, metres[:1])
    if click:
        tones += clicks(tempo_bpm, once * len(rounds), placed, counted * quarter_s)
    for turn, semitones in enumerate(rounds):
        shift = nearest_shift(semitones)
        for chord in chords:
            played = _chord(chord, shift, quarter_s, metres, swing, comping)
            tones += later(played, (counted + turn * once) * quarter_s)
    shown = metres_played(metres, counted, once, len(rounds))
    return Score(tuple(tones), tempo_bpm, shown, title, counted * quarter_s, fade_out_s)


def metres_played(
    metres: Sequence[ScoreMetre], counted: float, once: float, rounds: int
) -> tuple[ScoreMetre, ...]:  # fmt: skip
    """The metres of a track from its count-in on, each where it begins to hold.

    metres: of one round. counted: quarters of the count-in. once: quarters of one round. rounds: how many.
    """
    shown = [replace(metres[0], start_quarter=0.0)] if counted else []
    for metre in _repeated(metres, once, rounds):
        moved = replace(metre, start_quarter=metre.start_quarter + counted)
        if not shown or (shown[-1].beats, shown[-1].unit) != (moved.beats, moved.unit):
            shown.append(moved)
    return tuple(shown)


def _repeated(metres: Sequence[ScoreMetre], once: float, rounds: int) -> tuple[ScoreMetre, ...]:
    return tuple(
        replace(metre, start_quarter=metre.start_quarter + turn * once) for turn in range(rounds) for metre in metres
    )


def nearest_shift(semitones: int) -> int:
    """Return the same transposition folded by octaves to -6 ... 5 semitones."""
    return (semitones + 6) % 12 - 6


def _whole_bars(chords: Sequence[TrackChord], metres: Sequence[ScoreMetre]) -> float:
    """Return the length of one round in quarters, its last bar filled up."""
    end = max(chord.start_beat + chord.beats for chord in chords)
    last = metres[-1]
    bars = -((last.start_quarter - end + 1e-9) // last.bar_quarters)
    return last.start_quarter + max(bars, 1) * last.bar_quarters


def _chord(
    chord: TrackChord,
    shift: int,
    quarter_s: float,
    metres: Sequence[ScoreMetre],
    swing: float,
    comping: str,
) -> list[Tone]:
    end = chord.start_beat + chord.beats
    tones = []
    if chord.bass_midi is not None:
        place = chord.start_beat
        while place < end - 1e-9:
            length = min(2.0, end - place)
            start_s, length_s = _span(place, length, quarter_s, swing)
            tones.append(tone(chord.bass_midi + shift, start_s, length_s, _BASS_LOUDNESS, "bass"))
            place += 2.0
    if chord.grip_midis:
        keys = tuple(key + shift for key in chord.grip_midis)
        for place, length in _struck(chord, metres, comping):
            start_s, length_s = _span(place, length, quarter_s, swing)
            spread = min(_STRUM_S, length_s / (2 * len(keys)))
            tones += strum(keys, start_s, length_s, spread_s=spread, loudness=_GRIP_LOUDNESS)
    return tones


def _struck(chord: TrackChord, metres: Sequence[ScoreMetre], comping: str) -> list[tuple[float, float]]:
    """Return where and for how many quarters the grip sounds; at least once for each chord."""
    figure = COMPING[comping]
    end = chord.start_beat + chord.beats
    if figure is None:
        return [(chord.start_beat, chord.beats)]
    struck = []
    for number, metre in enumerate(metres):
        section_end = metres[number + 1].start_quarter if number + 1 < len(metres) else end
        bar = max(0, int((chord.start_beat - metre.start_quarter) // metre.bar_quarters))
        while (opens := metre.start_quarter + bar * metre.bar_quarters) < min(section_end, end):
            for place, length in figure:
                at = opens + place
                inside = place < metre.bar_quarters and at < section_end
                if inside and chord.start_beat - 1e-9 <= at < end - 1e-9:
                    struck.append((at, min(length, end - at)))
            bar += 1
    return struck or [(chord.start_beat, min(1.0, chord.beats))]


def _span(place: float, length: float, quarter_s: float, swing: float) -> tuple[float, float]:
    start, stop = swung(place, swing), swung(place + length, swing)
    return start * quarter_s, (stop - start) * quarter_s
