"""Shapes by the names people type."""

import pytest

from drills.diagrams.answer import remarks
from drills.errors import NotPlayableError, TuningError
from drills.neck.neck import Neck
from drills.neck.strings import parse_string_sets, parse_strings
from drills.neck.tuning import read_tunings
from drills.shapes.answers import alternates_of, named_chord, shape_json, shapes_named
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord

FINDER = ShapeFinder(Neck())


def answer(name, form="arpeggio", strings=None, finder=FINDER):
    """(strings, frets) of each shape of a name, and the reasons where none fits."""
    found, reasons = shapes_named(finder, name, form, strings, shipped_qualities())
    return [(shape.strings.id, shape.frets) for shape in found], reasons


@pytest.mark.parametrize(
    ("name", "chord", "mode", "names_mode"),
    [
        ("Cmaj7", "Cmaj7", None, False),
        ("ii of Bb", "Cm7", "Dorian", False),
        ("V7 of C minor", "G7", "Phrygian dominant", False),
        ("D Dorian", "Dm7", "Dorian", True),
        ("f# lydian dominant", "F#7", "Lydian dominant", True),
        ("B♭ Ionian", "Bbmaj7", "Ionian", True),
        ("C half-dim", "Cm7b5", None, False),
    ],
)
def test_a_name_is_a_chord_a_degree_or_a_mode(name, chord, mode, names_mode):
    """A chord symbol, a degree of a key and a mode are each read as a chord, with the mode they imply."""
    found, scale, named = named_chord(name, shipped_qualities())
    assert (found.name, scale and scale.name, named) == (chord, mode, names_mode)


def test_every_mode_can_be_named():
    """Each scale of the table leads to a chord that lies in it."""
    from drills.theory.mode import modes

    for name, mode in modes().items():
        chord, found, named = named_chord(f"E {name}", shipped_qualities())
        assert found == mode and named
        assert set(chord.quality.semitones) <= mode.pitch_classes


def test_a_name_is_answered_on_every_core_set():
    """Without a set, a chord is answered on the sets a player begins with."""
    found, reasons = answer("Cm7")
    assert [strings for strings, _ in found] == ["654", "543", "432"] and reasons == []


def test_sets_may_be_listed():
    """Sets separated by commas are answered in their order, and what does not fit gives its reason."""
    found, reasons = answer("Emaj7", strings="543,6-5-4", finder=ShapeFinder(Neck(top_fret=12)))
    assert [strings for strings, _ in found] == ["543"]
    assert reasons == ["Emaj7 on 6-5-4 needs fret 14; the top fret is 12"]


@pytest.mark.parametrize(
    ("form", "sets"),
    [
        ("grip-drop2", ["6543", "5432", "4321"]),
        ("grip-drop3", ["6432", "5321"]),
        ("grip-shell", ["643", "532", "421"]),
        ("grip-shell-inv1", ["654", "543", "432"]),
        ("arpeggio-two-octaves", ["654321"]),
        ("scale", ["654", "543", "432"]),
    ],
)
def test_each_form_has_its_own_sets(form, sets):
    """Grips take the strings their kind needs: drop 3 and the R 7 3 shell leave out the string above the bass."""
    found, _ = answer("Cmaj7", form)
    assert [strings for strings, _ in found] == sets


def test_a_grip_is_the_one_inside_the_arpeggio():
    """Asked for a grip, the grip that lives inside the arpeggio on each set is given (drills/RULES.md, B5)."""
    found, _ = answer("Cm7", "grip", "654")
    assert found == [("6432", (8, 8, 8, 8))]
    assert answer("Cmaj7", "grip", "5432")[0] == [("5432", (3, 5, 4, 5))]
    assert answer("Gmaj7", "grip", "6432")[0] == [("6432", (3, 4, 4, 3))]
    assert answer("G7", "grip", "643")[0] == [("643", (3, 3, 4))]


def test_a_reentrant_instrument_is_answered_where_it_rises():
    """On a re-entrant ukulele only 3-2-1 is answered (rule C7)."""
    found, _ = answer("C7", finder=ShapeFinder(Neck(read_tunings()["ukulele"].tuning)))
    assert [strings for strings, _ in found] == ["321"]


def test_a_chord_without_a_scale_is_told_to_name_one(tmp_path):
    """A quality of one's own that lists no scale asks for one by name."""
    from drills.theory.quality import read_qualities

    path = tmp_path / "qualities.toml"
    path.write_text(
        '[quality.odd]\ndegrees = ["1", "b2", "5"]\nsemitones = [0, 1, 7]\n'
        'tier = 3\nsymbols = ["odd"]\nmodes = []\nmet = ""',
        encoding="utf-8",
    )
    with pytest.raises(NotPlayableError, match="odd has no usual scale; name one"):
        shapes_named(FINDER, "Codd", "scale", None, read_qualities(path))
    found, _ = shapes_named(FINDER, "Codd", "arpeggio", "654", read_qualities(path))
    assert [note.pitch.note.name for note in found[0].notes] == ["C", "Db", "G", "C"]


def test_the_machine_readable_answer_holds_the_contract():
    """A shape as JSON carries its name, form, strings, position, reach, notes and alternates."""
    shape = FINDER.find(parse_chord("Cmaj7"), ARPEGGIO, parse_strings("654"))
    row = shape_json(shape, alternates_of(FINDER, shape))
    assert {key: row[key] for key in ("name", "form", "strings", "position", "reach_mm")} == {
        "name": "Cmaj7", "form": "arpeggio", "strings": [6, 5, 4], "position": 7, "reach_mm": 68.8,
    }  # fmt: skip
    assert row["notes"][0] == {"string": 6, "fret": 8, "note": "C", "degree": "1", "finger": 2, "midi": 48}
    assert "variant" not in row
    assert row["alternates"] and all(alternate["variant"] for alternate in row["alternates"])


@pytest.mark.parametrize(
    ("name", "chord", "left_out"),
    [("C13", "C7", ("9", "13")), ("G7alt", "G7", ("b9", "#9", "#11", "b13")), ("Dm9", "Dm7", ("9",))],
)
def test_an_extended_chord_is_answered_with_its_seventh_chord(name, chord, left_out):
    """Rule D1: C13, G7alt and Dm9 are reduced to 7, 7 and m7; what is left out is said."""
    found, _ = shapes_named(FINDER, name, "arpeggio", "654", shipped_qualities())
    (plain,) = shapes_named(FINDER, chord, "arpeggio", "654", shipped_qualities())[0]
    assert found[0].notes == plain.notes
    assert found[0].chord.tensions == left_out
    said = remarks(found[0])[0]
    assert said.endswith(f"left out: the shape is {chord}.")
    assert all(tension in said for tension in left_out)


def test_single_strings_in_a_row_are_one_set():
    """6,5,4 means what 654 means; 654,543 are two sets."""
    one, two, three = (parse_string_sets(text) for text in ("6,5,4", "654", "654, 5-4-3"))
    assert one == two
    assert [strings.id for strings in three] == ["654", "543"]
    with pytest.raises(TuningError, match="falling"):
        parse_string_sets("4,5,6")
