"""Keys: diatonic sevenths, degrees and signatures, against drills/RULES.md, B2."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import DrillsError, TheoryError
from drills.theory.interval import Interval, transpose_note
from drills.theory.key import KEYS_BY_FOURTHS, Key, diatonic_qualities, parse_degree, parse_key
from drills.theory.mode import PARENTS
from drills.theory.note import Note
from drills.theory.symbol import parse_chord
from tests import strategies as own
from tests.signatures import signature_keys

# Rule B2: the seven chords in the keys.
B2 = """
C Cmaj7 Dm7 Em7 Fmaj7 G7 Am7 Bm7b5
F Fmaj7 Gm7 Am7 Bbmaj7 C7 Dm7 Em7b5
Bb Bbmaj7 Cm7 Dm7 Ebmaj7 F7 Gm7 Am7b5
Eb Ebmaj7 Fm7 Gm7 Abmaj7 Bb7 Cm7 Dm7b5
Ab Abmaj7 Bbm7 Cm7 Dbmaj7 Eb7 Fm7 Gm7b5
Db Dbmaj7 Ebm7 Fm7 Gbmaj7 Ab7 Bbm7 Cm7b5
Gb Gbmaj7 Abm7 Bbm7 Cbmaj7 Db7 Ebm7 Fm7b5
F# F#maj7 G#m7 A#m7 Bmaj7 C#7 D#m7 E#m7b5
B Bmaj7 C#m7 D#m7 Emaj7 F#7 G#m7 A#m7b5
E Emaj7 F#m7 G#m7 Amaj7 B7 C#m7 D#m7b5
A Amaj7 Bm7 C#m7 Dmaj7 E7 F#m7 G#m7b5
D Dmaj7 Em7 F#m7 Gmaj7 A7 Bm7 C#m7b5
G Gmaj7 Am7 Bm7 Cmaj7 D7 Em7 F#m7b5
"""
B2_ROWS = [line.split() for line in B2.strip().splitlines()]

# Rule B1, and common practice for triads.
FAMILIES = {
    ("major", 4): "maj7 m7 m7 maj7 7 m7 m7b5",
    ("harmonic minor", 4): "mMaj7 m7b5 maj7#5 m7 7 maj7 dim7",
    ("melodic minor", 4): "mMaj7 m7 maj7#5 7 7 m7b5 m7b5",
    ("major", 3): "maj m m maj maj m dim",
    ("harmonic minor", 3): "m dim aug m maj maj dim",
    ("melodic minor", 3): "m m aug maj maj dim dim",
}

MAJOR_TONICS = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"]
MINOR_TONICS = ["Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#"]


@pytest.mark.parametrize("row", B2_ROWS, ids=[row[0] for row in B2_ROWS])
def test_the_seven_chords_of_each_key(row):
    """The diatonic sevenths of the thirteen keys equal rule B2, spelling included."""
    assert [chord.name for chord in parse_key(row[0]).chords()] == row[1:]


@pytest.mark.parametrize(("family", "names"), FAMILIES.items())
def test_the_diatonic_families(family, names):
    """Stacked thirds on each degree give the families of rule B1."""
    assert " ".join(quality.name for quality in diatonic_qualities(*family)) == names


@pytest.mark.parametrize("parent", PARENTS)
def test_there_are_fifteen_signatures(parent):
    """Each parent scale has fifteen keys, from seven flats to seven sharps, in the order of fifths."""
    keys = signature_keys(parent)
    assert [key.signature for key in keys] == list(range(-7, 8))
    assert [key.tonic.name for key in keys] == (MAJOR_TONICS if parent == "major" else MINOR_TONICS)


@given(own.keys())
def test_a_key_uses_each_letter_once(key):
    """The seven notes of any key use the seven letters, and its chords use only those notes."""
    assert sorted(note.step for note in key.notes) == list(range(7))
    for chord in (*key.chords(), *key.chords(3)):
        assert set(chord.notes) <= set(key.notes)


@given(own.keys())
def test_a_signature_counts_accidentals(key):
    """The signature is the accidentals of the major scale, or of the natural minor: sixth and seventh lowered."""
    natural = ["1", "2", "b3", "4", "5", "b6", "b7"] if key.is_minor else ["1", "2", "3", "4", "5", "6", "7"]
    notes = [transpose_note(key.tonic, Interval.from_degree(label)) for label in natural]
    assert sum(note.alter for note in notes) == key.signature


@given(own.keys())
def test_a_key_reads_back_from_its_name(key):
    """Every key parses back from its name, plain or with printed accidentals."""
    assert parse_key(key.name) == key
    assert parse_key(own.printed(key.tonic) + key.name.removeprefix(key.tonic.name)) == key


@given(own.keys(), st.integers(1, 7))
def test_a_degree_reads_back_from_its_call(key, degree):
    """What a bandleader calls, such as "ii of Bb", parses back to the key and degree."""
    assert parse_degree(key.degree_name(degree)) == (key, degree)
    numeral = key.roman(degree)
    assert numeral.isupper() == (key.chord(degree).quality.semitones[1] == 4)


@given(own.keys(), st.integers(1, 7))
def test_a_mode_of_the_key_has_the_notes_of_the_key(key, degree):
    """The mode on a degree holds the notes of the key from that degree."""
    root = key.notes[degree - 1]
    mode = key.mode(degree)
    assert mode.notes(root) == key.notes[degree - 1 :] + key.notes[: degree - 1]
    assert set(key.chord(degree).notes) <= set(mode.notes(root))


@given(own.keys(), own.intervals(most_steps=7, most_change=0))
def test_a_key_moves_up_and_back(key, interval):
    """A transposed key comes back as itself, or is refused for want of a signature."""
    try:
        moved = key.transposed(interval)
    except TheoryError as error:
        assert "expected at most 7" in str(error)
    else:
        assert moved.transposed(-interval) == key
        assert [chord.quality for chord in moved.chords()] == [chord.quality for chord in key.chords()]


@pytest.mark.parametrize(
    ("call", "chord"),
    [
        ("ii of B-flat", "Cm7"),
        ("ii of Bb", "Cm7"),
        ("iii of E", "G#m7"),
        ("vii of Db", "Cm7b5"),
        ("IV of Gb", "Cbmaj7"),
        ("V of C minor", "G7"),
        ("vii of C minor", "Bdim7"),
        ("iv of C melodic minor", "F7"),
        ("vi of F#", "D#m7"),
        ("V7 of c minor", "G7"),
        ("viiø of Db", "Cm7b5"),
        ("vii°7 of A minor", "G#dim7"),
        ("Imaj7 in Ab", "Abmaj7"),
        ("iim7 of Bb", "Cm7"),
        ("ii7 of Bb", "Cm7"),
        ("i of D minor", "DmMaj7"),
    ],
)
def test_degrees_of_a_key(call, chord):
    """A called degree is the chord the key has there, spelled by the key (rules, section G)."""
    key, degree = parse_degree(call)
    assert key.chord(degree).name == chord


@pytest.mark.parametrize(
    ("call", "notes"), [("iii of E", "G# B D# F#"), ("vii of Db", "C Eb Gb Bb"), ("IV of Gb", "Cb Eb Gb Bb")]
)
def test_the_key_decides_the_spelling(call, notes):
    """No G# is shown as Ab and no Cb as B: in a key every chord uses every second letter (rules, section G)."""
    key, degree = parse_degree(call)
    assert " ".join(note.name for note in key.chord(degree).notes) == notes


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Bb", "Bb"),
        ("b♭", "Bb"),
        ("B-flat major", "Bb"),
        ("F sharp", "F#"),
        ("c minor", "C minor"),
        ("Cm", "C minor"),
        ("C Minor", "C minor"),
        ("a min", "A minor"),
        ("c harmonic minor", "C minor"),
        ("C melodic minor", "C melodic minor"),
        ("G MAJOR", "G"),
        ("C maj", "C"),
        ("c MAJ", "C"),
        ("C MIN", "C minor"),
        ("  D   major ", "D"),
        ("G# minor", "G# minor"),
    ],
)
def test_keys_are_read_as_musicians_write_them(text, name):
    """Words, signs and either case are read; plain minor is the harmonic minor, whose V is a dominant."""
    assert parse_key(text).name == name


@pytest.mark.parametrize(
    "text",
    [
        "",
        "H",
        "G# major",
        "Fb",
        "Db minor",
        "C##",
        "B#",
        "Cb minor",
        "C lydic",
        "C minor minor",
        "CM",
        "c" * 10_000,
        "C" + " " * 10_000 + "x",
        "C\x00",
        "Bb♭♭",
        "minor",
        "C\nmelodic\nmajor",
    ],
    ids=lambda text: ascii(text[:16]),
)
def test_what_is_no_key_is_refused_in_one_line(text):
    """Unknown names and keys beyond seven accidentals are refused with one line."""
    with pytest.raises(TheoryError, match="expected") as refusal:
        parse_key(text)
    assert str(refusal.value).isprintable() and len(str(refusal.value)) < 300


@pytest.mark.parametrize(
    "text",
    [
        "",
        "ii",
        "ii of",
        "of C",
        "iiii of C",
        "viii of C",
        "bII of C",
        "0 of C",
        "ii of H",
        "ii of C" + " " * 10_000,
        "iim7b5 of Bb",
        "viiø of C minor",
        "V of\nH",
        "ii of Bb\x00",
    ],
    ids=lambda text: ascii(text[:16]),
)
def test_what_is_no_degree_of_a_key_is_refused_in_one_line(text):
    """Unknown degrees, and a quality that the key does not have there, are refused with one line."""
    with pytest.raises(TheoryError) as refusal:
        parse_degree(text)
    assert str(refusal.value).isprintable() and len(str(refusal.value)) < 300


@pytest.mark.parametrize("degree", [-1, 0, 8, 100])
@pytest.mark.parametrize("asked", ["chord", "mode", "roman", "degree_name"])
def test_degrees_beyond_seven_are_refused(asked, degree):
    """A key has degrees 1 to 7; others raise instead of wrapping round."""
    with pytest.raises(TheoryError, match="expected 1 to 7"):
        getattr(parse_key("C"), asked)(degree)


@pytest.mark.parametrize("size", [0, 2, 5, 7])
def test_chords_have_three_or_four_notes(size):
    """Diatonic chords are triads or sevenths; other sizes are refused."""
    with pytest.raises(TheoryError, match="expected 3 for triads or 4"):
        parse_key("C").chord(1, size)


def test_an_unknown_parent_scale_is_refused():
    """A key is built on one of three parent scales."""
    with pytest.raises(DrillsError, match="expected one of major"):
        Key(Note.parse("C"), "phrygian")


def test_the_cycle_of_fourths():
    """Twelve keys stand a fourth apart in the order keys are learned (rule B2)."""
    pitch_classes = [Note.parse(name).pitch_class for name in KEYS_BY_FOURTHS]
    assert sorted(pitch_classes) == list(range(12))
    assert all((b - a) % 12 == 5 for a, b in pairwise(pitch_classes))


def test_four_forms_a_major_key():
    """Any major key holds maj7 twice, m7 three times, 7 once and m7b5 once (rules, section G)."""
    for key in signature_keys():
        names = sorted(chord.quality.name for chord in key.chords())
        assert names == ["7", "m7", "m7", "m7", "m7b5", "maj7", "maj7"]
        assert all(parse_chord(chord.name) == chord for chord in key.chords())
