"""Cases every musician who reads changes would name: a page, a chord in it, what it is there, and why.

The sources of each kind of answer stand in the table of drills/harmony/READING.md; where it names none, the case is
common practice of jazz harmony.
"""

from __future__ import annotations

import pytest

from drills.changes.changes_reading import parse_changes
from drills.configuration.shipped import decks_folder
from drills.harmony.harmony import analyse

CASES = [
    # Vamps: the music rests on a chord and no cadence says otherwise.
    ("| Dm7 | % | % | % | Ebm7 | % | % | % |", 0, "i of D Dorian: Dorian", "a vamp on m7 is Dorian"),
    ("| Dm7 | % | % | % | Ebm7 | % | % | % |", 4, "i of Eb Dorian: Dorian", "two vamps are two tonics"),
    ("key: Dm\n| Dm7 | % | % | % | Ebm7 | % | % | % |", 0, "i of D minor: Dorian", "the written key is an authority"),
    ("key: Dm\n| Dm7 | % | % | % | Ebm7 | % | % | % |", 4, "i of Eb Dorian: Dorian", "the key has no such chord"),
    ("key: C\n| Dm7 | % | % | % | Ebm7 | % | % | % |", 0, "ii of C: Dorian", "the written key holds it"),
    ("| Dm7 | % | Ebm7 | % |", 0, "i of D Dorian: Dorian", "two bars do side by side with the same quality"),
    ("| G7 | % | % | % |", 0, "I of G Mixolydian: Mixolydian", "a vamp on 7 is Mixolydian"),
    ("key: G\n| G7 | % | % | % |", 0, "I of G Mixolydian: Mixolydian", "the same with its tonic written"),
    ("| G7 | % | % | % | F7 | % | % | % |", 4, "I of F Mixolydian: Mixolydian", "two vamps are two tonics"),
    ("| G7sus4 | % | % | % |", 0, "I of G Mixolydian sus4: Mixolydian sus4", "no third where the chord has none"),
    ("| C7sus4 | % | % | % | Bb7sus4 | % | % | % |", 4, "I of Bb Mixolydian sus4: Mixolydian sus4", "two tonics"),
    ("| Fmaj7 | % | % | % | G | F | % | % |", 0, "I of F Lydian: Lydian", "its neighbour has the raised fourth, B"),
    ("| Fmaj7 | % | % | % | Bb | F | % | % |", 0, "I of F: Ionian", "its neighbour has the plain fourth, Bb"),
    ("| Dm7 | % | % | % | G7 | Cmaj7 |", 0, "ii of C: Dorian", "a cadence says otherwise"),
    ("| G7 | % | % | % | Cmaj7 |", 0, "V of C: Mixolydian", "a dominant that resolves is no vamp"),
    ("| Am7 | % | D7 | % |", 2, "V of G: Mixolydian", "a dominant after its ii is no vamp"),
    ("| F7 | % | % | % | Bb7 | % | F7 | % | C7 | Bb7 | F7 | C7 |", 0, "I of F blues: Mixolydian", "a blues is a key"),
    ("key: Dm\n| Dm7 | % | % | % | Ebmaj7 | % |", 0, "i of D minor: Dorian", "the written key outweighs a cheaper one"),
    ("key: Dm\n| C7 | % | % | % | Cm7 | % |", 0, "VII of D minor: Mixolydian", "the written key holds what it has"),
    # The major key.
    ("Dm7 G7 Cmaj7", 0, "ii of C: Dorian", "the cadence itself"),
    ("Dm7 G7 Cmaj7", 1, "V of C: Mixolydian", "the cadence itself"),
    ("Dm7 G7 Cmaj7", 2, "I of C: Ionian", "the cadence itself"),
    ("Cmaj7 Fmaj7 Em7 Dm7 G7 Cmaj7", 1, "IV of C: Lydian", "the mode on the fourth degree"),
    ("Cmaj7 Am7 Dm7 G7", 1, "vi of C: Aeolian", "the mode on the sixth degree"),
    ("Em7 A7 Dm7 G7 Cmaj7", 0, "iii of C: Phrygian", "a turnaround that begins on iii"),
    # Dominants of other degrees, and the ii before them.
    ("Cmaj7 A7 Dm7 G7 Cmaj7", 1, "V of ii of C: Phrygian dominant", "it goes to a minor chord"),
    ("Cmaj7 B7 Em7 A7 Dm7 G7 Cmaj7", 1, "V of iii of C: Phrygian dominant", "it goes to a minor chord"),
    ("Cmaj7 C7 Fmaj7 G7 Cmaj7", 1, "V of IV of C: Mixolydian", "it goes to a major chord"),
    ("Cmaj7 D7 G7 Cmaj7", 1, "V of V of C: Mixolydian", "it goes to a major third"),
    ("Cmaj7 E7 Am7 Dm7 G7 Cmaj7", 1, "V of vi of C: Phrygian dominant", "it goes to a minor chord"),
    ("Cmaj7 Em7b5 A7 Dm7 G7 Cmaj7", 1, "ii of ii of C: Locrian", "the half-diminished ii of a minor degree"),
    ("Cmaj7 Gm7 C7 Fmaj7 G7 Cmaj7", 1, "ii of IV of C: Dorian", "ii-V into the fourth degree"),
    ("Cmaj7 Bm7 E7 Am7 Dm7 G7 Cmaj7", 1, "ii of vi of C: Dorian", "ii-V into the sixth degree"),
    ("Cmaj7 F#m7b5 B7 Em7 A7 Dm7 G7 Cmaj7", 1, "ii of iii of C: Locrian", "ii-V into the third degree"),
    ("Cmaj7 Bm7b5 E7 Am7 Dm7 G7 Cmaj7", 1, "ii of vi of C: Locrian", "ii-V into the sixth degree, in minor"),
    ("Cmaj7 Am7 D7 G7 Cmaj7", 2, "V of V of C: Mixolydian", "ii-V into the fifth degree"),
    ("Cm6 Gm7b5 C7 Fm7 Dm7b5 G7 Cm6", 1, "ii of iv of C minor: Locrian", "ii-V into the fourth degree of minor"),
    ("Cm6 Bbm7 Eb7 Abmaj7 Dm7b5 G7 Cm6", 1, "ii of VI of C minor: Dorian", "ii-V into the sixth degree of minor"),
    ("Cm6 Am7b5 D7 G7 Cm6", 1, "ii of V of C minor: Locrian", "ii-V into the fifth degree of minor"),
    ("Dm7 G7 Cmaj7 A7", 3, "V of ii of C: Phrygian dominant", "it leads back to the top"),
    # Backdoor, substitutes, borrowed chords.
    ("Cmaj7 Fm7 Bb7 Cmaj7", 1, "iv of C: Dorian", "backdoor: iv before bVII"),
    ("Cmaj7 Fm7 Bb7 Cmaj7", 2, "bVII of C: Lydian dominant", "backdoor: bVII goes up a tone to I"),
    ("Cmaj7 Dm7 Db7 Cmaj7", 2, "bII of C: Lydian dominant", "tritone substitute of V"),
    ("Dm7b5 Db7 Cm6", 1, "bII of C minor: Lydian dominant", "tritone substitute of V in minor"),
    ("Cmaj7 Eb7 Dm7 G7 Cmaj7", 1, "substitute V of ii of C: Lydian dominant", "tritone substitute of V of ii"),
    ("Fmaj7 Fm6 Cmaj7 Dm7 G7 Cmaj7", 1, "iv of C: melodic minor", "the minor fourth of a major key"),
    ("Cmaj7 Abmaj7 Dbmaj7 Cmaj7", 1, "bVI of C: Lydian", "borrowed from the parallel minor"),
    ("Cmaj7 Ebmaj7 Dm7 G7 Cmaj7", 1, "bIII of C: Lydian", "borrowed from the parallel minor"),
    ("Dm7b5 G7 Cmaj7", 0, "ii of C: Locrian", "a minor ii before a major tonic"),
    ("Cmaj7 Ab7 G7 Cmaj7", 1, "bVI of C: Lydian dominant", "a semitone down to V: Lydian dominant"),
    ("Cm6 Ab7 G7 Cm6", 1, "VI of C minor: Lydian dominant", "a semitone down to V: Lydian dominant"),
    ("Cm6 Ab7 G7 Cm6", 2, "V of C minor: Phrygian dominant", "a fifth down to a minor chord: Phrygian dominant"),
    # Chains and cycles: one thing all the way.
    ("Cmaj7 E7 A7 D7 G7 Cmaj7", 1, "V of vi of C: Mixolydian", "chain: each goes to a major third"),
    ("Cmaj7 E7 A7 D7 G7 Cmaj7", 2, "V of ii of C: Mixolydian", "chain: each is the V of the next"),
    ("C7 F7 Bb7 Eb7 Ab7 Db7 Gb7 B7 E7 A7 D7 G7", 1, "V of bVII of C: Mixolydian", "no IV of anything in a long chain"),
    ("C7 F7 Bb7 Eb7 Ab7 Db7 Gb7 B7 E7 A7 D7 G7", 4, "V of bII of C: Mixolydian", "no bVI of anything in a long chain"),
    ("Bmaj7 D7 Gmaj7 Bb7 Ebmaj7 F#7 Bmaj7", 3, "V of Eb: Mixolydian", "major thirds: every tonic is a key"),
    ("Bmaj7 D7 Gmaj7 Bb7 Ebmaj7 F#7 Bmaj7", 4, "I of Eb: Ionian", "major thirds: every tonic is a key"),
    ("Cmaj7 Bb7 Ebmaj7 Db7 Gbmaj7 E7 Amaj7 G7 Cmaj7", 2, "I of Eb: Ionian", "minor thirds: no tonic is borrowed"),
    ("Cmaj7 Bb7 Ebmaj7 Db7 Gbmaj7 E7 Amaj7 G7 Cmaj7", 6, "I of A: Ionian", "minor thirds: every tonic is a key"),
    ("Cmaj7 Bbm7 Eb7 Abmaj7 F#m7 B7 Emaj7 Dm7 G7 Cmaj7", 4, "ii of E: Dorian", "thirds with the ii of each key"),
    # Minor keys and line cliches.
    ("Dm7b5 G7b9 Cm6", 0, "ii of C minor: Locrian", "the cadence in minor"),
    ("Dm7b5 G7b9 Cm6", 1, "V of C minor: Phrygian dominant", "the cadence in minor"),
    ("Dm7b5 G7alt Cm6", 1, "V of C minor: altered", "the symbol asks for it"),
    ("Dm7b5 G7b9 CmMaj7", 2, "i of C minor: melodic minor", "tonic minor with a major seventh"),
    ("Dm7b5 G7b9 Cm6", 2, "i of C minor: melodic minor", "tonic minor with a sixth"),
    ("Cm6 Fm6 Cm6", 1, "iv of C minor: Dorian", "the minor sixth on iv"),
    ("Cm CmMaj7 Cm7 Cm6", 1, "i of C minor: melodic minor", "cliche: a line inside one tonic"),
    ("Cm CmMaj7 Cm7 Cm6", 2, "i of C minor: Dorian", "cliche: a line inside one tonic"),
    ("Cm CmMaj7 Cm7 Cm6", 3, "i of C minor: melodic minor", "cliche: a line inside one tonic"),
    ("Cm CmMaj7 Cm7 F7 Bbmaj7", 0, "i of C minor: Dorian", "cliche: one tonic until it goes on"),
    ("Cm CmMaj7 Cm7 F7 Bbmaj7", 2, "ii of Bb: Dorian", "cliche: its last chord is the ii of the next key"),
    ("Cm CmMaj7 Cm7 Am7b5 D7 Gm6", 1, "i of C minor: melodic minor", "cliche: no iv of another key"),
    ("C Caug C6 C7 Fmaj7", 1, "I of C: Lydian augmented", "cliche: the fifth moves, the tonic stays"),
    # Diminished chords.
    ("Cmaj7 C#dim7 Dm7 G7 Cmaj7", 1, "#i in passing of C: altered bb7", "applied: it leads up into ii"),
    ("Cmaj7 Dbdim7 Dm7 G7 Cmaj7", 1, "#i in passing of C: altered bb7", "where it goes decides, not how it is written"),
    ("Cmaj7 D#dim7 Em7 A7 Dm7 G7 Cmaj7", 1, "#ii in passing of C: altered bb7", "applied: it leads up into iii"),
    ("Cmaj7 F#dim7 G7 Cmaj7", 1, "#iv in passing of C: whole-half diminished", "applied: it leads up into V"),
    ("Cmaj7 G#dim7 Am7 Dm7 G7 Cmaj7", 1, "#v in passing of C: altered bb7", "applied: it leads up into vi"),
    ("Cmaj7 Em7 Ebdim7 Dm7 G7 Cmaj7", 2, "biii in passing of C: whole-half diminished", "on its way down"),
    ("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7", 5, "#iv of F blues: whole-half diminished", "bar 6 of a blues"),
    ("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7", 7, "V of ii of F blues: Phrygian dominant", "bar 8 of a blues"),
]  # fmt: skip

TWO_READINGS = [
    ("| Dm7 | G7 | Dm7 | G7 |", 0, "ii of C: Dorian", "i of D Dorian: Dorian"),
    ("| Dm7 | G7 | Dm7 | G7 |", 1, "V of C: Mixolydian", "IV of D Dorian: Mixolydian"),
    ("| Fmaj7 | G7 | Fmaj7 | G7 |", 1, "V of C: Mixolydian", "II of F Lydian: Mixolydian"),
    ("key: C\n| Dm7 | % | % | % |", 0, "ii of C: Dorian", "i of D Dorian: Dorian"),
    ("Cmaj7 C#dim7 Dm7 G7 Cmaj7", 1, "#i in passing of C: altered bb7", "vii of ii of C: altered bb7"),
    ("Cmaj7 Am7 D7 G7 Cmaj7", 1, "vi of C: Aeolian", "ii of V of C: Dorian"),
    ("| Cmaj7 | Am7 D7 | Dm7 G7 | Cmaj7 |", 1, "vi of C: Aeolian", "ii of V of C: Dorian"),
]
ONE_READING = [
    ("Cmaj7 Am7 Dm7 G7 Cmaj7", 1, "no dominant follows"),
    ("| Cmaj7 | Am7 | D7 | % | G7 | Cmaj7 |", 1, "the dominant is longer, so the two are no pair"),
    ("Em7 A7 Dm7 G7 Cmaj7", 0, "before a minor chord the ii would be half-diminished"),
    ("| Cmaj7 | Am7 D7 | Fmaj7 G7 | Cmaj7 |", 1, "the dominant does not arrive"),
    ("Cmaj7 Gm7 C7 Fmaj7 G7 Cmaj7", 1, "it is the ii of IV by its only name"),
]
"""Minor chords before a dominant that have one name, and why."""


def test_there_are_sixty_cases_and_none_twice() -> None:
    """The list holds at least sixty places, each once."""
    assert len({(text, place) for text, place, _, _ in CASES}) == len(CASES) >= 60


@pytest.mark.parametrize(("text", "place", "line", "why"), CASES)
def test_a_named_case_is_read_as_musicians_read_it(text: str, place: int, line: str, why: str) -> None:
    """Function and mode of one chord of a page, with the reason."""
    assert str(analyse(parse_changes(text))[place]) == line, why


@pytest.mark.parametrize(("text", "place", "line", "also"), TWO_READINGS)
def test_what_is_left_open_has_two_readings_and_a_reason(text: str, place: int, line: str, also: str) -> None:
    """Two chords to and fro, or a rest on a chord that is no tonic of the written key, can be heard in two ways."""
    function = analyse(parse_changes(text))[place]
    assert str(function) == line
    assert function.also.split(", since ")[0] == also
    assert function.also.split(", since ")[1]


@pytest.mark.parametrize(("text", "place", "why"), ONE_READING)
def test_a_minor_chord_is_a_second_ii_only_in_a_whole_pair(text: str, place: int, why: str) -> None:
    """A minor chord and the dominant a fifth below it make the effect of a ii-V (Open Music Theory 2, Embellishing
    Chords); where length, goal or quality speak against the pair, there is one reading."""
    function = analyse(parse_changes(text))[place]
    assert function is not None and not function.also, why


def test_few_shipped_pages_carry_a_second_ii() -> None:
    """A second reading is said where it is one, and is no line that stands on every page."""
    pages = [parse_changes(path.read_text(encoding="utf-8")) for path in decks_folder().glob("*.changes")]
    carried = sum(any(one and "a whole ii-V into" in one.also for one in analyse(page)) for page in pages)
    assert len(pages) >= 20 and carried <= len(pages) // 4
