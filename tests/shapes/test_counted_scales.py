"""Scales of so many notes a string: pentatonics in five positions, three notes a string."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from music21 import scale as music21_scale

from drills.errors import NotPlayableError, TheoryError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.neck.tuning import read_tunings
from drills.shapes.answers import shapes_named
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import POSITIONS, parse_form, scale_slug
from drills.theory.mode import modes
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from tests.shapes.test_properties import check

FINDER = ShapeFinder(Neck(top_fret=24))
# The five places of A minor pentatonic, two frets a string from string 6 to string 1: common practice.
A_MINOR = {
    1: "5-8 5-7 5-7 5-7 5-8 5-8",
    2: "8-10 7-10 7-10 7-9 8-10 8-10",
    3: "10-12 10-12 10-12 9-12 10-13 10-12",
    4: "12-15 12-15 12-14 12-14 13-15 12-15",
    5: "3-5 3-5 2-5 2-5 3-5 3-5",
}
# G major, three notes a string: common practice.
G_MAJOR = "3-5-7 3-5-7 4-5-7 4-5-7 5-7-8 5-7-8"


def named(name, form, strings=None, finder=FINDER):
    """The shape of a scale's name in a form."""
    found, reasons = shapes_named(finder, name, form, strings, shipped_qualities())
    if not found:
        raise NotPlayableError(reasons[0])
    return found[0]


def by_string(shape):
    """Frets string by string from the lowest, as the tables above write them."""
    strings = dict.fromkeys(note.string for note in shape.notes)
    return " ".join("-".join(str(n.fret) for n in shape.notes if n.string == string) for string in strings)


@pytest.mark.parametrize("number", A_MINOR)
def test_the_five_positions_of_a_minor_pentatonic(number):
    """Position by position the frets that every teacher draws (common practice)."""
    shape = named("A minor pentatonic", f"scale-minor-pentatonic-position{number}")
    assert by_string(shape) == A_MINOR[number]
    assert [note.degree for note in shape.notes if note.is_root] == ["1"] * sum(n.is_root for n in shape.notes)
    roots = {n for n in shape.notes if n.pitch.note.name == "A"}
    assert roots == {n for n in shape.notes if n.is_root} and roots


def test_a_position_begins_where_the_one_before_ends():
    """The upper note of every string is the lower note of the next position, an octave aside, all round the five."""
    for mode in ("minor pentatonic", "major pentatonic"):
        shapes = [named(f"A {mode}", f"scale-{scale_slug(mode)}-position{n}") for n in (*range(1, POSITIONS + 1), 1)]
        for one, after in pairwise(shapes):
            upper = [(n.string, n.fret % 12) for n in one.notes[1::2]]
            assert upper == [(n.string, n.fret % 12) for n in after.notes[::2]]


def test_three_notes_a_string_of_g_major():
    """The six strings as they are taught (common practice), from the root, root degrees marked in every octave."""
    shape = named("G Ionian", "scale-three-per-string")
    assert by_string(shape) == G_MAJOR
    assert [note.degree for note in shape.notes[:9]] == ["1", "2", "3", "4", "5", "6", "7", "1", "2"]


@pytest.mark.parametrize("tuning", read_tunings())
def test_every_counted_scale_sounds_its_scale_and_can_be_played(tuning):
    """On each string so many notes, each the next of the scale, and a hand that plays them, on every tuning."""
    row = read_tunings()[tuning]
    finder = ShapeFinder(Neck(tuning=row.tuning, scale_mm=row.scale_mm, top_fret=24))
    made = 0
    for mode in modes().values():
        for form in forms_of(mode):
            try:
                shape = named(f"Bb {mode.name}", form, finder=finder)
            except NotPlayableError as error:
                # Re-entrant strings do not rise; an eight-note scale in fifths runs away from the hand.
                assert tuning in ("ukulele", "mandolin") and re.search("cannot cross|too far apart", str(error))
                continue
            made += 1
            check(shape, finder)
            counts = {s: sum(n.string == s for n in shape.notes) for s in shape.strings.numbers}
            assert set(counts.values()) == {shape.form.per_string}
            steps = sorted(mode.pitch_classes)
            rise = [(n.pitch.midi - Note.parse("Bb").pitch_class) % 12 for n in shape.notes]
            assert all((steps.index(b) - steps.index(a)) % len(steps) == 1 for a, b in pairwise(rise))
            assert all(a.pitch.midi < b.pitch.midi for a, b in pairwise(shape.notes))
    assert made == {"ukulele": 0, "mandolin": 31}.get(tuning, 33)


def forms_of(mode):
    """The counted forms a scale has: five positions for five notes, three a string for seven or more."""
    slug = scale_slug(mode.name)
    if len(mode.intervals) == POSITIONS:
        return [f"scale-{slug}-position{number}" for number in range(1, POSITIONS + 1)]
    return [f"scale-{slug}-three-per-string"] if len(mode.intervals) >= 7 else []


@pytest.mark.parametrize(
    ("name", "reference"),
    [("F Ionian", music21_scale.MajorScale("F")), ("Eb Dorian", music21_scale.DorianScale("E-")),
     ("A Locrian", music21_scale.LocrianScale("A"))],
)  # fmt: skip
def test_the_notes_are_those_of_music21(name, reference):
    """Spelled names, in order, equal music21's scale over two octaves and a fourth."""
    shape = named(name, "scale-three-per-string")
    expected = [p.name.replace("-", "b") for p in reference.getPitches("C2", "C6")]
    start = next(i for i, note in enumerate(expected) if note == name.split()[0])
    assert [note.pitch.note.name for note in shape.notes] == expected[start : start + 18]


def test_the_pentatonics_are_the_scale_without_its_half_steps():
    """Major pentatonic is music21's major scale without 4 and 7, minor pentatonic the natural minor without 2 and 6."""
    for name, reference, without in (
        ("C major pentatonic", music21_scale.MajorScale("C"), (4, 7)),
        ("C minor pentatonic", music21_scale.MinorScale("C"), (2, 6)),
    ):
        wanted = {reference.pitchFromDegree(d).name.replace("-", "b") for d in range(1, 8) if d not in without}
        shape = named(name, f"scale-{scale_slug(name[2:])}-position1")
        assert {note.pitch.note.name for note in shape.notes} == wanted


@pytest.mark.parametrize(
    "text",
    ["scale-dorian-position1", "scale-minor-pentatonic-three-per-string", "scale-minor-pentatonic-position6",
     "arpeggio-position1", "arpeggio-three-per-string", "scale-dorian-three-per-string-two-octaves",
     "scale-minor-pentatonic-position1-open-ended", "scale-whole-tone-three-per-string"],
)  # fmt: skip
def test_what_is_no_form_is_refused(text):
    """Positions are of five notes, three notes a string of scales of seven or more; nothing else is guessed."""
    with pytest.raises(TheoryError, match=r"expected such as .*three-per-string"):
        parse_form(text)


def test_on_three_strings_the_scale_is_shorter():
    """Three strings hold nine notes, and the form's place among the ids stays the same."""
    shape = named("C Mixolydian", "scale-three-per-string", "543")
    assert len(shape.notes) == 9 and shape.strings == StringSet((5, 4, 3))
    assert shape.signature.startswith("scale-mixolydian-three-per-string/0+0.0+2.")
