"""The comparison with a jazz musician's keys reads their format; the pages here are of our own making."""

from __future__ import annotations

import json

import pytest

from tests.tunes.agreement_jazz import chorus, compare_homes, harte_chord, stated_home

BLUES = "|Bb:7 |Eb:7 |Bb:7 |Bb:7 |Eb:7 |Eb:7 |Bb:7 |G:(3,5,b7,b9) |C:min9 |F:9/5 |Bb:7 |C:min7 F:7 |"
TURNS = "|C:maj7 A:min7 |D:min7 G:7 " * 6 + "|"


@pytest.mark.parametrize(
    ("label", "name"),
    [
        ("C", "C"), ("Bb:min7/b7", "Bbm7"), ("F#:hdim7", "F#m7b5"), ("G:(3,#5,b7,b9)", "G7#5"),
        ("A:(b3,5,b7,11)", "Am7"), ("Db:maj9", "Dbmaj7"), ("N", None),
    ],
)  # fmt: skip
def test_a_label_of_harte_is_a_chord_without_bass_and_tensions(label, name):
    """Harte and others 2005 (ISMIR): a root, a shorthand or a list of degrees, and a bass."""
    chord = harte_chord(label)
    assert (None if chord is None else chord.name) == name
    with pytest.raises(ValueError, match="H:7"):
        harte_chord("H:7")


def test_one_key_is_read_and_several_are_none():
    """Major where no mode is said; a file with two keys or none has no home to compare."""
    assert stated_home({"key": "Eb minor"}) == (3, True) and stated_home({"key": "F"}) == (5, False)
    assert stated_home({"sandbox": {"key": ["A:min"]}}) == (9, True)
    assert stated_home({"key": "Eb,Db"}) is None and stated_home({}) is None
    assert stated_home({"sandbox": {"key": ["C", "G"]}}) is None


def test_the_first_whole_chorus_is_heard_without_its_key(tmp_path):
    """An introduction and a drum solo are passed over; home keys are counted by tonic and mode."""
    parts = [{"chords": ["|N |N |N |N |"]}, {"chords": ["|N " * 12 + "|"]}, {"parts": [{"chords": [BLUES]}]}]
    page = {"metre": "4/4", "key": "Bb major", "parts": parts}
    found = chorus(page)
    assert found is not None and len(found.bars) == 12 and found.key is None
    assert [slot.text for slot in found.bars[11].chords] == ["C:min7", "F:7"]
    for name, key, chords in (("a", "Bb", BLUES), ("b", "A minor", TURNS), ("c", "C", "|C:maj7 |")):
        text = json.dumps({"metre": "4/4", "key": key, "parts": [{"chords": [chords]}]})
        (tmp_path / f"{name}.json").write_text(text, encoding="utf-8")
    counted = compare_homes(tmp_path)
    assert (counted.pages, counted.homes, counted.relatives, counted.left_out) == (2, 1, 1, 1)
    assert counted.apart == [("A minor", "C")]
