"""Stretches of one chord in one stated key: what a listener hears as one event, however many bars write it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from drills.changes.changes import Bar, Slot
from drills.harmony.functions import family
from drills.harmony.key_search import stated_key
from drills.theory.chord import Chord
from drills.theory.key import Key

__all__ = ["Stretch", "leads_on", "step_between", "stretches"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """One chord for as long as it sounds without another between.

    chord: as first written. stated: the key the page states there, or None.
    bars: how long it lasts, in bars of the metre at each place.
    first, end: indices of its sounding slots, the end not included.
    """

    chord: Chord
    stated: Key | None
    bars: Fraction
    first: int
    end: int

    @property
    def family(self) -> str:
        """How its quality behaves in a key, as ``drills.harmony.functions.family`` says."""
        return family(self.chord.quality)

    @property
    def root(self) -> int:
        """Pitch class of its root."""
        return self.chord.root.pitch_class


def step_between(one: Stretch, other: Stretch) -> int:
    """Semitones from the root of one up to the root of the other, 0 to 11."""
    return (other.root - one.root) % 12


def stretches(sounding: Sequence[tuple[Bar, Slot]]) -> tuple[Stretch, ...]:
    """The stretches of the slots that hold a chord, in playing order; raises ValueError at a slot without one."""
    found: list[Stretch] = []
    for place, (bar, slot) in enumerate(sounding):
        chord, bars = slot.sounding, slot.beats / bar.metre.beats
        last = found[-1] if found else None
        if (
            last is not None
            and last.root == chord.root.pitch_class
            and last.chord.quality == chord.quality
            and stated_key(last.stated) == stated_key(bar.key)
        ):
            found[-1] = Stretch(last.chord, last.stated, last.bars + bars, last.first, place + 1)
        else:
            found.append(Stretch(chord, bar.key, bars, place, place + 1))
    return tuple(found)


def leads_on(one: Chord | None, other: Chord | None) -> bool:
    """Whether one chord cadences to the other.

    A dominant falls a fifth or a semitone, a diminished chord rises a semitone, a ii goes to its V.
    """
    if one is None or other is None:
        return False
    step = (other.root.pitch_class - one.root.pitch_class) % 12
    first, second = family(one.quality), family(other.quality)
    if first == "dom":
        return step in (5, 11)
    return (first == "dim" and step == 1) or (first in ("min", "half") and step == 5 and second == "dom")
