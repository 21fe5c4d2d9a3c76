"""Where a grip goes whose lower notes would leave the neck: an octave up where that is on it, else to open strings."""

from __future__ import annotations

import pytest

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import Form
from drills.theory.symbol import parse_chord

# Cmaj7 in drop 2 with its seventh in the bass, B(5/2) E(4/2) G(3/0) C(2/1): computed from the open strings.
CHORD, FORM, STRINGS = parse_chord("Cmaj7"), Form("grip", voicing="drop2", inversion=3), parse_strings("5432")


@pytest.mark.parametrize("top", [14, 15, 20])
def test_the_octave_is_taken_where_its_highest_note_is_on_the_neck(top):
    """To the top fret itself, open strings allowed or not."""
    for open_roots in (False, True):
        shape = ShapeFinder(Neck(top_fret=top, open_roots=open_roots)).find(CHORD, FORM, STRINGS)
        assert shape.frets == (14, 14, 12, 13)


@pytest.mark.parametrize("top", [12, 13])
def test_open_strings_are_taken_where_they_are_allowed_and_the_octave_is_not_on_the_neck(top):
    """A grip with an open string in it; without leave for open strings there is none."""
    assert ShapeFinder(Neck(top_fret=top, open_roots=True)).find(CHORD, FORM, STRINGS).frets == (2, 2, 0, 1)
    with pytest.raises(NotPlayableError):
        ShapeFinder(Neck(top_fret=top)).find(CHORD, FORM, STRINGS)
