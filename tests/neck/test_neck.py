"""A player's neck: where notes lie and what limits them."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import TuningError
from drills.neck.neck import Neck
from drills.neck.tuning import read_tunings
from drills.theory.note import Note
from drills.theory.symbol import parse_chord
from tests import strategies as own


def places(neck, note, high):
    """Every (string, fret) up to a fret, string 6 first."""
    strings = range(neck.tuning.strings, 0, -1)
    found = [(string, neck.frets_of(string, Note.parse(note).pitch_class)) for string in strings]
    return [(string, fret) for string, frets in found for fret in frets if fret <= high]


# drills/RULES.md, G: all places of a note up to fret 12 (computed there).
@pytest.mark.parametrize(
    ("note", "expected"),
    [
        ("Eb", [(6, 11), (5, 6), (4, 1), (3, 8), (2, 4), (1, 11)]),
        ("E", [(6, 0), (6, 12), (5, 7), (4, 2), (3, 9), (2, 5), (1, 0), (1, 12)]),
    ],
)
def test_all_places_of_a_note(note, expected):
    """Every Eb lies in six places and every E in eight, frets 0 to 12 (rules, section G)."""
    assert places(Neck(), note, 12) == expected


# Rules, section G: one chord tone on one string (computed there).
@pytest.mark.parametrize(
    ("chord", "degree", "string", "note", "fret"),
    [("Bb7", "3", 3, "D", 7), ("Am7", "b7", 2, "G", 8), ("Bm7b5", "b5", 4, "F", 3)],
)
def test_one_chord_tone_on_one_string(chord, degree, string, note, fret):
    """A chord tone has its name, its fret on a string, and the same note twelve frets higher."""
    tones = dict(zip(parse_chord(chord).quality.degrees, parse_chord(chord).notes, strict=True))
    assert tones[degree].name == note
    frets = Neck(top_fret=19).frets_of(string, tones[degree].pitch_class)
    assert frets == tuple(at for at in (fret, fret + 12) if at <= 19)


@given(own.tunings(), st.integers(0, 11), st.integers(1, 36), st.integers(0, 8), st.data())
def test_frets_of_a_note_are_all_that_sound_it(row, pitch_class, top_fret, capo, data):
    """The frets of a note are exactly those from the capo to the top that sound it."""
    neck = Neck(row.tuning, top_fret=max(top_fret, capo + 1), capo=capo)
    string = data.draw(st.integers(1, row.tuning.strings))
    lowest = row.tuning.midi(string, 0) + capo
    sounding = [fret for fret in range(neck.highest + 1) if (lowest + fret) % 12 == pitch_class]
    assert list(neck.frets_of(string, pitch_class)) == sounding


@given(own.tunings(), st.integers(0, 11), st.data())
def test_roots_lie_in_the_root_range(row, pitch_class, data):
    """A root range of twelve frets holds each note once a string; an open root comes last, if it is allowed."""
    string = data.draw(st.integers(1, row.tuning.strings))
    closed = Neck(row.tuning).root_frets_of(string, pitch_class)
    assert len(closed) == 1 and 1 <= closed[0] <= 12
    opened = replace(Neck(row.tuning), open_roots=True).root_frets_of(string, pitch_class)
    assert opened == (closed if closed[0] != 12 else (12, 0))


def test_the_low_e_is_at_fret_twelve():
    """With no open roots, E on string 6 is fret 12, not the open string (rules, section 0)."""
    assert Neck().root_frets_of(6, 4) == (12,)
    assert Neck(open_roots=True).root_frets_of(6, 4) == (12, 0)


def test_the_defaults_are_the_rules():
    """Top fret 15, roots at frets 1 to 12, 648 mm, standard tuning, no capo (rules, section 0)."""
    neck = Neck()
    assert (neck.top_fret, neck.root_frets, neck.scale_mm) == (15, (1, 12), 648.0)
    assert neck.capo == 0 and not neck.open_roots
    assert neck.tuning.id == "E2A2D3G3B3E4" and neck.highest == 15


def test_a_capo_raises_the_sound_and_shortens_the_neck():
    """With a capo at 3, frets count from it, the top is three nearer, and reaches are as far up the neck."""
    neck = Neck(capo=3)
    assert neck.highest == 12 and neck.sounding.midi(6, 0) == 43
    assert neck.reach_mm(1, 5) == pytest.approx(Neck().reach_mm(4, 8))


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("top_fret", 0), ("top_fret", 37), ("root_frets", (0, 12)), ("root_frets", (5, 4)), ("root_frets", (1, 40)),
        ("scale_mm", 199.9), ("scale_mm", 1201), ("scale_mm", math.nan), ("scale_mm", math.inf),
        ("capo", -1), ("capo", 15),
        ("reach_limit_mm", 39), ("reach_limit_mm", 301), ("reach_limit_mm", math.nan),
    ],
)  # fmt: skip
def test_a_measure_out_of_range_is_refused_by_name(field, value):
    """A neck with an impossible measure is refused, and the message names it."""
    with pytest.raises(TuningError, match=f"neck, {field}: expected .*, got"):
        Neck(**{field: value})


def test_every_shipped_tuning_makes_a_neck():
    """Each shipped tuning and its scale length are accepted."""
    for row in read_tunings().values():
        assert Neck(row.tuning, scale_mm=row.scale_mm).sounding == row.tuning
