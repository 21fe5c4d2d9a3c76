"""Chord kinds of MusicXML 4.0: what is written reads back, whichever file it stands in."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.changes.chord_of_degrees import chord_of_degrees
from drills.theory.chord_kinds import KINDS, degrees_of_kind, kind_and_degrees, kind_of, parse_label
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities

TENSIONS = ("b9", "9", "#9", "11", "#11", "b13", "13")


@pytest.mark.parametrize("quality", list(shipped_qualities()), ids=str)
def test_the_kind_of_a_quality_reads_back_as_that_quality(quality):
    """The kind and degrees written for each quality are read as the same quality (MusicXML 4.0, degree-type)."""
    kind, changes = kind_of(quality)
    chord, exact = chord_of_degrees(Note.parse("Eb"), None, degrees_of_kind(kind, list(changes)))
    assert (chord.quality, exact) == (quality, True)


@given(quality=st.sampled_from(list(shipped_qualities())), tensions=st.sets(st.sampled_from(TENSIONS), max_size=3))
def test_any_tensions_are_written_and_read_back(quality, tensions):
    """Every chord with up to three tensions on different numbers gives back just its own degrees."""
    by_number = {parse_label(label)[0]: label for label in sorted(tensions)}
    labels = (*quality.degrees, *by_number.values())
    kind, changes = kind_and_degrees(labels)
    assert degrees_of_kind(kind, list(changes)) == dict(map(parse_label, labels))


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_is_written_for_its_own_degrees(kind):
    """The degrees of a kind are written as a kind that sounds the same, with no degree beside it."""
    written, changes = kind_and_degrees(tuple(KINDS[kind].split()))
    assert KINDS[written] == KINDS[kind] or changes
    if kind not in ("French",):  # the dominant with a lowered fifth has no plain kind of its own
        assert changes == ()


def test_of_two_kinds_that_serve_equally_the_seventh_is_kept():
    """A major seventh with a raised fifth is an altered major-seventh; a functional kind is never written."""
    assert kind_and_degrees(("1", "3", "#5", "7")) == ("major-seventh", (("alter", 5, 1),))
    assert kind_and_degrees(("1", "3", "5", "b7"))[0] == "dominant"


@pytest.mark.parametrize(
    ("labels", "kind", "changes"),
    [
        ("1 4 5", "suspended-fourth", ()),
        ("1 2 5", "suspended-second", ()),
        ("1 4 5 6", "suspended-fourth", (("add", 6, 0),)),
        ("1 4 5 b7", "dominant", (("subtract", 3, 0), ("add", 4, 0))),
        ("1 4 5 b7 9", "dominant-ninth", (("subtract", 3, 0), ("add", 4, 0))),
        ("1 4 5 7", "major-seventh", (("subtract", 3, 0), ("add", 4, 0))),
    ],
)
def test_a_suspended_chord_with_a_seventh_is_written_as_a_seventh_chord(labels, kind, changes):
    """Readers disagree about a seventh added to a suspended kind, and agree about a sixth (common practice)."""
    assert kind_and_degrees(tuple(labels.split())) == (kind, changes)
