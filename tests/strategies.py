"""Hypothesis strategies for every kind of value the tests draw."""

from __future__ import annotations

from hypothesis import strategies as st

from drills.neck.tuning import NamedTuning, read_tunings
from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.key import Key, signature_keys
from drills.theory.mode import PARENTS, Mode, modes
from drills.theory.note import NATURAL_SEMITONES, Note, Pitch
from drills.theory.quality import Quality, shipped_qualities

USUAL_ROOTS = tuple("C C# Db D D# Eb E F F# Gb G G# Ab A A# Bb B".split())
"""The 17 roots in use when no key forces another."""

ALL_KEYS = tuple(key for parent in PARENTS for key in signature_keys(parent))
"""The 45 keys: three parent scales in fifteen signatures."""

# ---- theory


def notes(most: int = 3) -> st.SearchStrategy[Note]:
    """Note names with up to `most` accidentals."""
    return st.builds(Note, st.integers(0, 6), st.integers(-most, most))


def usual_roots() -> st.SearchStrategy[Note]:
    """The 17 usual roots."""
    return st.sampled_from([Note.parse(name) for name in USUAL_ROOTS])


def pitches(most: int = 3) -> st.SearchStrategy[Pitch]:
    """Spelled pitches in octaves -1 to 9."""
    return st.builds(Pitch, notes(most), st.integers(-1, 9))


def intervals(most_steps: int = 15, most_change: int = 3) -> st.SearchStrategy[Interval]:
    """Spelled intervals upward or downward, up to triply augmented or diminished."""

    def build(steps: int, change: int, down: bool) -> Interval:
        octaves, step = divmod(steps, 7)
        up = Interval(steps, 12 * octaves + NATURAL_SEMITONES[step] + change)
        return -up if down else up

    return st.builds(build, st.integers(0, most_steps), st.integers(-most_change, most_change), st.booleans())


def qualities() -> st.SearchStrategy[Quality]:
    """The shipped qualities."""
    return st.sampled_from(list(shipped_qualities()))


def chords() -> st.SearchStrategy[Chord]:
    """Shipped qualities on the 17 usual roots."""
    return st.builds(Chord, usual_roots(), qualities())


def keys() -> st.SearchStrategy[Key]:
    """All 45 keys."""
    return st.sampled_from(ALL_KEYS)


def mode_values() -> st.SearchStrategy[Mode]:
    """The 21 modes and the other scales."""
    return st.sampled_from(list(modes().values()))


# ---- neck


def tunings() -> st.SearchStrategy[NamedTuning]:
    """The shipped tunings, each with its usual scale length."""
    return st.sampled_from(list(read_tunings().values()))


# ---- text that nobody should type


def odd_text(alphabet: str, most: int = 30) -> st.SearchStrategy[str]:
    """Text near the meaningful alphabet, or anything Unicode holds, lone surrogates and controls included."""
    near = st.text(st.sampled_from(alphabet), max_size=most)
    anything = st.text(st.characters(), max_size=most)
    return st.one_of(
        near,
        anything,
        st.builds(lambda a, b, c: a + b + c, near, anything, near),
        st.builds(str.__mul__, near, st.integers(0, 400)),
    )
