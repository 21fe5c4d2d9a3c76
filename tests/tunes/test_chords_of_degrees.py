"""Chords from the degrees of a harmony, against the rule told in plain loops over what sounds (common practice)."""

from __future__ import annotations

from itertools import product

import pytest

from drills.changes.chord_of_degrees import chord_of_degrees, symbol_of
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import Quality, shipped_qualities
from drills.theory.symbol import parse_chord

MAJOR_SCALE = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}
C = Note.parse("C")


def with_semitones(sounding: dict[int, int]) -> Quality | None:
    """The quality that sounds as those degrees do, if there is one."""
    wanted = {MAJOR_SCALE[number] + alter for number, alter in sounding.items()}
    for quality in shipped_qualities():
        if set(quality.semitones) == wanted:
            return quality
    return None


def told(degrees: dict[int, int]) -> tuple[str, list[str], bool]:
    """Quality, tensions and whether all found its place.

    Beside a third, 2 and 4 are 9 and 11; without one they are what is suspended, 4 before 2. Beside a seventh, 6
    is 13. A fifth that is not said is perfect. A fifth no quality has becomes b13 above and #11 below a perfect one.
    What is no chord even then loses its sixth and seventh.
    """
    body = {number: alter for number, alter in degrees.items() if number <= 7}
    above = [(number, degrees[number]) for number in (9, 11, 13) if number in degrees]
    fits = True
    has_third = 3 in degrees
    if not has_third and 2 not in degrees and 4 not in degrees:
        body[3] = 0
        fits = False
    if 2 in degrees and (has_third or 4 in degrees):
        above.append((9, body.pop(2)))
    if 4 in degrees and has_third:
        above.append((11, body.pop(4)))
    if 6 in degrees and 7 in degrees:
        above.append((13, body.pop(6)))
    body.setdefault(5, 0)
    if with_semitones(body) is None and body[5] != 0:
        above.append((13, -1) if body[5] > 0 else (11, 1))
        body[5] = 0
    if with_semitones(body) is None:
        fits = False
        body = {number: alter for number, alter in body.items() if number not in (6, 7)}
    quality = with_semitones(body)
    name = quality.name if quality else ("m" if body.get(3, 0) < 0 else "maj")
    labels = []
    for number, alter in sorted(above):
        label = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}[alter] + str(number)
        if label not in labels:
            labels.append(label)
    return name, labels, fits


ABSENT = None
BODIES = list(
    product(
        (ABSENT, 0),
        (ABSENT, -1, 0, 1, 2),
        (ABSENT, -1, 0),
        (ABSENT, -2, -1, 0, 1),
        (ABSENT, -1, 0),
        (ABSENT, -2, -1, 0),
    )
)
TENSIONS = [(), ((9, 0),), ((9, -1), (13, -1)), ((9, 1), (11, 1), (13, 0)), ((11, 0),), ((13, -2),), ((9, 2),)]


@pytest.mark.parametrize("above", TENSIONS)
def test_every_set_of_degrees_makes_the_chord_the_rule_tells(above):
    """All second, thirds, fourths, fifths, sixths and sevenths together, under seven sets of tensions."""
    for body in BODIES:
        said = {number: alter for number, alter in zip(range(2, 8), body, strict=True) if alter is not None}
        degrees = {1: 0, **said, **dict(above)}
        given = dict(degrees)
        chord, exact = chord_of_degrees(C, None, degrees)
        assert degrees == given, "what is given stays as it is"
        assert (chord.quality.name, list(chord.tensions), exact) == told(degrees), degrees


@pytest.mark.parametrize("first", [-2, -1, 1, 2])
def test_a_root_that_is_altered_leaves_major_or_minor_by_the_third(first):
    """No chord stands on an altered root: what is left is the triad of the third, and that is said."""
    for third, name in ((-1, "m"), (0, "maj")):
        chord, exact = chord_of_degrees(C, None, {1: first, 3: third, 5: 0, 7: -1})
        assert (chord.quality, exact) == (shipped_qualities().named(name), False)


def test_root_and_bass_arrive():
    """They are those given."""
    chord, _ = chord_of_degrees(Note.parse("F#"), Note.parse("A#"), {1: 0, 3: 0, 5: 0})
    assert (chord.root.name, chord.bass.name) == ("F#", "A#")


@pytest.mark.parametrize(
    ("quality", "tensions", "text"),
    [
        ("7", ("b9",), "C7(b9)"),
        ("7", ("b9", "b13"), "C7(b9,b13)"),
        ("maj", ("9",), "Cadd9"),
        ("m", ("9", "11"), "Cmadd9add11"),
        ("maj", (), "C"),
        ("7", ("9", "bb13"), "C7(9)"),
        ("maj", ("9", "bb13"), "Cadd9"),
        ("7", ("bb13",), "C7"),
    ],
)
def test_a_symbol_carries_its_tensions_and_drops_the_last_that_none_can(quality, tensions, text):
    """In brackets behind a seventh chord, with add behind a triad; the chord given back is the one the symbol means."""
    chord = Chord(C, parse_chord("C" + (quality if quality != "maj" else "")).quality, None, tensions)
    kept, written = symbol_of(chord)
    assert written == text
    assert kept == parse_chord(text, reduce=True)
    over, written = symbol_of(Chord(C, chord.quality, Note.parse("E"), tensions))
    assert written == f"{text}/E" and over.bass == Note.parse("E")
