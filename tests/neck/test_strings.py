"""String sets: which may be played upward, and how far apart their strings sound."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import TuningError
from drills.neck.strings import StringSet, core_sets, parse_strings
from drills.neck.tuning import read_tunings
from tests import strategies as own

falling = st.sets(st.integers(1, 12), min_size=1, max_size=6).map(lambda numbers: tuple(sorted(numbers, reverse=True)))

# Semitones from string to string (computed from the open strings): the kink is the 4 between strings 3 and 2.
GAPS = [
    ("standard", "654321", (5, 5, 5, 4, 5)), ("standard", "6432", (10, 5, 4)), ("standard", "5321", (10, 4, 5)),
    ("fourths", "654321", (5, 5, 5, 5, 5)), ("drop-d", "654", (7, 5)), ("drop-d", "543", (5, 5)),
    ("seven-low-b", "765", (5, 5)), ("seven-low-a", "765", (7, 5)), ("bass", "4321", (5, 5, 5)),
    ("bass-five", "54321", (5, 5, 5, 5)), ("ukulele-low-g", "4321", (5, 4, 5)), ("mandolin", "4321", (7, 7, 7)),
]  # fmt: skip


@pytest.mark.parametrize(("tuning", "strings", "gaps"), GAPS)
def test_gaps_come_out_of_the_pitches(tuning, strings, gaps):
    """The semitones between neighbouring strings follow from the open strings; nothing is a special case."""
    assert parse_strings(strings).gaps(read_tunings()[tuning].tuning) == gaps


@given(falling)
def test_a_set_reads_back_from_its_name_and_id(numbers):
    """A set is read back from its spoken name, from spaces for dashes, and from its id."""
    strings = StringSet(numbers)
    assert parse_strings(strings.name) == strings == parse_strings(strings.name.replace("-", " "))
    assert parse_strings(strings.id) == strings
    assert str(strings) == strings.name


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("654", (6, 5, 4)),
        ("6-5-4", (6, 5, 4)),
        (" 6 5 4 ", (6, 5, 4)),
        ("5321", (5, 3, 2, 1)),
        ("1", (1,)),
        ("10-9-8", (10, 9, 8)),
    ],
)
def test_sets_are_written_in_three_ways(text, numbers):
    """Run together, with dashes, or spaced, a set is the same."""
    assert parse_strings(text).numbers == numbers


@pytest.mark.parametrize(
    "text", ["", "456", "6-4-5", "665", "650", "6-5-x", "6-", "six", "-1", "1" * 40, "٦٥٤", "6\x005"]
)
def test_what_is_no_set_is_refused_in_one_line(text):
    """Strings that do not fall in number, and what is no list of strings, are refused in one line."""
    with pytest.raises(TuningError, match="expected") as refusal:
        parse_strings(text)
    assert str(refusal.value).isprintable()


@given(own.tunings(), st.data())
def test_a_set_is_refused_exactly_when_it_does_not_rise(row, data):
    """A set is playable upward exactly when each string exists and sounds above the one before."""
    numbers = data.draw(
        st.sets(st.integers(1, row.tuning.strings), min_size=1).map(lambda found: sorted(found, reverse=True))
    )
    strings = StringSet(tuple(numbers))
    midi = [row.tuning.midi(number, 0) for number in numbers]
    if midi == sorted(set(midi)):
        strings.check(row.tuning)
        assert all(gap > 0 for gap in strings.gaps(row.tuning))
    else:
        with pytest.raises(TuningError, match="is not below string"):
            strings.check(row.tuning)


@pytest.mark.parametrize(
    ("tuning", "size", "sets"),
    [
        ("standard", 3, "654 543 432"),
        ("fourths", 3, "654 543 432"),
        ("standard", 4, "6543 5432 4321"),
        ("seven-low-b", 3, "765 654 543 432"),
        ("bass", 3, "432 321"),
        ("ukulele-low-g", 3, "432 321"),
        ("ukulele", 3, "321"),
        ("ukulele", 4, ""),
        ("mandolin", 3, "432 321"),
    ],
)
def test_core_sets_are_those_a_player_begins_with(tuning, size, sets):
    """A guitar begins on 6-5-4, 5-4-3 and 4-3-2, a four-string instrument on all its sets that rise (rule B4)."""
    assert [strings.id for strings in core_sets(read_tunings()[tuning].tuning, size)] == sets.split()


def test_a_reentrant_set_is_refused_with_the_reason():
    """On a re-entrant ukulele string 4 sounds above string 3, and the refusal says so (rules C7 and G17)."""
    with pytest.raises(
        TuningError, match=r"string 4 \(G4\) is not below string 3 \(C4\) .* a rising shape cannot cross them"
    ):
        StringSet((4, 3, 2)).check(read_tunings()["ukulele"].tuning)
    StringSet((3, 2, 1)).check(read_tunings()["ukulele"].tuning)


def test_a_string_beyond_the_tuning_is_refused():
    """A set that names a string the instrument has not is refused."""
    with pytest.raises(TuningError, match="this tuning has strings 4 to 1"):
        StringSet((6, 5, 4)).check(read_tunings()["bass"].tuning)
