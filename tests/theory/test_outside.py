"""Theory against other people's libraries: music21, pychord and mir_eval."""

import pytest

from drills.theory.chord import Chord
from drills.theory.mode import PARENTS, modes
from drills.theory.note import Note, Pitch
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests.signatures import signature_keys
from tests.strategies import USUAL_ROOTS

# Our quality: music21 figure, pychord suffix, chord label of Harte et al. 2005 as mir_eval reads it.
# None where the library has no such chord; such rows stand on the other libraries and on interval spelling.
FIGURES = {
    "maj7": ("maj7", "maj7", "maj7"),
    "m7": ("m7", "m7", "min7"),
    "7": ("7", "7", "7"),
    "m7b5": ("ø7", "m7-5", "hdim7"),
    "dim7": ("dim7", "dim7", "dim7"),
    "m6": ("m6", "m6", "min6"),
    "mMaj7": ("mM7", "mM7", "minmaj7"),
    "6": ("6", "6", "maj6"),
    "7sus4": ("7sus4", "7sus4", "sus4(b7)"),
    "7#5": ("7+", "7+5", "aug(b7)"),
    "7b5": ("7b5", "7-5", "7(*5,b5)"),
    "maj7#5": ("+M7", "maj7+5", "aug(7)"),
    "maj7b5": ("maj7b5", None, "maj7(*5,b5)"),
    "dimMaj7": (None, None, "dim(7)"),
    "maj": ("", "", "maj"),
    "m": ("m", "m", "min"),
    "dim": ("dim", "dim", "dim"),
    "aug": ("aug", "aug", "aug"),
    "sus4": ("sus4", "sus4", "sus4"),
    "sus2": ("sus2", "sus2", "sus2"),
}
RARE_ROOTS = ("Cb", "Fb", "E#", "B#")


def m21(name):
    """A note name in music21's notation, which writes a flat as a minus sign."""
    return name[0] + name[1:].replace("b", "-")


def ours(m21_name):
    """A music21 note name in our notation."""
    return m21_name.replace("-", "b")


@pytest.mark.parametrize("quality", list(shipped_qualities()), ids=str)
def test_chord_tones_equal_interval_spelling_of_music21(quality):
    """Every tone of every quality on 21 roots equals music21's Pitch.transpose, triple flats included."""
    from music21 import interval, pitch

    for name in USUAL_ROOTS + RARE_ROOTS:
        root = pitch.Pitch(m21(name) + "3")
        expected = [ours(root.transpose(interval.Interval(size.name)).name) for size in quality.intervals]
        assert [note.name for note in Chord(Note.parse(name), quality).notes] == expected


def test_chord_tones_equal_chord_symbols_of_music21():
    """Nineteen qualities on the 17 usual roots equal music21's ChordSymbol, tone for tone."""
    from music21 import harmony

    compared = 0
    for name, (figure, _, _) in FIGURES.items():
        for root in USUAL_ROOTS if figure is not None else ():
            expected = [ours(pitch.name) for pitch in harmony.ChordSymbol(m21(root) + figure).pitches]
            assert [note.name for note in Chord(Note.parse(root), shipped_qualities().named(name)).notes] == expected
            compared += 1
    assert compared == 19 * 17


def test_chord_tones_equal_pychord():
    """Eighteen qualities on the 17 usual roots equal pychord's spelled components."""
    import pychord

    compared = 0
    for name, (_, suffix, _) in FIGURES.items():
        for root in USUAL_ROOTS if suffix is not None else ():
            expected = pychord.Chord(root + suffix).components()
            assert [note.name for note in Chord(Note.parse(root), shipped_qualities().named(name)).notes] == expected
            compared += 1
    assert compared == 18 * 17


def test_pitch_classes_equal_mir_eval():
    """Root and pitch classes of all twenty qualities on the 17 usual roots equal mir_eval's reading of labels."""
    from mir_eval.chord import encode

    compared = 0
    for name, (_, _, label) in FIGURES.items():
        for root in USUAL_ROOTS:
            root_class, bitmap, _ = encode(f"{root}:{label}")
            chord = Chord(Note.parse(root), shipped_qualities().named(name))
            assert chord.root.pitch_class == root_class
            assert chord.pitch_classes == {(root_class + i) % 12 for i in range(12) if bitmap[i]}
            compared += 1
    assert compared == 20 * 17


def test_the_comparison_leaves_no_quality_out():
    """A quality added to the shipped table must be added to this comparison."""
    assert set(FIGURES) == {quality.name for quality in shipped_qualities()}


def _scale_of_music21(parent, tonic):
    """Fifteen ascending note names, two octaves, of a parent scale."""
    from music21 import pitch, scale

    kinds = {
        "major": scale.MajorScale,
        "harmonic minor": scale.HarmonicMinorScale,
        "melodic minor": scale.MelodicMinorScale,
    }
    low = pitch.Pitch(m21(tonic.name) + "3")
    high = low.transpose("P8").transpose("P8")
    found = kinds[parent](m21(tonic.name)).getPitches(low, high, direction=scale.Direction.ASCENDING)
    return [ours(p.name) for p in found]


@pytest.mark.parametrize("parent", PARENTS)
def test_diatonic_sevenths_and_modes_equal_music21(parent):
    """Sevenths, triads and modes on all seven degrees of all fifteen keys equal those stacked from music21's scales."""
    compared = 0
    for key in signature_keys(parent):
        names = _scale_of_music21(parent, key.tonic)
        assert len(names) == 15
        for degree in range(1, 8):
            stacked = [names[degree - 1 + 2 * third] for third in range(4)]
            assert [note.name for note in key.chord(degree).notes] == stacked
            assert [note.name for note in key.chord(degree, 3).notes] == stacked[:3]
            mode = key.mode(degree)
            assert [note.name for note in mode.notes(key.notes[degree - 1])] == names[degree - 1 : degree + 6]
            compared += 1
    assert compared == 105


def test_church_modes_equal_music21():
    """The seven modes of major, on the 17 usual roots, equal music21's own scale classes."""
    from music21 import pitch, scale

    kinds = {
        "Ionian": scale.MajorScale, "Dorian": scale.DorianScale, "Phrygian": scale.PhrygianScale,
        "Lydian": scale.LydianScale, "Mixolydian": scale.MixolydianScale, "Aeolian": scale.MinorScale,
        "Locrian": scale.LocrianScale,
    }  # fmt: skip
    for name, kind in kinds.items():
        for root in USUAL_ROOTS:
            low = pitch.Pitch(m21(root) + "3")
            expected = [ours(p.name) for p in kind(m21(root)).getPitches(low, low.transpose("M7"))]
            assert [note.name for note in modes()[name].notes(Note.parse(root))] == expected


def test_whole_tone_pitch_classes_equal_music21():
    """The whole-tone scale sounds as music21's, which respells it, so only pitch classes are compared."""
    from music21 import scale

    found = {p.pitchClass for p in scale.WholeToneScale("C").getPitches("C3", "A#3")}
    assert modes()["whole tone"].pitch_classes == found


def test_roman_numerals_equal_music21():
    """The sevenths of the fifteen major keys equal music21's reading of I7 ii7 iii7 IV7 V7 vi7 viiø7."""
    from music21 import key as m21_key
    from music21 import roman

    for key in signature_keys():
        for degree, numeral in enumerate(["I7", "ii7", "iii7", "IV7", "V7", "vi7", "viiø7"], 1):
            expected = [ours(p.name) for p in roman.RomanNumeral(numeral, m21_key.Key(m21(key.tonic.name))).pitches]
            assert [note.name for note in key.chord(degree).notes] == expected


def test_pitch_numbers_and_hertz_equal_music21():
    """MIDI numbers and frequencies of every spelling from octave 0 to 8 equal music21's."""
    from music21 import pitch

    for letter in "CDEFGAB":
        for accidental in ("bb", "b", "", "#", "##"):
            for octave in range(9):
                mine, other = (
                    Pitch.parse(f"{letter}{accidental}{octave}"),
                    pitch.Pitch(f"{m21(letter + accidental)}{octave}"),
                )
                assert mine.midi == other.ps
                assert mine.hz == pytest.approx(other.frequency, rel=1e-12)


def test_a_dim_chord_is_read_alike():
    """Fbdim7 is Fb Abb Cbb Ebbb for us and for pychord: nothing is respelled on the way."""
    import pychord

    assert [note.name for note in parse_chord("Fbdim7").notes] == pychord.Chord("Fbdim7").components()
