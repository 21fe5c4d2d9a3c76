"""The mode that is played over a chord: the first that holds its notes and its tensions."""

from __future__ import annotations

from functools import lru_cache

from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.mode import Mode, modes

__all__ = ["mode_of", "usual_mode"]


@lru_cache(maxsize=4096)
def mode_of(chord: Chord, preferred: tuple[str, ...] = ()) -> Mode | None:
    """The first mode that holds the chord and its tensions, or else the chord alone.

    Tried in order: the preferred names, the usual modes of the quality, then every known
    scale. An altered fifth among the tensions replaces the perfect one (G7alt has none).
    """
    tones = {interval.semitones % 12 for interval in chord.quality.intervals}
    altered = {label.lstrip("b#") for label in chord.tensions if label[0] in "b#"}
    # A 13b9 stacks a ninth that its own b9 replaces.
    labels = [label for label in chord.tensions if label not in altered]
    tensions = {Interval.from_degree(label).semitones % 12 for label in labels}
    wanted = tones | tensions
    if {1, 3, 6, 8} <= tensions:  # 7alt: b9 #9 #11 b13
        wanted = wanted - {7}
    known = modes()
    names = dict.fromkeys((*preferred, *chord.quality.modes, *known))
    for needed in (wanted, tones):
        for name in names:
            if needed <= known[name].pitch_classes:
                return known[name]
    return None


def usual_mode(chord: Chord) -> str:
    """The name of the mode a chord has where no key is told, or ``""``: C7 Mixolydian, C7#11 Lydian dominant."""
    usual = (chord.quality.modes or ("",))[0]
    if not usual or not chord.tensions:
        return usual
    mode = mode_of(chord)
    return mode.name if mode else usual
