"""Vamps: chords that are a tonic because the music rests on them, with no cadence that says otherwise.

The modes are common practice of modal jazz: Dorian on a minor seventh, Mixolydian on a
dominant seventh, a mode without a third on a suspended seventh, and on a major seventh Lydian or
Ionian as the chords beside it hold the raised or the plain fourth. Two vamps are two tonics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drills.harmony.functions import reading
from drills.harmony.stretches import Stretch, step_between

__all__ = ["SUSPENDED", "Vamp", "vamps"]

LONG, SIDE_BY_SIDE = 4, 2
"""Bars that make a vamp: four, or two where every chord of the page has one quality and none of them cadences."""

NEAR = 4
"""A cadence is heard over so many chords on either side."""

SUSPENDED = "Mixolydian sus4"
"""The mode of a suspended vamp; it has no third, as the chord has none."""

_LOOPS = {
    ("min", 5, "dom"): ("Dorian", "i", "IV"),
    ("min", 5, "M"): ("Dorian", "i", "IV"),
    ("min", 2, "min"): ("Dorian", "i", "ii"),
    ("maj", 2, "dom"): ("Lydian", "I", "II"),
    ("maj", 2, "M"): ("Lydian", "I", "II"),
    ("M", 2, "M"): ("Lydian", "I", "II"),
    ("dom", 10, "maj"): ("Mixolydian", "I", "bVII"),
    ("dom", 10, "M"): ("Mixolydian", "I", "bVII"),
}
"""Two chords to and fro: first chord, step up to the second, second chord; mode of the tonic, both numerals."""

_LOOP_MODES = {"i": "Dorian", "ii": "Phrygian", "IV": "Mixolydian", "bVII": "Ionian"}
_FROM_LYDIAN = {"I": "Lydian", "II": "Mixolydian"}


@dataclass(frozen=True, slots=True)
class Vamp:
    """A chord heard on a modal tonic.

    tonic: pitch class. mode: of the tonic. numeral: of the chord. chord_mode: that follows for the chord.
    sure: False when a key holds it as well, so that this is the second of two readings.
    """

    tonic: int
    mode: str
    numeral: str
    chord_mode: str
    sure: bool = True


def vamps(page: Sequence[Stretch]) -> dict[int, Vamp]:
    """For each stretch that is heard as modal, or may be, by its index in the page."""
    found = _loop(page)
    alike = not any(map(_cadence, page, page[1:])) and len({one.chord.quality for one in page}) == 1
    long = SIDE_BY_SIDE if alike and len(page) > 1 else LONG
    for place, one in enumerate(page):
        if place in found or one.bars < long or _goes_on(page, place):
            continue
        mode = _mode(page, place)
        if mode is None or _explained(page, place):
            continue
        sure = one.stated is None or _stated_cost(page, place) > 2
        if not sure and one.stated is not None and one.stated.tonic.pitch_class == one.root:
            continue  # the tonic of a stated key needs no second tonic
        found[place] = Vamp(one.root, mode, "i" if one.family == "min" else "I", mode, sure)
    return found


def _mode(page: Sequence[Stretch], place: int) -> str | None:
    one = page[place]
    tones = set(one.chord.quality.semitones)
    if one.family == "min":
        return "Dorian"
    if one.family == "dom":
        return SUSPENDED if {5, 10} <= tones and not tones & {3, 4} else "Mixolydian" if 7 in tones else None
    if one.family == "maj":
        heard = {
            (other.root + tone - one.root) % 12
            for other in [*page[max(0, place - 1) : place], *page[place + 1 : place + 2]]
            for tone in other.chord.quality.semitones
        }
        return "Lydian" if 6 in heard and 5 not in heard else "Ionian"
    return None


def _cadence(one: Stretch, other: Stretch) -> bool:
    """Whether a dominant falls a fifth to a chord that can be a tonic."""
    return one.family == "dom" and step_between(one, other) == 5 and other.family not in ("half", "dim", "sus")


def _goes_on(page: Sequence[Stretch], place: int) -> bool:
    """Whether a chord is on its way: a dominant that resolves or follows its ii, or a ii before its V."""
    one = page[place]
    if place + 1 < len(page):
        other = page[place + 1]
        step = step_between(one, other)
        if one.family == "dom" and step in (5, 11) and one.chord.quality != other.chord.quality:
            return True
        if step == 5 and other.family == "dom":
            return True
    if place and one.family == "dom":
        before = page[place - 1]
        return before.family in ("min", "half") and step_between(before, one) == 5
    return False


def _explained(page: Sequence[Stretch], place: int) -> bool:
    """Whether a cadence near by settles a key that this chord belongs to."""
    one = page[place]
    low, high = max(0, place - NEAR), min(len(page), place + NEAR + 1)
    for before, tonic in zip(page[low : high - 1], page[low + 1 : high], strict=True):
        if not _cadence(before, tonic):
            continue
        kind = {"min": "minor", "tonic": "minor", "dom": "blues"}.get(tonic.family, "major")
        if reading(kind, (one.root - tonic.root) % 12, one.family, None, "").cost <= 1:
            return True
    return False


def _stated_cost(page: Sequence[Stretch], place: int) -> int:
    one = page[place]
    if one.stated is None:
        return 0
    kind = "minor" if one.stated.is_minor else "major"
    return reading(kind, (one.root - one.stated.tonic.pitch_class) % 12, one.family, None, "").cost


def _loop(page: Sequence[Stretch]) -> dict[int, Vamp]:
    """Two chords to and fro, twice or more, and nothing else: modal where the page says so, else a second reading."""
    if len(page) < 4 or any(map(_cadence, page, page[1:])):
        return {}
    sounds = [(one.root, one.family) for one in page]
    if sounds[0] == sounds[1] or any(sound != sounds[place % 2] for place, sound in enumerate(sounds)):
        return {}
    for first, second in ((0, 1), (1, 0)):
        key = (page[first].family, step_between(page[first], page[second]), page[second].family)
        if key not in _LOOPS:
            continue
        mode, one, other = _LOOPS[key]
        modes = _FROM_LYDIAN if mode == "Lydian" else {**_LOOP_MODES, "I": "Mixolydian"}
        tonic = page[first].root
        stated = page[0].stated
        sure = stated is not None and stated.tonic.pitch_class == tonic
        return {
            place: Vamp(tonic, mode, *((one, modes[one]) if place % 2 == first else (other, modes[other])), sure)
            for place in range(len(page))
        }
    return {}
