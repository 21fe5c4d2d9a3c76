"""Which notes a form plays, as intervals above the chord's root, in rising order."""

from __future__ import annotations

from functools import lru_cache

from drills.errors import NotPlayableError
from drills.shapes.form import Form
from drills.theory.interval import OCTAVE, Interval
from drills.theory.quality import Quality

__all__ = ["degree_label", "rising_tones", "scale_tones", "voicing_tones"]


def degree_label(interval: Interval) -> str:
    """The label a player reads: within one octave, except the octave root itself, which is 8.

    Two octaves above the root is 15.
    """
    if interval.semitones in (12, 24) and interval.steps in (7, 14):
        return "8" if interval.steps == 7 else "15"
    return interval.simple.degree


@lru_cache(maxsize=1024)
def rising_tones(quality: Quality, form: Form, strings: int = 1) -> tuple[Interval, ...]:
    """The notes of an arpeggio or a scale from the bottom up.

    strings: how many it is played on; only a scale of so many notes a string asks.
    Raises NotPlayableError when the chord has no such tone to start on, or the
    scale does not contain the chord.
    """
    if form.kind == "scale":
        return scale_tones(quality, form, strings)
    chord = quality.intervals
    if form.start >= len(chord):
        raise NotPlayableError(f"{quality.name} has {len(chord)} notes: there is no 7th to start on")
    count = len(chord) * form.octaves
    raised = [tone if octave == 0 else _raised(tone, octave) for octave in range(form.octaves + 2) for tone in chord]
    return tuple(raised[form.start : form.start + count + form.closed])


def scale_tones(quality: Quality, form: Form, strings: int) -> tuple[Interval, ...]:
    """The notes of a scale; where it sounds a chord tone, the chord's spelling is kept."""
    mode = form.scale
    spelled = {tone.semitones: tone for tone in quality.intervals}
    missing = [tone.degree for tone in quality.intervals if tone.semitones not in mode.pitch_classes]
    if missing:
        raise NotPlayableError(f"{mode.name} does not contain the {', '.join(missing)} of {quality.name}")
    one = [spelled.get(tone.semitones, tone) for tone in mode.intervals]
    if form.per_string:
        counted = range(form.start, form.start + form.per_string * strings)
        return tuple(_raised(one[number % len(one)], number // len(one)) for number in counted)
    tones = [_raised(tone, octave) for octave in range(form.octaves) for tone in one]
    if form.closed:
        tones.append(Interval(7 * form.octaves, 12 * form.octaves))
    return tuple(tones)


def _raised(tone: Interval, octaves: int) -> Interval:
    return Interval(tone.steps + 7 * octaves, tone.semitones + 12 * octaves)


@lru_cache(maxsize=512)
def voicing_tones(quality: Quality, form: Form) -> tuple[Interval, ...]:
    """The notes of a grip from the bass up.

    A drop 2 is a close-position chord whose second voice from the top goes down
    an octave, a drop 3 likewise with the third (common practice); an inversion
    is named by the tone in the bass. The bass is the tone within the first octave.

    Raises NotPlayableError when the chord has not the number of notes the voicing needs.
    """
    chord = quality.intervals
    needed = 3 if form.voicing == "close" else 4
    if len(chord) != needed:
        raise NotPlayableError(f"a {form.title} needs a chord of {needed} notes; {quality.name} has {len(chord)}")
    if form.voicing == "shell":
        root, third, _, seventh = chord
        return (root, third, seventh) if form.inversion else (root, seventh, third + OCTAVE)
    if form.voicing == "close":
        return _stack(chord, form.inversion)
    dropped = {"drop2": 2, "drop3": 3}[form.voicing]
    for lowest in range(4):
        close = _stack(chord, lowest)
        voice = close[4 - dropped] - OCTAVE
        if voice.steps % 7 == chord[form.inversion].steps:
            rest = close[: 4 - dropped] + close[4 - dropped + 1 :]
            shift = chord[form.inversion] - voice
            return tuple(tone + shift for tone in (voice, *rest))
    raise NotPlayableError(f"no {form.title} of {quality.name}")


def _stack(chord: tuple[Interval, ...], lowest: int) -> tuple[Interval, ...]:
    """Close position from a chord tone upward."""
    return tuple(chord[lowest:]) + tuple(tone + OCTAVE for tone in chord[:lowest])
