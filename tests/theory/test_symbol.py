"""Chord symbols as musicians write them, and what is said about the rest."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import SymbolError
from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests import strategies as own

# Symbols in use for each quality (common practice).
WRITTEN = {
    "maj": "C CM Cmaj c",
    "maj7": "Cmaj7 CM7 Cma7 CΔ CΔ7 C△7 C∆7 C^7 CMaj7 CMAJ7 CMa7 c△7",
    "m7": "Cm7 C-7 Cmin7 Cmi7 CMIN7 CMi7 C–7 C−7 cm7",
    "7": "C7 c7 C(7)",
    "m7b5": "Cm7b5 C-7b5 Cø Cø7 CØ7 Cm7(b5) Cm7♭5 C-7(♭5) CHALF-DIM Cmin7b5",
    "dim7": "Cdim7 Co7 C°7 Cº7 CDIM7",
    "mMaj7": "CmMaj7 Cm(maj7) C-Δ Cmin(maj7) CmM7 C-Δ7 CMIN(MAJ7)",
    "7#5": "C+7 C7#5 Caug7 C7♯5 C7(#5) C7+ C7+5",
    "6": "C6 Cmaj6",
    "m6": "Cm6 C-6 Cmin6",
    "7sus4": "C7sus4 C7sus C7SUS4 C7(sus4)",
    "7b5": "C7b5 C7(b5) C7♭5 C7-5",
    "maj7#5": "Cmaj7#5 CΔ#5 C+maj7 CMaj7(#5)",
    "maj7b5": "Cmaj7b5 CΔb5",
    "dimMaj7": "CdimMaj7 Cdim(maj7) CoΔ",
    "m": "Cm C- Cmin",
    "dim": "Cdim Co C°",
    "aug": "Caug C+ C(#5)",
    "sus4": "Csus4 Csus",
    "sus2": "Csus2",
}

# What is left of extended and altered chords (common practice): seventh chord and tensions.
REDUCED = {
    "C13": ("C7", "9 13"),
    "C9": ("C7", "9"),
    "C11": ("C7", "9 11"),
    "G7alt": ("G7", "b9 #9 #11 b13"),
    "Galt": ("G7", "b9 #9 #11 b13"),
    "Cmaj9": ("Cmaj7", "9"),
    "CM9": ("Cmaj7", "9"),
    "CMA9": ("Cmaj7", "9"),
    "CΔ9": ("Cmaj7", "9"),
    "Cmaj13": ("Cmaj7", "9 13"),
    "Cmaj7#11": ("Cmaj7", "#11"),
    "Cmaj9#11": ("Cmaj7", "9 #11"),
    "Cm9": ("Cm7", "9"),
    "C-9": ("Cm7", "9"),
    "Cm11": ("Cm7", "9 11"),
    "CmMaj9": ("CmMaj7", "9"),
    "C7b9": ("C7", "b9"),
    "C7(b9)": ("C7", "b9"),
    "C7#9": ("C7", "#9"),
    "C7♯9": ("C7", "#9"),
    "C7#11": ("C7", "#11"),
    "C7b13": ("C7", "b13"),
    "C7b9b13": ("C7", "b9 b13"),
    "C7(b9,#11)": ("C7", "b9 #11"),
    "C13b9": ("C7", "9 13 b9"),
    "C13#11": ("C7", "9 13 #11"),
    "C9#11": ("C7", "9 #11"),
    "C7#5b9": ("C7#5", "b9"),
    "C7b5b9": ("C7b5", "b9"),
    "C+9": ("C7#5", "9"),
    "C7#5#9": ("C7#5", "#9"),
    "C9sus4": ("C7sus4", "9"),
    "C13sus4": ("C7sus4", "9 13"),
    "Csus9": ("C7sus4", "9"),
    "C7b9sus4": ("C7sus4", "b9"),
    "C6/9": ("C6", "9"),
    "C69": ("C6", "9"),
    "Cm6/9": ("Cm6", "9"),
    "Cø9": ("Cm7b5", "9"),
    "Cm7b5b9": ("Cm7b5", "b9"),
    "Cdim9": ("Cdim7", "9"),
    "Cadd9": ("C", "9"),
    "Cm(add9)": ("Cm", "9"),
    "Bb13": ("Bb7", "9 13"),
    "F#m9": ("F#m7", "9"),
    "E♭7♯11": ("Eb7", "#11"),
    "Cmaj7": ("Cmaj7", ""),
}

# Refused symbols with the 0-based place of the first character not understood.
REFUSED = {
    "": 0,
    "   ": 3,
    "H7": 0,
    "h": 0,
    "X": 0,
    "7": 0,
    "#": 0,
    "♭7": 0,
    "♮C": 0,
    "/E": 0,
    "Ｃ7": 0,
    "\tC": 0,
    "\x00": 0,
    "Cjunk7": 1,
    "C junk": 2,
    "Cmjunk": 2,
    "Cmaj8": 4,
    "Cmaj77": 5,
    "CMIN7x": 5,
    "C7 junk": 3,
    "B♭junk": 2,
    "E𝄫7junk": 3,
    "Bb7♭5♭": 5,
    "C7b9": 3,
    "C13": 1,
    "C2": 1,
    "C5": 1,
    "C\n7": 1,
    "C\x007": 1,
    "C7\x1b[2J": 2,
    "C\u20287": 1,
    "C7\u202e": 2,
    "C(": 1,
    "C)": 1,
    "Cm(maj7": 2,
    "Cm7)": 3,
    "C7()": 3,
    "C7/": 3,
    "C7/ ": 3,
    "C7/H": 3,
    "C𝄫7/H": 4,
    "C7/E7": 4,
    "C7/E x": 5,
    "C7/Ebbbb": 7,
    "C/E/G": 1,
    "C////": 1,
    "C####": 5,
    "C\ud800": 1,
}


@pytest.mark.parametrize(
    ("name", "text"),
    [(name, text) for name, line in WRITTEN.items() for text in line.split()]
    + [("m7b5", "C half-dim"), ("m7b5", "C half diminished"), ("7", " C 7 ")],
)
def test_symbols_in_use_are_read(name, text):
    """Every spelling in use for a quality is read as that quality on C."""
    assert parse_chord(text) == Chord(Note.parse("C"), shipped_qualities().named(name))


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("B♭m7", "Bbm7"),
        ("bb7", "Bb7"),
        ("b7", "B7"),
        ("bbm7", "Bbm7"),
        ("c#-7", "C#m7"),
        ("C# min7", "C#m7"),
        ("Dbm7", "Dbm7"),
        ("F♯Δ", "F#maj7"),
        ("C𝄪°7", "C##dim7"),
        ("E𝄫7", "Ebb7"),
        ("Bbb7", "Bbb7"),
        ("F##m7", "F##m7"),
        ("Cb maj7", "Cbmaj7"),
        ("G#m7b5", "G#m7b5"),
        ("a", "A"),
        ("Am", "Am"),
        ("am", "Am"),
        ("edim7", "Edim7"),
        ("AM7", "Amaj7"),
        ("C7/E", "C7/E"),
        ("C7/bb", "C7/Bb"),
        ("D / F#", "D/F#"),
        ("A♭Δ/C", "Abmaj7/C"),
        ("Bdim", "Bdim"),
        ("Absus", "Absus4"),
    ],
)
def test_roots_and_basses_are_read(text, name):
    """Roots in either case with plain or printed accidentals, and basses after a stroke, are read."""
    assert parse_chord(text).name == name


@pytest.mark.parametrize(("text", "left"), REDUCED.items())
def test_extensions_reduce_to_their_seventh_chord(text, left):
    """On request an extended or altered chord is read as its seventh chord, the tensions kept aside."""
    chord = parse_chord(text, reduce=True)
    assert (chord.name, " ".join(chord.tensions)) == left


def test_tensions_are_spelled():
    """The tensions of a reduced chord, spelled above its root as degrees of it."""
    chord = parse_chord("G7alt", reduce=True)
    above = [transpose_note(chord.root, Interval.from_degree(tension)) for tension in chord.tensions]
    assert [note.name for note in above] == ["Ab", "A#", "C#", "Eb"]


@pytest.mark.parametrize("text", [text for text, (name, tensions) in REDUCED.items() if tensions])
def test_extensions_are_refused_unless_asked_for(text):
    """Without the request an extended chord is refused, and the seventh chord inside it is suggested first."""
    with pytest.raises(SymbolError) as refusal:
        parse_chord(text)
    assert refusal.value.suggestions[0] == REDUCED[text][0]


@pytest.mark.parametrize(("text", "place"), REFUSED.items(), ids=ascii)
def test_a_refusal_names_the_first_character_not_understood(text, place):
    """The refusal holds the place of the first character not understood, counted in what was typed."""
    with pytest.raises(SymbolError) as refusal:
        parse_chord(text)
    assert refusal.value.position == place
    assert refusal.value.text == text
    assert f"character {place + 1}:" in str(refusal.value)


@pytest.mark.parametrize(
    "text", [*REFUSED, "C" * 10_000, "\n" * 10_000, "C7" + " " * 10_000, "𝄫" * 41], ids=lambda text: ascii(text[:12])
)
def test_a_refusal_is_one_short_printable_line_with_readable_suggestions(text):
    """A refusal fits one printable line and suggests one to three symbols that are accepted."""
    with pytest.raises(SymbolError) as refusal:
        parse_chord(text)
    message = str(refusal.value)
    assert message.isprintable() and len(message) < 400
    assert 1 <= len(refusal.value.suggestions) <= 3
    for suggestion in refusal.value.suggestions:
        assert parse_chord(suggestion).name == suggestion


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("Cjunk7", "C7"),
        ("H7", "B7"),
        ("hm7", "Bm7"),
        ("C7/", "C7/E"),
        ("Cmaj8", "Cmaj7"),
        ("Cmajor77", "Cmaj7"),
        ("Cm7b6", "Cm7b5"),
        ("CMIN7x", "Cm7"),
        ("Bbdim8", "Bbdim7"),
        ("C7sus5", "C7sus4"),
        ("Cminmaj", "CmMaj7"),
        ("C13", "C7"),
    ],
)
def test_the_nearest_symbols_are_suggested(text, suggestion):
    """The symbol that was probably meant is among the suggestions; H is read as the German B."""
    with pytest.raises(SymbolError) as refusal:
        parse_chord(text)
    assert suggestion in refusal.value.suggestions


def test_a_refusal_says_what_came():
    """The message says where, what was expected, what came and what may have been meant."""
    with pytest.raises(SymbolError) as refusal:
        parse_chord("H7")
    assert str(refusal.value) == "chord 'H7', character 1: expected a root A to G, got 'H'; did you mean B7?"


@given(own.notes(), own.qualities(), st.none() | own.notes())
def test_a_chord_reads_back_from_its_name(root, quality, bass):
    """The name of any chord, over any bass, parses back to it."""
    chord = Chord(root, quality, bass)
    assert parse_chord(chord.name) == chord
    assert str(chord) == chord.name


@given(own.chords())
def test_case_of_the_root_and_printed_signs_change_nothing(chord):
    """A lower-case root or printed accidentals read as the same chord."""
    name = chord.name
    assert parse_chord(name[0].lower() + name[1:]) == chord
    assert parse_chord(own.printed(chord.root) + chord.quality.symbol) == chord
    assert parse_chord(f" {chord.root} ({chord.quality.symbol}) " if chord.quality.symbol else name) == chord


@given(own.chords(), own.intervals())
def test_transposing_a_chord_keeps_its_interval_structure(chord, interval):
    """Moved up and back a chord is itself, and every tone stays the same interval above the root."""
    moved = chord.transposed(interval)
    assert moved.transposed(-interval) == chord
    assert moved.quality == chord.quality
    for note, moved_note in zip(chord.notes, moved.notes, strict=True):
        assert (moved_note.step - note.step - interval.steps) % 7 == 0
        assert (moved_note.pitch_class - note.pitch_class - interval.semitones) % 12 == 0


@given(own.chords())
def test_chord_tones_go_by_letters(chord):
    """Stacked-third chords use every second letter, so no tone is spelled by its neighbour's letter."""
    steps = [(note.step - chord.root.step) % 7 for note in chord.notes]
    assert steps == [interval.steps for interval in chord.quality.intervals]
    assert len(set(steps)) == len(steps)


def test_enharmonic_twins_sound_the_same():
    """C#m7 and Dbm7 answer each other; C6 and Am7 hold the same notes and do not."""
    assert parse_chord("c#-7").same_sound(parse_chord("Dbm7"))
    assert not parse_chord("C6").same_sound(parse_chord("Am7"))
    assert parse_chord("Cm7").transposed(Interval.parse("A1")).name == "C#m7"
