"""How long a name may be, how much of it a message repeats, and what is meant by one that is cut short."""

import pytest

from drills.errors import SymbolError, TheoryError
from drills.theory.interval import Interval
from drills.theory.key import parse_degree, parse_key
from drills.theory.note import Note, Pitch
from drills.theory.symbol import parse_chord


def _refusal(text, **options):
    with pytest.raises(SymbolError) as refusal:
        parse_chord(text, **options)
    return refusal.value


def test_a_symbol_has_40_characters_at_most():
    """Blanks count, and a longer symbol is refused at its 41st character with a chord that may be written."""
    assert parse_chord("C7" + " " * 38).name == "C7"
    refusal = _refusal("C7" + " " * 39)
    assert (refusal.position, refusal.suggestions) == (40, ("Cmaj7",))
    assert "expected at most 40 characters, got 41" in str(refusal)


def test_a_key_and_a_degree_have_80_characters_at_most():
    """Blanks count: what is longer is refused, though the rest of it says nothing."""
    assert parse_key("C" + " " * 79).name == "C"
    with pytest.raises(TheoryError, match="key 'C"):
        parse_key("C" + " " * 80)
    assert parse_degree("ii of C" + " " * 73)[1] == 2
    with pytest.raises(TheoryError, match="degree 'ii of C"):
        parse_degree("ii of C" + " " * 74)


@pytest.mark.parametrize(
    "read", [parse_key, parse_degree, Interval.parse, Interval.from_degree, Note.parse, Pitch.parse]
)
@pytest.mark.parametrize("length", [39, 40, 41, 60])
def test_a_message_repeats_40_characters(read, length):
    """What is refused is repeated as far as its 40th character."""
    text = ("xyz" * 30)[:length]
    with pytest.raises(TheoryError) as refusal:
        read(text)
    assert repr(text[:40]) in str(refusal.value)


@pytest.mark.parametrize("length", [23, 24, 25, 30])
def test_a_refused_symbol_is_repeated_up_to_24_characters(length):
    """A symbol of 24 characters is repeated whole, of a longer one the first 24 and three dots."""
    text = "X" + "yz" * 20
    told = text[:length] if length <= 24 else text[:24] + "..."
    assert str(_refusal(text[:length])).startswith(f"chord {told!r}, character 1: ")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("C7/", "C7/E"),
        ("Cm7/", "Cm7/Eb"),
        ("Cbbm7/", "Cbbm7/Ebbb"),
        ("Cbbbm7/", "Cbbbm7/Cbbb"),
        ("D##/", "D##/F###"),
        ("D###/", "D###/D###"),
    ],
)
def test_a_bass_that_is_missing_is_the_third_where_it_can_be_typed(typed, meant):
    """Three accidentals can be typed and four cannot: then the root is the bass that is offered, and nothing else."""
    assert _refusal(typed).suggestions == (meant,)


@pytest.mark.parametrize(
    ("text", "name", "tensions"),
    [
        ("C(b9)", "C", ("b9",)),
        ("Cm(b9)", "Cm", ("b9",)),
        ("Cm#11", "Cm", ("#11",)),
        ("Cmaj#11", "C", ("#11",)),
        ("Cm6b13", "Cm6", ("b13",)),
        ("Csus#11", "Csus4", ("#11",)),
        ("Cdimb13", "Cdim", ("b13",)),
        ("Cadd2", "C", ("9",)),
        ("Cadd4", "C", ("11",)),
        ("Cmadd11", "Cm", ("11",)),
        ("C7add13", "C7", ("13",)),
        ("C7b9,#9", "C7", ("b9", "#9")),
        ("C7b9b9", "C7", ("b9",)),
    ],
)
def test_the_accidental_of_a_tension_belongs_to_it(text, name, tensions):
    """A flat or sharp before 9, 11 or 13 is the tension's, not the chord's; a tension counts once."""
    chord = parse_chord(text, reduce=True)
    assert (chord.name, chord.tensions) == (name, tensions)


@pytest.mark.parametrize(
    ("text", "place"),
    [("C7,junk", 3), ("C7b9junk", 4), ("C7b9,junk", 5), ("C13#11x", 6), ("Cm9x", 3), ("C7altx", 5), ("Cx9", 1)],
)
def test_a_refusal_with_leave_to_reduce_counts_what_reduces_as_understood(text, place):
    """Tensions and the commas between them are understood; what follows them is where it stops."""
    assert _refusal(text, reduce=True).position == place
