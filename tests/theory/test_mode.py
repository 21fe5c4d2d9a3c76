"""The 21 modes and the other scales."""

from itertools import pairwise

import pytest
from hypothesis import given

from drills.errors import TheoryError
from drills.theory.mode import PARENTS, mode_named, modes, parent_degrees
from drills.theory.quality import shipped_qualities
from tests import strategies as own

# Degrees of each mode against the major scale (common practice, any jazz harmony primer).
DEGREES = {
    "Ionian": "1 2 3 4 5 6 7",
    "Dorian": "1 2 b3 4 5 6 b7",
    "Phrygian": "1 b2 b3 4 5 b6 b7",
    "Lydian": "1 2 3 #4 5 6 7",
    "Mixolydian": "1 2 3 4 5 6 b7",
    "Aeolian": "1 2 b3 4 5 b6 b7",
    "Locrian": "1 b2 b3 4 b5 b6 b7",
    "harmonic minor": "1 2 b3 4 5 b6 7",
    "Locrian natural 6": "1 b2 b3 4 b5 6 b7",
    "Ionian #5": "1 2 3 4 #5 6 7",
    "Dorian #4": "1 2 b3 #4 5 6 b7",
    "Phrygian dominant": "1 b2 3 4 5 b6 b7",
    "Lydian #2": "1 #2 3 #4 5 6 7",
    "altered bb7": "1 b2 b3 b4 b5 b6 bb7",
    "melodic minor": "1 2 b3 4 5 6 7",
    "Dorian b2": "1 b2 b3 4 5 6 b7",
    "Lydian augmented": "1 2 3 #4 #5 6 7",
    "Lydian dominant": "1 2 3 #4 5 6 b7",
    "Mixolydian b6": "1 2 3 4 5 b6 b7",
    "Locrian natural 2": "1 2 b3 4 b5 b6 b7",
    "altered": "1 b2 b3 b4 b5 b6 b7",
}


@pytest.mark.parametrize(("name", "degrees"), DEGREES.items())
def test_a_mode_has_its_degrees(name, degrees):
    """Each of the 21 modes has the degrees of common practice, computed by rotating its parent."""
    assert " ".join(mode_named(name).degrees) == degrees


def test_the_21_modes_come_first():
    """Three parents give 21 modes, in order of degree; symmetric and pentatonic scales follow."""
    listed = list(modes().values())
    assert [mode.name for mode in listed[:21]] == list(DEGREES)
    assert [(mode.parent, mode.degree) for mode in listed[:21]] == [(p, d) for p in PARENTS for d in range(1, 8)]
    assert all(mode.parent == "" and mode.degree == 0 for mode in listed[21:])


# Semitone patterns (common practice): they define the symmetric scales.
@pytest.mark.parametrize(
    ("name", "steps"),
    [
        ("whole tone", "2 2 2 2 2 2"),
        ("whole-half diminished", "2 1 2 1 2 1 2 1"),
        ("half-whole diminished", "1 2 1 2 1 2 1 2"),
        ("major pentatonic", "2 2 3 2 3"),
        ("minor pentatonic", "3 2 2 3 2"),
        ("blues", "3 2 1 1 3 2"),
    ],
)
def test_other_scales_have_their_step_patterns(name, steps):
    """Symmetric, pentatonic and blues scales have the step patterns that define them."""
    semitones = [interval.semitones for interval in mode_named(name).intervals] + [12]
    assert " ".join(str(b - a) for a, b in pairwise(semitones)) == steps


@given(own.mode_values(), own.usual_roots())
def test_modes_rise_within_an_octave(mode, root):
    """Every scale rises from its root within the octave, and its notes sound its pitch classes."""
    semitones = [interval.semitones for interval in mode.intervals]
    assert semitones == sorted(set(semitones)) and semitones[0] == 0 and semitones[-1] < 12
    sounding = {(note.pitch_class - root.pitch_class) % 12 for note in mode.notes(root)}
    assert sounding == mode.pitch_classes
    if mode.parent:
        assert sorted(note.step for note in mode.notes(root)) == list(range(7))


def test_every_quality_lies_in_its_modes_by_letter_too():
    """The usual mode of a diatonic or minor-key quality spells the chord, not only sounds it."""
    spelled = 0
    for quality in shipped_qualities():
        if quality.tier < 3:
            mode = modes()[quality.modes[0]]
            assert set(quality.degrees) <= set(mode.degrees), quality.name
            spelled += 1
    assert spelled == 15


@pytest.mark.parametrize("name", ["dorian", " DORIAN ", "Lydian Dominant", "ALTERED BB7"])
def test_modes_are_found_in_any_case(name):
    """A mode is found by name in any case."""
    assert mode_named(name).name.lower() == name.strip().lower()


@pytest.mark.parametrize("name", ["", "doric", "x" * 10_000, "Dorian\n5"])
def test_an_unknown_mode_is_refused_in_one_line(name):
    """An unknown name is refused with the list of those known, in one line."""
    with pytest.raises(TheoryError, match="expected one of Ionian") as refusal:
        mode_named(name)
    assert str(refusal.value).isprintable()


def test_an_unknown_parent_is_refused():
    """Only the three parent scales, and the modes that are keys of their own, have degrees here."""
    with pytest.raises(TheoryError, match="expected one of major, harmonic minor, melodic minor, Dorian"):
        parent_degrees("Hungarian minor")
    assert parent_degrees("natural minor") == mode_named("Aeolian").intervals
