"""How wide a layout may be: every one within the width is kept, counted again by trying all strings for every note."""

from __future__ import annotations

from itertools import combinations_with_replacement

import pytest

from drills.neck.strings import StringSet, parse_strings
from drills.neck.tuning import STANDARD
from drills.shapes.form import Form
from drills.shapes.steps import Steps
from drills.theory.quality import shipped_qualities

QUALITIES = ("maj7", "7", "m7", "m7b5", "dim7", "m6")


def _within(quality, octaves, numbers, widest):
    """Every way to lay the chord tones and the root above them on strings that never go back, none left out."""
    tones = [step + 12 * octave for octave in range(octaves) for step in quality.semitones] + [12 * octaves]
    opens = [STANDARD.midi(number, 0) - STANDARD.midi(numbers[0], 0) for number in numbers]
    found = set()
    for on in combinations_with_replacement(range(len(numbers)), len(tones)):
        if set(on) != set(range(len(numbers))):
            continue
        frets = tuple(tone - opens[index] for tone, index in zip(tones, on, strict=True))
        if max(frets) - min(frets) <= widest:
            found.add(tuple((numbers[index], fret) for index, fret in zip(on, frets, strict=True)))
    return found


@pytest.mark.parametrize("strings", ["654", "543", "432", "321"])
@pytest.mark.parametrize("name", QUALITIES)
def test_one_octave_spans_five_frets_at_most(name, strings):
    """What a hand covers without a shift (common practice): wider layouts exist and are left out."""
    quality, numbers = shipped_qualities().named(name), parse_strings(strings).numbers
    found = Steps(STANDARD).lines(quality, Form(), StringSet(numbers))
    assert len(set(found)) == len(found)
    assert set(found) == _within(quality, 1, numbers, 5)
    assert set(found) < _within(quality, 1, numbers, 9)


def test_two_octaves_span_nine_frets_at_most():
    """With a shift of the hand (common practice); each of the six strings is used."""
    quality, numbers = shipped_qualities().named("m7"), (6, 5, 4, 3, 2, 1)
    found = Steps(STANDARD).lines(quality, Form(octaves=2), StringSet(numbers))
    assert set(found) == _within(quality, 2, numbers, 9) < _within(quality, 2, numbers, 10)
