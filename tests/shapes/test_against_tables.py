"""Shapes against the tables of the rules and check values; all placements there were computed from pitches,
fingerings are a teacher's (common practice)."""

from __future__ import annotations

import re

import pytest

from drills.neck.neck import Neck
from drills.neck.strings import StringSet, parse_strings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, Form, parse_form
from drills.shapes.same_place import grip_inside, mode_over
from drills.shapes.shape import fingers_text
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests.shapes.rule_tables import (
    C1,
    CHECK_VALUES,
    GRIPS,
    MODES,
    OTHER_STARTS,
    SAME_PLACE_ARPEGGIOS,
    SAME_PLACE_GRIPS,
    TWO_OCTAVES,
)

FINDER = ShapeFinder(Neck())
CORE = ("654", "543", "432")


def written(shape) -> str:
    return " ".join(f"{note.pitch.note}({note.string}/{note.fret})" for note in shape.notes)


def find(name, strings, form=ARPEGGIO):
    return FINDER.find(parse_chord(name), form, parse_strings(strings))


@pytest.mark.parametrize(("quality", "low", "low_fingers", "high", "high_fingers"), C1, ids=[row[0] for row in C1])
def test_every_row_of_table_c1(quality, low, low_fingers, high, high_fingers):
    """Layout and fingers of each quality on 6-5-4, 5-4-3 and 4-3-2, on every root where no string is open."""
    for strings, layout, fingers in (("654", low, low_fingers), ("543", low, low_fingers), ("432", high, high_fingers)):
        number = int(strings[0])
        expected = []
        for part in layout.split():
            if part == "/":
                number -= 1
                continue
            degree, offset = re.fullmatch(r"([b#]*\d)\(([+-]?\d)\)", part).groups()
            expected.append((degree, number, int(offset)))
        for fret in range(3, 12):
            first = Note.parse(["E", "A", "D"][CORE.index(strings)])
            root = next(
                chord_root
                for chord_root in _roots(quality)
                if (chord_root.pitch_class - first.pitch_class) % 12 == fret % 12
            )
            shape = FINDER.find(Chord(root, shipped_qualities().named(quality)), ARPEGGIO, parse_strings(strings))
            assert shape.notes[0].fret == fret
            assert [(n.degree, n.string, n.fret - fret) for n in shape.notes] == expected
            assert fingers_text(shape.fingers) in fingers
            others = {fingers_text(s.fingers) for s in FINDER.alternates(shape.chord, ARPEGGIO, shape.strings)}
            assert set(fingers) <= others | {fingers_text(shape.fingers)}


def _roots(quality):
    from drills.theory.spelling import free_roots

    return free_roots(shipped_qualities().named(quality))


@pytest.mark.parametrize("quality", [q for q in shipped_qualities() if len(q.intervals) == 4], ids=str)
def test_the_kink_moves_string_two_up_one_fret(quality):
    """All fourteen: 4-3-2 is the 6-5-4 shape with +1 on string 2 (C1); thirds decide 1-2-2 or 2-1-2."""
    low = FINDER.find(Chord(Note.parse("C"), quality), ARPEGGIO, parse_strings("654"))
    high = FINDER.find(Chord(Note.parse("Bb"), quality), ARPEGGIO, parse_strings("432"))
    assert [n.fret - low.notes[0].fret + (n.string == 4) for n in low.notes] == [
        n.fret - high.notes[0].fret for n in high.notes
    ]
    counts = tuple(sum(note.string == string for note in low.notes) for string in (6, 5, 4))
    assert counts == ((2, 1, 2) if quality.semitones[1] == 3 else (1, 2, 2))


@pytest.mark.parametrize(("chord", "strings", "third", "fifth", "seventh"), OTHER_STARTS)
def test_from_the_third_fifth_and_seventh(chord, strings, third, fifth, seventh):
    """Table B3, item 2: the smallest stretch within four frets."""
    for start, expected in ((1, third), (2, fifth), (3, seventh)):
        assert written(find(chord, strings, Form(start=start))) == expected


@pytest.mark.parametrize(("chord", "expected"), TWO_OCTAVES)
def test_two_octaves(chord, expected):
    """Table B3, item 3, and check G33."""
    assert written(find(chord, "654321", Form(octaves=2))) == expected


@pytest.mark.parametrize(("chord", "voicing", "strings", "root", "third", "fifth", "seventh"), GRIPS)
def test_drop_grips_with_inversions(chord, voicing, strings, root, third, fifth, seventh):
    """Table B3, item 5: closed positions, frets 1 to 14."""
    for inversion, expected in enumerate((root, third, fifth, seventh)):
        assert written(find(chord, strings, Form("grip", voicing=voicing, inversion=inversion))) == expected


@pytest.mark.parametrize(("quality", "six", "five", "four"), SAME_PLACE_ARPEGGIOS)
def test_arpeggios_of_section_b5(quality, six, five, four):
    """Roots a fourth apart, all at fret 8."""
    assert [written(find(r + quality, s)) for r, s in zip(["C", "F", "Bb"], CORE, strict=True)] == [six, five, four]


@pytest.mark.parametrize(("quality", "six", "five", "four"), SAME_PLACE_GRIPS)
def test_the_grip_inside_each_arpeggio(quality, six, five, four):
    """Section B5: drop 3 with the root on string 6, drop 2 with the root on 5 or 4."""
    found = [written(grip_inside(FINDER, find(r + quality, s))) for r, s in zip(["C", "F", "Bb"], CORE, strict=True)]
    assert found == [six, five, four]


@pytest.mark.parametrize(("degree", "chord", "mode", "six", "five", "four"), MODES)
def test_modes_over_their_arpeggios(degree, chord, mode, six, five, four):
    """All 21 layouts of B5, and G31: the arpeggio lies inside its mode at the same frets."""
    for strings, expected in zip(CORE, (six, five, four), strict=True):
        first = int(re.match(r"\w+\(\d/(\d+)\)", expected)[1])
        arpeggio = FINDER.at(parse_chord(chord), ARPEGGIO, parse_strings(strings), first)
        over = mode_over(FINDER, arpeggio, mode)
        assert written(over) == expected
        scale = FINDER.at(parse_chord(chord), Form("scale", mode=mode), parse_strings(strings), first)
        assert written(scale) == expected
        assert set(written(arpeggio).split()) <= set(written(over).split())


def _parsed(frets: str) -> list[tuple[int, int]]:
    if ":" in frets:
        return [tuple(map(int, place.split(":"))) for place in frets.split()]
    cells = frets.split("-") if "-" in frets else list(frets)
    return [(6 - index, int(cell)) for index, cell in enumerate(cells) if cell not in ("x", "")]


@pytest.mark.parametrize(("kind", "chord", "frets", "notes"), CHECK_VALUES)
def test_published_check_values(kind, chord, frets, notes):
    """Arpeggios and grips as commonly printed; the open 3rd inversion is the alternate of the closed one."""
    name, _, rest = kind.partition(" ")
    places = _parsed(frets)
    strings = "".join(str(string) for string, _ in places) if name != "arpeggio" else rest.replace("-", "")
    if name == "arpeggio":
        form = ARPEGGIO
    elif name == "shell":
        form = Form("grip", voicing="shell", inversion=1 if strings == "543" else 0)
    else:
        inversion = {"root": 0, "1st": 1, "2nd": 2, "3rd": 3}[rest.split()[1]]
        form = Form("grip", voicing=name, inversion=inversion)
    shape = find(chord, strings, form)
    shapes = [shape, *FINDER.alternates(shape.chord, form, shape.strings)]
    found = {tuple((n.string, n.fret) for n in s.notes): s for s in shapes}
    assert tuple(places) in found
    assert " ".join(n.pitch.note.name for n in found[tuple(places)].notes) == notes


def test_alternates_of_section_c4_are_offered():
    """m7 as 1-2-2, maj7 as 2-1-2, m6 as 2-2-1, 7#5 as 1-1-3."""
    for chord, expected in (
        ("Cm7", "C(6/8) Eb(5/6) G(5/10) Bb(4/8) C(4/10)"),
        ("Cm6", "C(6/8) Eb(6/11) G(5/10) A(5/12) C(4/10)"),
        ("C7#5", "C(6/8) E(5/7) G#(4/6) Bb(4/8) C(4/10)"),
    ):
        others = FINDER.alternates(parse_chord(chord), ARPEGGIO, parse_strings("654"), 8)
        assert expected in [written(shape) for shape in others]
    open_form = FINDER.alternates(parse_chord("Emaj7"), ARPEGGIO, parse_strings("654"))
    assert "E(6/0) G#(6/4) B(5/2) D#(4/1) E(4/2)" in [written(s) for s in open_form if s.variant == "open strings"]


def test_without_the_octave_the_roll_goes():
    """maj7 on 4-3-2 is fingered 2 1 3 4 when the octave is left off (C1, C3)."""
    assert find("Bbmaj7", "432", Form(closed=False)).fingers == (2, 1, 3, 4)
    assert find("Bbmaj7", "432").has_roll
    assert not find("Bbmaj7", "432", Form(closed=False)).has_roll


def test_the_low_limit():
    """C5 and G9: open strings where the shape needs them, never a fret below 0."""
    assert written(find("Fmaj7", "654")) == "F(6/1) A(5/0) C(5/3) E(4/2) F(4/3)"
    assert written(find("Bb7", "543")) == "Bb(5/1) D(4/0) F(4/3) Ab(3/1) Bb(3/3)"
    assert written(find("Ebmaj7", "432")) == "Eb(4/1) G(3/0) Bb(3/3) D(2/3) Eb(2/4)"
    assert find("Fmaj7", "654").notes[1].finger == 0


def test_fourths_at_one_fret():
    """G5 and G29: C7, F7 and Bb7 share fret 8, and in every key the roots of ii-V-I lie at one fret."""
    frets = {find(c, s).notes[0].fret for c, s in zip(("C7", "F7", "Bb7"), CORE, strict=True)}
    assert frets == {8}
    from tests.signatures import signature_keys

    for key in signature_keys():
        chords = [key.chord(degree) for degree in (2, 5, 1)]
        roots = [Neck().root_frets_of(s, c.root.pitch_class)[0] for s, c in zip((6, 5, 4), chords, strict=True)]
        assert len(set(roots)) == 1


@pytest.mark.parametrize("form", ["arpeggio", "arpeggio-from3", "arpeggio-down", "scale-dorian", "grip-drop3-inv2"])
def test_form_ids_read_back(form):
    """A form's id and the form are the same thing."""
    assert parse_form(form).id == form


def test_a_lock_overrides_the_search_everywhere():
    """A player's fingers replace the default wherever the form appears, in every key and on every like set."""
    usual = find("Cm7", "654")
    grip = find("Cm7b5", "6432", Form("grip", voicing="drop3"))
    impossible = ShapeFinder(Neck(), {grip.signature: (1, 1, 1, 1)})
    kept = impossible.find(grip.chord, grip.form, grip.strings)
    assert kept.fingers == grip.fingers, "a lock that no hand can hold is passed over"
    playable = ShapeFinder(Neck(), {usual.signature: (2, 4, 3, 1, 3)})
    for name, strings in (("Cm7", "654"), ("F#m7", "654"), ("Dm7", "543")):
        shape = playable.find(parse_chord(name), ARPEGGIO, parse_strings(strings))
        assert (shape.fingers, shape.variant) == ((2, 4, 3, 1, 3), "locked")
    assert playable.find(parse_chord("Bbm7"), ARPEGGIO, StringSet((4, 3, 2))).fingers != (2, 4, 3, 1, 3)


@pytest.mark.parametrize("strings", ["654", "543", "432"])
def test_the_augmented_triad_keeps_the_major_third_family_and_fits_at_the_nut(strings):
    """Rule C1: major-third qualities are 1-2-, on 4-3-2 with string 2 one fret up; C5: a root at fret 1 fits."""
    table = shipped_qualities()
    usual = FINDER.find(Chord(Note.parse("C"), table.named("aug")), ARPEGGIO, parse_strings(strings))
    kink = strings == "432"
    root = usual.root.fret
    assert [note.fret - root for note in usual.notes] == [0, -1, 3, 2 + kink]
    for name in ("F", "Bb", "Eb"):
        low = FINDER.find(Chord(Note.parse(name), table.named("aug")), ARPEGGIO, parse_strings(strings))
        assert min(low.frets) >= 0
