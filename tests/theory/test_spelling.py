"""How a root with no key around it is spelled."""

import pytest
from hypothesis import given

from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.spelling import common_name, free_root, free_roots, simple_twin
from tests import strategies as own

# drills/RULES.md, B2: preferred spelling of the twelve free-standing roots.
B2_ROOTS = {
    "maj7": "C Db D Eb E F Gb G Ab A Bb B",
    "m7": "C C# D Eb E F F# G G# A Bb B",
    "7": "C Db D Eb E F F# G Ab A Bb B",
    "m7b5": "C C# D D# E F F# G G# A A# B",
    "dim7": "C C# D D# E F F# G G# A A# B",
    "m6": "C C# D Eb E F F# G Ab A Bb B",
    "mMaj7": "C Db D Eb E F F# G Ab A Bb B",
}


@pytest.mark.parametrize(("quality", "roots"), B2_ROOTS.items())
def test_free_roots_equal_the_table(quality, roots):
    """The computable rule gives the twelve roots of rule B2."""
    found = free_roots(shipped_qualities().named(quality))
    assert " ".join(note.name for note in found) == roots


@pytest.mark.parametrize("quality", list(shipped_qualities()), ids=str)
def test_free_roots_are_usual_and_complete(quality):
    """Every quality gets each of the twelve sounds once, from C up, and never Cb, Fb, E# or B#."""
    found = free_roots(quality)
    assert [note.pitch_class for note in found] == list(range(12))
    assert {note.name for note in found} <= set(own.USUAL_ROOTS)


@pytest.mark.parametrize("quality", list(shipped_qualities()), ids=str)
def test_no_other_usual_root_is_spelled_more_simply(quality):
    """The twin of a chosen root never has fewer double accidentals, nor as few with fewer rare names (rule B2)."""

    def awkward(note):
        names = [tone.name for tone in Chord(note, quality).notes]
        return (
            sum(len(name) > 2 for name in names),
            sum(name in ("Cb", "Fb", "E#", "B#") for name in names),
            sum(len(name) - 1 for name in names),
        )

    for chosen in free_roots(quality):
        twins = [Note.parse(name) for name in own.USUAL_ROOTS if Note.parse(name).pitch_class == chosen.pitch_class]
        assert awkward(chosen) == min(map(awkward, twins))
        tied = [twin for twin in twins if awkward(twin) == awkward(chosen)]
        assert chosen.name.endswith("b") or len(tied) == 1


@given(own.notes(), own.qualities())
def test_any_spelling_leads_to_one_free_root(note, quality):
    """However a root is spelled, its free-standing name sounds the same and is stable."""
    root = free_root(note, quality)
    assert root.pitch_class == note.pitch_class
    assert free_root(root, quality) == root


def test_common_names_are_fixed():
    """The twelve fixed names used in ids never change; they are the cycle of fourths' own names."""
    assert [common_name(pitch_class) for pitch_class in range(12)] == [
        "C",
        "Db",
        "D",
        "Eb",
        "E",
        "F",
        "Gb",
        "G",
        "Ab",
        "A",
        "Bb",
        "B",
    ]
    assert common_name(-1) == common_name(11) == "B"


@pytest.mark.parametrize(
    ("strict", "plain"),
    [
        ("Bbb", "A"),
        ("Cb", "B"),
        ("E#", "F"),
        ("Fb", "E"),
        ("B#", "C"),
        ("F##", "G"),
        ("Ebbb", "Db"),
        ("C", None),
        ("Gb", None),
        ("F#", None),
    ],
)
def test_strict_spellings_have_an_everyday_twin(strict, plain):
    """A strict spelling such as Bbb has an everyday name, A; an everyday name needs none (rule B2)."""
    twin = simple_twin(Note.parse(strict))
    assert (twin and twin.name) == plain
