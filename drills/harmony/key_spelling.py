"""Spells a key that was found by its sound. It is spelled as its chords are, once for each stretch in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from drills.errors import TheoryError
from drills.harmony.functions import ChordFunction
from drills.harmony.key_search import STATES, is_stated
from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.key import Key
from drills.theory.note import Note
from drills.theory.spelling import common_name

__all__ = ["passing_numeral", "plain_key", "spelled_keys"]


_RISING = ("i", "#i", "ii", "#ii", "iii", "iv", "#iv", "v", "#v", "vi", "#vi", "vii")
_FALLING = ("i", "bii", "ii", "biii", "iii", "iv", "bv", "v", "bvi", "vi", "bvii", "vii")


def passing_numeral(above: int, step: int | None) -> str:
    """E.g. ``#i in passing`` for a diminished chord on its way from C to D in C, ``biii`` on its way down.

    above: semitones of its root above the tonic, 0 to 11. step: semitones up to the next root, 0 to 11.
    The numeral says where the chord goes, whatever way its name is written.
    """
    return (_FALLING if step == 11 else _RISING)[above] + " in passing"


def _key_in_use(tonic: Note, kind: str) -> Key:
    return Key(tonic, "harmonic minor" if kind == "minor" else "major")


def _key(tonic: Note, kind: str) -> Key | None:
    try:
        return _key_in_use(tonic, kind)
    except TheoryError:
        return None


def spelled_keys(
    chords: Sequence[tuple[Chord, Key | None]], states: Sequence[int], readings: Sequence[tuple[ChordFunction, ...]]
) -> list[Key]:
    """The key of each chord, spelled as its chords spell it; one spelling for each stretch in one key."""
    keys: list[Key] = []
    start = 0
    while start < len(states):
        end = start
        while end < len(states) and states[end] == states[start]:
            end += 1
        tonic_class, kind = STATES[states[start]]
        votes: Counter[Key] = Counter()
        for place in range(start, end):
            chord, stated = chords[place]
            if stated is not None and is_stated(STATES[states[place]], stated):
                votes[_key_in_use(stated.tonic, kind)] += 100  # what the page states outweighs what the chords suggest
                continue
            degree = readings[place][states[place]].degree
            named = _key(transpose_note(chord.root, -Interval.from_degree(degree)), kind) if degree else None
            if named:
                votes[named] += 1
        if votes:
            most = max(votes.values())
            key = min((k for k, count in votes.items() if count == most), key=lambda k: (abs(k.signature), k.signature))
        else:
            key = plain_key(tonic_class, "harmonic minor" if kind == "minor" else "major")
        keys.extend([key] * (end - start))
        start = end
    return keys


def plain_key(tonic_class: int, parent: str) -> Key:
    """The key on a pitch class with the fewest sharps or flats; Db and Gb before C# and F#."""
    spellings = [Note(step, alter) for step in range(7) for alter in (-1, 0, 1)]
    kind = "major" if parent == "major" else "minor"
    keys = [key for note in spellings if note.pitch_class == tonic_class and (key := _key(note, kind))]
    key = min(keys, key=lambda key: (abs(key.signature), key.tonic.name != common_name(tonic_class)))
    return Key(key.tonic, parent)
