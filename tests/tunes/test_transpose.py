"""Changes in other keys: the spelling goes by letters, and going back arrives."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.changes.changes import Changes
from drills.changes.changes_reading import parse_changes, read_changes
from drills.changes.changes_source import shipped_changes
from drills.errors import ChangesError, TheoryError
from drills.harmony.root_path import step_path
from drills.harmony.transpose import transposed, transposed_to
from drills.theory.interval import Interval
from tests.signatures import signature_keys
from tests.strategies import pages_of_changes
from tests.tunes.changes_writing import write_changes

INTERVALS = ("P1", "m2", "M2", "m3", "M3", "P4", "d5", "P5", "m6", "M6", "m7", "M7", "-m3", "-P4")


def symbols(changes: Changes) -> str:
    """The symbols of the page in playing order."""
    return " ".join(slot.text for _, slot in changes.slots)


@pytest.mark.parametrize(
    ("text", "target", "expected"),
    [
        ("Cm7 F7 Bbmaj7", "Eb", "Fm7 Bb7 Ebmaj7"),
        ("Cm7 F7 Bbmaj7", "E", "F#m7 B7 Emaj7"),
        ("Cm7 F7 Bbmaj7", "Gb", "Abm7 Db7 Gbmaj7"),
        ("Dm7b5 G7b9 Cm6", "Bb", "Cm7b5 F7b9 Bbm6"),
        ("Dm7b5 G7b9 Cm6", "Bbm", "Cm7b5 F7b9 Bbm6"),
        ("key: E\nEmaj7 G#m7 C#7 F#m7 B7/D#", "Gb", "Gbmaj7 Bbm7 Eb7 Abm7 Db7/F"),
        ("key: C\nC13 N.C. F△9/A", "B", "B13 N.C. E△9/G#"),
        ("key: A\nc♯-7 F♯7", "C", "E-7 A7"),
    ],
)
def test_a_target_key_spells_by_letters(text: str, target: str, expected: str) -> None:
    """Roots and basses move by letters, and the way each quality was written is kept."""
    moved = transposed_to(parse_changes(text), target)
    assert symbols(moved) == expected
    assert symbols(parse_changes(write_changes(moved))) == expected


@pytest.mark.parametrize(
    ("page", "target", "expected"),
    [
        ("title: Blues in F\nkey: F\nF7 Bb7", "Bb", "Blues in F, moved to Bb"),
        ("title: Blues in F\nkey: F\nF7 Bb7", "F", "Blues in F"),
        ("title: Minor song\nDm7b5 G7b9 Cm6", "D", "Minor song, moved to D minor"),
        ("Cm7 F7 Bbmaj7", "Eb", ""),
    ],
)
def test_a_title_that_names_the_old_key_says_the_new(page: str, target: str, expected: str) -> None:
    """A page headed "in F" over chords in Bb misleads; where nothing is moved nothing is said."""
    moved = transposed_to(parse_changes(page), target)
    assert moved.title == expected == parse_changes(write_changes(moved)).title


@pytest.mark.parametrize(
    ("start", "target"), [(a, b) for a in signature_keys()[::3] for b in signature_keys()], ids=lambda key: key.name
)
def test_a_key_in_a_key_is_that_key(start, target) -> None:
    """The seven chords of one key, moved to another, are the seven chords of the other, letter for letter."""
    names = [" ".join(chord.name for chord in key.chords()) for key in (start, target)]
    moved = transposed_to(parse_changes(f"key: {start}\n{names[0]}"), target.name)
    assert symbols(moved) == names[1] and moved.key == target


@given(pages_of_changes(), st.sampled_from(INTERVALS))
def test_what_sounds_moves_by_exactly_the_interval(page: Changes, name: str) -> None:
    """Every root and bass sounds the interval away, rhythm and form stay, and the text reads back equal."""
    semitones = Interval.parse(name).semitones
    moved = transposed(page, name)
    for (bar, slot), (new_bar, new) in zip(page.slots, moved.slots, strict=True):
        assert (bar.number, slot.beat, slot.beats) == (new_bar.number, new.beat, new.beats)
        if slot.chord is None:
            assert new.chord is None
            continue
        assert (new.chord.root.pitch_class - slot.chord.root.pitch_class - semitones) % 12 == 0
        assert (new.chord.bass is None) == (slot.chord.bass is None)
        assert new.chord.quality == slot.chord.quality and new.chord.tensions == slot.chord.tensions
        assert abs(new.chord.root.alter) < 2
    assert parse_changes(write_changes(moved)) == moved


@pytest.mark.parametrize(
    ("text", "interval", "key"),
    [("key: B\nBmaj7 F#7", "M3", "Eb"), ("key: Gb\nGbmaj7 Db7", "m2", "G"), ("key: C# \nC#maj7", "M2", "Eb")],
)
def test_a_key_nobody_writes_becomes_its_twin(text: str, interval: str, key: str) -> None:
    """B up a major third is Eb, not D# with nine sharps."""
    moved = transposed(parse_changes(text), interval)
    assert moved.key.name == key and moved.slots[0][1].chord.root.name == key


@pytest.mark.parametrize("name", sorted(shipped_changes()))
@pytest.mark.parametrize("semitones", range(12))
def test_every_shipped_page_moves_anywhere(name: str, semitones: int) -> None:
    """By any interval, twelve stated keys included: what sounds moves by it, every key is one that can be written,
    and each chord stated diatonic to its key stays spelled in it."""
    page = read_changes(shipped_changes()[name])
    moved = transposed(page, INTERVALS[semitones])
    for (before, old), (after, new) in zip(page.slots, moved.slots, strict=True):
        assert (new.chord.root.pitch_class - old.chord.root.pitch_class) % 12 == semitones
        assert new.chord.quality == old.chord.quality
        if before.key is not None:
            assert (after.key.tonic.pitch_class - before.key.tonic.pitch_class) % 12 == semitones
            assert abs(after.key.signature) <= 7
            if old.chord.root in before.key.notes:
                assert new.chord.root in after.key.notes


def test_double_accidentals_take_the_everyday_name() -> None:
    """The bII of Gb would be Abb: the page says G."""
    assert symbols(transposed(parse_changes("key: F\nFmaj7 Gbmaj7"), "m2")) == "Gbmaj7 Gmaj7"


def test_a_place_in_a_key_moves_with_the_chord() -> None:
    """The player's own choice, written as a degree, names the new key."""
    moved = transposed_to(parse_changes("key: Bb\nCm7{ii of Bb} G7{V of C minor} D7{Mixolydian}"), "C")
    assert [slot.mode for _, slot in moved.slots] == ["ii of C", "V of D minor", "Mixolydian"]


@pytest.mark.parametrize(
    ("text", "target", "error"),
    [
        ("key: C\nCmaj7", "Cm", ChangesError),
        ("key: C minor\nCm6", "C major", ChangesError),
        ("Cmaj7", "H", TheoryError),
        ("Cmaj7", "G#", TheoryError),
        ("| N.C. |", "C", ChangesError),
    ],
)
def test_a_target_that_makes_no_sense_is_refused(text: str, target: str, error: type) -> None:
    """A minor target for a major page, an unreadable key and a page without chords are refused."""
    with pytest.raises(error):
        transposed_to(parse_changes(text), target)


def test_paths_keep_their_joints_in_every_key() -> None:
    """ii-V-I from string 6 has the same moves wherever the window holds it (drills/RULES.md, G29)."""
    for target in signature_keys():
        path = step_path(transposed_to(parse_changes("key: Bb\nCm7 F7 Bbmaj7"), target.name), _neck())
        assert [(b.string - a.string, b.fret - a.fret) for a, b in pairwise(path.steps)] == [(-1, 0), (-1, 0)]


def _neck():
    from drills.neck.neck import Neck

    return Neck()
