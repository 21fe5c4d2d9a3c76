"""The grip that lies at an arpeggio's place: which strings it takes, by the string of the root (rule B5)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drills.neck.neck import Neck
from drills.neck.strings import StringSet, parse_strings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import Form
from drills.shapes.same_place import grip_inside
from drills.theory.symbol import parse_chord

FINDER = ShapeFinder(Neck())

# Common practice: of four notes, drop 3 with the root on string 6 and drop 2 with it on 5 or 4; where only three
# strings are left, the shell with its third next to the bass; for a triad, the close one.
SEVENTHS = {
    "654": ("drop3", 0, (6, 4, 3, 2)),
    "543": ("drop2", 0, (5, 4, 3, 2)),
    "432": ("drop2", 0, (4, 3, 2, 1)),
    "321": ("shell", 1, (3, 2, 1)),
}


@pytest.mark.parametrize(("strings", "grip"), SEVENTHS.items())
@pytest.mark.parametrize("chord", ["Cmaj7", "C7", "Cm7"])
def test_a_seventh_chord_takes_four_strings_where_there_are_four(chord, strings, grip):
    """The four-note grip whose top note is nearest to string 2, and a shell where the neck ends."""
    arpeggio = FINDER.find(parse_chord(chord), Form(), parse_strings(strings))
    found = grip_inside(FINDER, arpeggio)
    assert (found.form.voicing, found.form.inversion, found.strings.numbers) == grip
    assert (found.notes[0].string, found.notes[0].fret) == (arpeggio.root.string, arpeggio.root.fret)


@pytest.mark.parametrize("strings", ["654", "543", "432", "321"])
def test_a_triad_takes_three_neighbouring_strings(strings):
    """A triad has no seventh to drop or to keep, so that only the close grip is left."""
    arpeggio = FINDER.find(parse_chord("Cm"), Form(), parse_strings(strings))
    found = grip_inside(FINDER, arpeggio)
    assert (found.form.voicing, found.form.inversion) == ("close", 0)
    assert found.strings.numbers == parse_strings(strings).numbers


def test_on_the_last_two_strings_there_is_no_grip():
    """Three strings are the fewest a grip takes."""
    high = FINDER.find(parse_chord("Cm7"), Form(octaves=2), StringSet((6, 5, 4, 3, 2, 1)))
    assert grip_inside(FINDER, high) is not None
    moved = [replace(note, string=2, fret=13) if note is high.root else note for note in high.notes]
    assert grip_inside(FINDER, replace(high, notes=tuple(moved))) is None
