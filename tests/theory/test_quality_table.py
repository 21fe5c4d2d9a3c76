"""The shipped qualities against drills/RULES.md, B1, and against one another."""

import itertools

import pytest

from drills.errors import TheoryError
from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.mode import modes
from drills.theory.note import Note
from drills.theory.quality import normal_symbol, shipped_qualities
from drills.theory.symbol import parse_chord
from tests.strategies import USUAL_ROOTS

# Rule B1: tier, name, formula, semitones, spelled on C, where met (common practice).
B1 = """
1 | maj7    | 1 3 5 7     | 0 4 7 11 | C E G B     | the I or the IV chord
1 | m7      | 1 b3 5 b7   | 0 3 7 10 | C Eb G Bb   | the ii, the iii or the vi chord
1 | 7       | 1 3 5 b7    | 0 4 7 10 | C E G Bb    | the V chord, or any chord of a blues
1 | m7b5    | 1 b3 b5 b7  | 0 3 6 10 | C Eb Gb Bb  | the vii chord of a major key or the ii of a minor key
2 | dim7    | 1 b3 b5 bb7 | 0 3 6 9  | C Eb Gb Bbb | a passing or a common-tone diminished chord, or the top of V7b9
2 | m6      | 1 b3 5 6    | 0 3 7 9  | C Eb G A    | the tonic of a minor key
2 | mMaj7   | 1 b3 5 7    | 0 3 7 11 | C Eb G B    | the tonic of a minor key, often with a line that descends
2 | 6       | 1 3 5 6     | 0 4 7 9  | C E G A     | the tonic of a major key, at endings and in swing
2 | 7sus4   | 1 4 5 b7    | 0 5 7 10 | C F G Bb    | a V chord whose third is delayed
3 | 7#5     | 1 3 #5 b7   | 0 4 8 10 | C E G# Bb   | the V chord of a minor key, or whole-tone colour
3 | 7b5     | 1 3 b5 b7   | 0 4 6 10 | C E Gb Bb   | a colour of the V chord: #11, or the tritone substitute
3 | maj7#5  | 1 3 #5 7    | 0 4 8 11 | C E G# B    | the III chord of harmonic or melodic minor
3 | maj7b5  | 1 3 b5 7    | 0 4 6 11 | C E Gb B    | maj7#11 within one octave
3 | dimMaj7 | 1 b3 b5 7   | 0 3 6 11 | C Eb Gb B   | a passing colour out of the diminished scale
0 | maj     | 1 3 5       | 0 4 7    | C E G       | triad
0 | m       | 1 b3 5      | 0 3 7    | C Eb G      | triad
0 | dim     | 1 b3 b5     | 0 3 6    | C Eb Gb     | triad
0 | aug     | 1 3 #5      | 0 4 8    | C E G#      | triad
0 | sus4    | 1 4 5       | 0 5 7    | C F G       | triad
0 | sus2    | 1 2 5       | 0 2 7    | C D G       | triad
"""
ROWS = [[cell.strip() for cell in line.split("|")] for line in B1.strip().splitlines()]

# Same notes under another name, rule B1 (computed there).
SAME_NOTES = [
    ("C6", "Am7"),
    ("Cm6", "Am7b5"),
    ("Cm7", "Eb6"),
    ("Cdim7", "Ebdim7"),
    ("Cdim7", "Gbdim7"),
    ("Cdim7", "Adim7"),
    ("C7b5", "Gb7b5"),
]

# Extended sounds as a seventh chord on the 3rd, rule B1 (computed there); formulas by common practice.
STACKED = [
    ("C", "3 5 7 9", "Em7"),
    ("C", "3 5 b7 9", "Em7b5"),
    ("C", "b3 5 b7 9", "Ebmaj7"),
    ("C", "3 5 b7 b9", "Edim7"),
    ("G", "5 b7 9 3", "Dm6"),
    ("G", "b9 3 #5 1", "AbmMaj7"),
]


@pytest.mark.parametrize(("tier", "name", "formula", "semitones", "on_c", "met"), ROWS, ids=[row[1] for row in ROWS])
def test_a_shipped_quality_equals_its_row(tier, name, formula, semitones, on_c, met):
    """Tier, formula, semitones, spelling on C and where it is met equal rule B1."""
    quality = shipped_qualities().named(name)
    assert quality.tier == int(tier)
    assert " ".join(quality.degrees) == formula
    assert " ".join(map(str, quality.semitones)) == semitones
    assert " ".join(map(str, Chord(Note.parse("C"), quality).notes)) == on_c
    assert quality.met == met


def test_exactly_the_listed_qualities_ship():
    """Fourteen four-note qualities and six triads ship, and no others."""
    assert {quality.name for quality in shipped_qualities()} == {row[1] for row in ROWS}
    sizes = [len(quality.intervals) for quality in shipped_qualities()]
    assert (sizes.count(4), sizes.count(3), len(sizes)) == (14, 6, 20)


def test_the_first_four_are_in_teaching_order():
    """Seventh chords stand in the order a guitarist needs them: maj7, m7, 7, m7b5 first."""
    names = [quality.name for quality in shipped_qualities()]
    assert names[:14] == [row[1] for row in ROWS if row[0] != "0"]


@pytest.mark.parametrize("quality", list(shipped_qualities()), ids=str)
def test_a_row_is_sound_in_itself(quality):
    """Every row rises from the root within an octave, has a mode that holds it, and says where it is met."""
    assert quality.semitones == tuple(sorted(set(quality.semitones)))
    assert quality.semitones[0] == 0 and quality.semitones[-1] < 12
    assert quality.modes and quality.met
    for name in quality.modes:
        assert set(quality.semitones) <= modes()[name].pitch_classes
    assert set(quality.degrees) <= set(modes()[quality.modes[0]].degrees) or quality.tier == 3


def test_no_symbol_means_two_things():
    """Brought to one form, every accepted symbol belongs to one quality, and no name is another's symbol."""
    owner = {}
    for quality in shipped_qualities():
        for symbol in quality.symbols:
            assert owner.setdefault(normal_symbol(symbol), quality) is quality
        assert shipped_qualities().named(quality.name) is quality
    assert len(owner) >= 90


def test_no_two_qualities_sound_the_same_from_one_root():
    """Every quality has its own set of semitones."""
    assert len({quality.semitones for quality in shipped_qualities()}) == 20


@pytest.mark.parametrize("root", USUAL_ROOTS)
def test_every_symbol_of_every_row_is_read_on_every_usual_root(root):
    """Each accepted symbol means its own quality on each of the 17 usual roots."""
    read = 0
    for quality in shipped_qualities():
        for symbol in quality.symbols:
            assert parse_chord(root + symbol) == Chord(Note.parse(root), quality)
            read += 1
    assert read >= 90


@pytest.mark.parametrize(("one", "other"), SAME_NOTES)
def test_chords_that_share_all_notes(one, other):
    """The pairs of rule B1 hold the same pitch classes under two names."""
    assert parse_chord(one).pitch_classes == parse_chord(other).pitch_classes
    assert not parse_chord(one).same_sound(parse_chord(other))


def test_only_the_known_qualities_share_notes():
    """Over all roots, four-note qualities that share notes are those of the rules, and no pair is missed."""
    four = [quality for quality in shipped_qualities() if len(quality.intervals) == 4]
    pairs = set()
    for one, other in itertools.combinations_with_replacement(four, 2):
        for shift in range(1, 12):
            moved = {(semitone + shift) % 12 for semitone in other.semitones}
            if moved == set(one.semitones):
                pairs.add((one.name, other.name))
    assert pairs == {("m7", "6"), ("m7b5", "m6"), ("dim7", "dim7"), ("7b5", "7b5")}


@pytest.mark.parametrize(("root", "formula", "upper"), STACKED)
def test_extended_sounds_are_seventh_chords_higher_up(root, formula, upper):
    """A rootless ninth chord is a seventh chord on the third, as rule B1 lists."""
    degrees = [Interval.from_degree(label).semitones for label in formula.split()]
    sounding = {(Note.parse(root).pitch_class + semitones) % 12 for semitones in degrees}
    assert sounding == parse_chord(upper).pitch_classes


def test_an_unknown_quality_is_refused_with_the_names():
    """Asking for a quality that is not there lists those that are."""
    with pytest.raises(TheoryError, match="expected one of maj7, m7, 7, m7b5"):
        shipped_qualities().named("m7b6")
    assert shipped_qualities().named("-7").name == "m7"
